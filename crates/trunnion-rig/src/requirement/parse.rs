mod operators;
mod terms;

use super::expression::{Expression, Join, Node, Prefix};
use crate::language::{Complaint, Cursor, Lexer, Span, TokenKind};

/// Words that cannot be names.
pub(crate) const RESERVED: &[&str] = &[
    "and",
    "or",
    "not",
    "implies",
    "true",
    "false",
    "always",
    "eventually",
    "within",
    "for",
    "after",
    "once",
    "so",
    "held",
    "from",
    "to",
    "at",
    "until",
    "since",
    "rises",
    "falls",
    "changes",
];

/// Nesting beyond this is refused: nobody reads it, and the reader of formulas is recursive. A pair of
/// parentheses counts three.
const DEEPEST: usize = 120;

impl Expression {
    /// Reads a formula.
    ///
    /// Only the form is judged here; names, units and the sense of the whole are judged when the formula is
    /// bound to a machine's signals.
    pub fn parse(text: &str) -> Result<Self, Complaint> {
        Self::parse_within(text, Span::new(0, text.len()))
    }

    /// Reads a formula that stands at `span` in a longer text; its places count from the beginning of `text`.
    pub fn parse_within(text: &str, span: Span) -> Result<Self, Complaint> {
        let tokens = Lexer::new(text, span, RESERVED).tokens()?;
        let mut parser = Parser { cursor: Cursor::new(tokens), depth: 0 };
        let formula = parser.formula()?.expression;
        match parser.cursor.peek().kind {
            TokenKind::End => Ok(formula),
            _ => Err(parser
                .cursor
                .unexpected("`and`, `or`, `implies`, `until`, `since` or the end of the formula")),
        }
    }
}

/// An expression, and the operator over time that ends it without parentheses, whose reach a following
/// connective would put in doubt.
struct Parsed {
    expression: Expression,
    open: Option<Prefix>,
}

impl Parsed {
    fn closed(expression: Expression) -> Self {
        Self { expression, open: None }
    }
}

struct Parser {
    cursor: Cursor,
    depth: usize,
}

impl Parser {
    fn descend<T>(&mut self, inner: impl FnOnce(&mut Self) -> Result<T, Complaint>) -> Result<T, Complaint> {
        if self.depth >= DEEPEST {
            return Err(Complaint::new(self.cursor.peek().span, "nested too deeply")
                .help("split the requirement in two"));
        }
        self.depth += 1;
        let result = inner(self);
        self.depth -= 1;
        result
    }

    /// formula := junction [ "implies" junction ]
    fn formula(&mut self) -> Result<Parsed, Complaint> {
        self.descend(|parser| {
            let left = parser.junction()?;
            if parser.cursor.peek().word() != Some("implies") {
                return Ok(left);
            }
            // What looks back from a condition is a condition itself: `held for 1 s a implies b` reads one way.
            if !left.open.as_ref().is_some_and(Prefix::looks_back) {
                parser.refuse_open(&left)?;
            }
            parser.cursor.advance();
            let right = parser.junction()?;
            if parser.cursor.peek().word() == Some("implies") {
                return Err(parser.unclear("`implies` stands twice"));
            }
            let span = left.expression.span.to(right.expression.span);
            let node = Node::Implies(Box::new(left.expression), Box::new(right.expression));
            Ok(Parsed { expression: Expression { node, span }, open: right.open })
        })
    }

    /// junction := prefixed { "and" prefixed } | prefixed { "or" prefixed }
    ///           | prefixed ("until" | "since") [ "within" duration ] prefixed
    fn junction(&mut self) -> Result<Parsed, Complaint> {
        let first = self.prefixed()?;
        let Some(word) = self.cursor.peek().word().and_then(connective) else {
            return Ok(first);
        };
        self.refuse_open(&first)?;
        let result = match word {
            "and" | "or" => self.chain(first, word)?,
            _ => self.joined(first, word)?,
        };
        if let Some(other) = self.cursor.peek().word().and_then(connective) {
            return Err(self.unclear(&format!("`{word}` and `{other}` stand side by side")));
        }
        Ok(result)
    }

    fn chain(&mut self, first: Parsed, word: &'static str) -> Result<Parsed, Complaint> {
        let mut operands = vec![first.expression];
        let mut open = first.open;
        while self.cursor.peek().word() == Some(word) {
            self.refuse_open_word(&open)?;
            self.cursor.advance();
            let operand = self.prefixed()?;
            operands.push(operand.expression);
            open = operand.open;
        }
        let span = operands.iter().map(|operand| operand.span).reduce(Span::to).unwrap_or_default();
        let node = if word == "and" { Node::And(operands) } else { Node::Or(operands) };
        Ok(Parsed { expression: Expression { node, span }, open })
    }

    fn joined(&mut self, first: Parsed, word: &'static str) -> Result<Parsed, Complaint> {
        self.cursor.advance();
        let bound = if self.cursor.accept_word("within") { Some(self.duration()?) } else { None };
        let second = self.prefixed()?;
        let span = first.expression.span.to(second.expression.span);
        let join = if word == "until" { Join::Until } else { Join::Since };
        let node = Node::Joined(join, bound, Box::new(first.expression), Box::new(second.expression));
        Ok(Parsed { expression: Expression { node, span }, open: second.open })
    }

    fn refuse_open(&self, left: &Parsed) -> Result<(), Complaint> {
        self.refuse_open_word(&left.open)
    }

