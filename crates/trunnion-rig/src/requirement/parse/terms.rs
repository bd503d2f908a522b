use super::{Parser, RESERVED};
use crate::language::{Complaint, Span, TokenKind};
use crate::requirement::expression::{Arithmetic, Edge, Expression, Function, Node, Relation};

impl Parser {
    /// comparison := sum [ relation sum [ "±" sum ] ]
    pub(super) fn comparison(&mut self) -> Result<Expression, Complaint> {
        let left = self.sum()?;
        let Some(relation) = self.relation() else {
            return Ok(left);
        };
        self.cursor.advance();
        let right = self.sum()?;
        let mut span = left.span.to(right.span);
        let mut tolerance = None;
        if let Some(place) = self.cursor.accept_symbol("±") {
            if !matches!(relation, Relation::Equal | Relation::Unequal) {
                return Err(Complaint::new(place, format!("`{}` has no tolerance", relation.sign()))
                    .expected("only `=` and `!=` are followed by `±`"));
            }
            let width = self.sum()?;
            span = span.to(width.span);
            tolerance = Some(Box::new(width));
        }
        if self.relation().is_some() {
            return Err(self.cursor.unexpected("the end of the comparison; join two comparisons by `and`"));
        }
        let node = Node::Comparison { relation, left: Box::new(left), right: Box::new(right), tolerance };
        Ok(Expression { node, span })
    }

    fn relation(&self) -> Option<Relation> {
        let symbol = self.cursor.peek().symbol()?;
        Relation::ALL.into_iter().find(|relation| relation.sign() == symbol)
    }

    /// sum := product { ("+" | "-") product }
    fn sum(&mut self) -> Result<Expression, Complaint> {
        let mut left = self.product()?;
        loop {
            let sign = match self.cursor.peek().symbol() {
                Some("+") => Arithmetic::Plus,
                Some("-") => Arithmetic::Minus,
                _ => return Ok(left),
            };
            self.cursor.advance();
            left = arithmetic(sign, left, self.product()?);
        }
    }

    /// product := factor { "*" factor }
    fn product(&mut self) -> Result<Expression, Complaint> {
        let mut left = self.factor()?;
        while self.cursor.accept_symbol("*").is_some() {
            left = arithmetic(Arithmetic::Times, left, self.factor()?);
        }
        Ok(left)
    }

    /// factor := "-" factor | primary [ "rises" | "falls" | "changes" ]
    fn factor(&mut self) -> Result<Expression, Complaint> {
        self.descend(|parser| {
            if let Some(begin) = parser.cursor.accept_symbol("-") {
                let operand = parser.factor()?;
                let span = begin.to(operand.span);
                return Ok(Expression { node: Node::Negative(Box::new(operand)), span });
            }
            let operand = parser.primary()?;
            let edge =
                parser.cursor.peek().word().and_then(|word| Edge::ALL.into_iter().find(|e| e.word() == word));
            let Some(edge) = edge else { return Ok(operand) };
            let span = operand.span.to(parser.cursor.advance().span);
            Ok(Expression { node: Node::Edge(edge, Box::new(operand)), span })
        })
    }

    /// primary := "(" formula ")" | function "(" … ")" | name | quantity | "true" | "false"
    fn primary(&mut self) -> Result<Expression, Complaint> {
        const EXPECTED: &str = "a condition: a signal, a number, `not`, `always`, `within`, … or `(`";
        let token = self.cursor.peek().clone();
        match token.kind {
            TokenKind::Symbol("(") => {
                self.cursor.advance();
                let inner = self.formula()?.expression;
                self.cursor.expect_symbol(")", " to close the parenthesis")?;
                Ok(inner)
            }
            TokenKind::Quantity(quantity) => {
                self.cursor.advance();
                Ok(Expression { node: Node::Quantity(quantity), span: token.span })
            }
            TokenKind::Word(word) => self.word(&word, token.span, EXPECTED),
            _ => Err(self.cursor.unexpected(EXPECTED)),
        }
    }

    fn word(&mut self, word: &str, span: Span, expected: &str) -> Result<Expression, Complaint> {
        if word == "true" || word == "false" {
            self.cursor.advance();
            return Ok(Expression { node: Node::Truth(word == "true"), span });
        }
        if RESERVED.contains(&word) {
            return Err(self.cursor.unexpected(expected));
        }
        let called = self.cursor.peek_at(1).symbol() == Some("(");
        self.cursor.advance();
        if !called {
            return Ok(Expression { node: Node::Name(word.to_owned()), span });
        }
        let Some(function) = Function::ALL.into_iter().find(|function| function.word() == word) else {
            let known = Function::ALL.map(Function::word);
            return Err(Complaint::unknown(span, "function", word, known));
        };
        self.call(function, span)
    }

    fn call(&mut self, function: Function, begin: Span) -> Result<Expression, Complaint> {
        self.cursor.advance();
        let mut operands = vec![self.formula()?.expression];
        while self.cursor.accept_symbol(",").is_some() {
            operands.push(self.formula()?.expression);
        }
        let span = begin.to(self.cursor.expect_symbol(")", " to close the function")?);
        let word = function.word();
        match (function.takes_several(), operands.len()) {
            (true, 1) => Err(Complaint::new(span, format!("`{word}` of one number"))
                .expected("two numbers or more, separated by commas")),
            (false, 2..) => {
                Err(Complaint::new(span, format!("`{word}` of more than one number")).expected("one number"))
            }
            _ => Ok(Expression { node: Node::Call(function, operands), span }),
        }
    }
}

fn arithmetic(sign: Arithmetic, left: Expression, right: Expression) -> Expression {
    let span = left.span.to(right.span);
    Expression { node: Node::Arithmetic(sign, Box::new(left), Box::new(right)), span }
}