    /// A connective behind an operator over time: does the operator cover it?
    fn refuse_open_word(&self, open: &Option<Prefix>) -> Result<(), Complaint> {
        let Some(operator) = open else { return Ok(()) };
        let word = self.cursor.peek().name();
        Err(Complaint::new(self.cursor.peek().span, format!("does `{operator}` cover what follows {word}?"))
            .expected("parentheses decide")
            .help(format!(
                "write `{operator} (… {} …)` or `({operator} …) {} …`",
                word.trim_matches('`'),
                word.trim_matches('`')
            )))
    }

    fn unclear(&self, what: &str) -> Complaint {
        Complaint::new(self.cursor.peek().span, format!("{what}, which can be read in two ways"))
            .expected("parentheses decide")
            .help("put parentheses around what belongs together")
    }

    /// prefixed := "not" prefixed | operator prefixed | comparison
    fn prefixed(&mut self) -> Result<Parsed, Complaint> {
        self.descend(|parser| {
            let begin = parser.cursor.peek().span;
            if parser.cursor.accept_word("not") {
                let operand = parser.prefixed()?;
                let span = begin.to(operand.expression.span);
                let node = Node::Not(Box::new(operand.expression));
                return Ok(Parsed { expression: Expression { node, span }, open: operand.open });
            }
            let Some(prefix) = parser.prefix()? else {
                return parser.comparison().map(Parsed::closed);
            };
            let first = parser.cursor.place();
            let operand = parser.prefixed()?;
            let closed =
                parser.cursor.closing(first).is_some_and(|closing| closing + 1 == parser.cursor.place());
            let open = if closed { None } else { Some(prefix.clone()) };
            let span = begin.to(operand.expression.span);
            let node = Node::Prefix(prefix, Box::new(operand.expression));
            Ok(Parsed { expression: Expression { node, span }, open })
        })
    }
}

fn connective(word: &str) -> Option<&'static str> {
    ["and", "or", "until", "since"].into_iter().find(|known| *known == word)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn printed(text: &str) -> String {
        Expression::parse(text).unwrap_or_else(|complaint| panic!("{text}: {complaint:?}")).to_string()
    }

    fn refused(text: &str) -> Complaint {
        Expression::parse(text).expect_err(text)
    }

    #[test]
    fn formulas_print_as_an_engineer_writes_them() {
        for text in [
            "always (seat_open implies within 1.5 s drive_current = 0 mA)",
            "always (boom_raise_current > 0 mA implies permission_work)",
            "from 8 s always abs(true_left_speed) < 0.05 m/s",
            "from 2 s to 5 s so far not moving",
            "at 9 s for 3 s motion_state = spin",
            "always (permission_drive rises implies held for 300 ms levers_neutral)",
            "always (stop rises implies within stop_time + 10 ms (left = 0 mA ± 5 mA and right = 0 mA ± 5 mA))",
            "always ((a since within 2 s b) or once within 1 s c)",
            "always (a until within 3 s (b or c))",
            "eventually (x * (y + 2 m) - -z >= min(previous(x), rate(y), 3 %))",
            "always ((x > 3 V) rises implies (once a) and b)",
            "always not (a implies b)",
        ] {
            let once = printed(text);
            assert_eq!(Expression::parse(&once).unwrap(), Expression::parse(text).unwrap(), "{once}");
        }
        let text = "always (seat_open implies within 1.5 s drive_current = 0 mA)";
        assert_eq!(printed(text), text);
    }

    #[test]
    fn what_can_be_read_in_two_ways_is_refused() {
        assert_eq!(refused("always a implies b").what, "does `always` cover what follows `implies`?");
        for text in [
            "a and b or c",
            "a implies b implies c",
            "within 1 s (a) > b and c",
            "a until b and c",
            "once a and b",
            "within 1 s once a implies b",
        ] {
            assert_eq!(refused(text).expected, "parentheses decide", "{text}");
        }
        for text in [
            "always (a) and b",
            "a implies within 1 s b",
            "a and b implies c",
            "not a and b",
            "once a implies b",
        ] {
            assert!(Expression::parse(text).is_ok(), "{text}");
        }
    }

    #[test]
    fn a_complaint_stands_at_the_wrong_word_and_says_what_belongs_there() {
        let complaint = refused("always (a and )");
        assert_eq!((complaint.span.start, complaint.span.end), (14, 15));
        assert!(complaint.expected.starts_with("expected a condition"), "{complaint:?}");
        assert_eq!(refused("always (a and b").expected, "expected `)` to close the parenthesis");
        assert_eq!(
            refused("within (a)").expected,
            "expected a time such as `1.5 s`, or a parameter that holds one"
        );
        assert_eq!(refused("held a").expected, "expected `for` and a time, as in `held for 300 ms`");
        assert_eq!(refused("x < 3 ± 1").expected, "only `=` and `!=` are followed by `±`");
        assert_eq!(refused("max(a)").expected, "two numbers or more, separated by commas");
        assert_eq!(refused("mas(a, b)").expected, "did you mean `max`?");
    }

    #[test]
    fn deep_nesting_is_refused_before_the_stack_ends() {
        for opening in ["(", "not ", "-", "always "] {
            assert_eq!(refused(&opening.repeat(100_000)).what, "nested too deeply");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "\\PC*") {
            let _ = Expression::parse(&text);
        }

        #[test]
        fn any_row_of_words_is_read_or_refused(words in prop::collection::vec(prop::sample::select(vec![
            "always", "within", "1 s", "(", ")", "a", "b", "and", "or", "not", "implies", "until", "since", "held", "for",
            "=", "<", "±", "+", "-", "*", "abs", "min", ",", "rises", "once", "from", "to", "2 %", "true",
        ]), 0..25)) {
            let text = words.join(" ");
            if let Ok(formula) = Expression::parse(&text) {
                let printed = formula.to_string();
                prop_assert_eq!(Expression::parse(&printed), Ok(formula), "{}", printed);
            }
        }
    }
}
