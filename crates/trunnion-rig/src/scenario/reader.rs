use super::story::{Deed, Setting, Value};
use crate::language::{Complaint, Cursor, Quantity, Spanned, Token, TokenKind, Unit};
use crate::requirement::RESERVED;

/// Words behind which a number ends, besides those of formulas.
pub(super) const MORE_RESERVED: [&str; 2] = ["moves", "over"];

/// Reads the tokens of one statement.
pub(super) struct Reader {
    cursor: Cursor,
}

impl Reader {
    pub(super) fn new(tokens: Vec<Token>) -> Self {
        Self { cursor: Cursor::new(tokens) }
    }

    /// Refuses anything behind what was read.
    pub(super) fn end(&self) -> Result<(), Complaint> {
        match self.cursor.peek().kind {
            TokenKind::End => Ok(()),
            _ => Err(self.cursor.unexpected("the end of the line, or a comma and more")),
        }
    }

    pub(super) fn seed(&mut self) -> Result<u64, Complaint> {
        const EXPECTED: &str = "a whole number of at most 15 digits";
        let TokenKind::Quantity(quantity) = &self.cursor.peek().kind else {
            return Err(self.cursor.unexpected(EXPECTED));
        };
        let whole = quantity.number.scaled_whole(1, 1).filter(|_| quantity.unit == Unit::number());
        let seed = whole
            .and_then(|whole| u64::try_from(whole).ok())
            .ok_or_else(|| self.cursor.unexpected(EXPECTED))?;
        self.cursor.advance();
        Ok(seed)
    }

    pub(super) fn time(&mut self, expected: &str) -> Result<Quantity, Complaint> {
        let TokenKind::Quantity(quantity) = self.cursor.peek().kind.clone() else {
            return Err(self.cursor.unexpected(expected));
        };
        if quantity.value_in(&Unit::second()).is_none() {
            let what = format!("`{quantity}` is not a time");
            return Err(Complaint::new(quantity.span, what).expected(expected));
        }
        self.cursor.advance();
        Ok(quantity)
    }

    pub(super) fn list<T>(
        &mut self,
        item: fn(&mut Self) -> Result<T, Complaint>,
    ) -> Result<Vec<T>, Complaint> {
        let mut list = vec![item(self)?];
        while self.cursor.accept_symbol(",").is_some() {
            list.push(item(self)?);
        }
        Ok(list)
    }

    fn name(&mut self, expected: &str) -> Result<Spanned<String>, Complaint> {
        match &self.cursor.peek().kind {
            TokenKind::Word(word) if !RESERVED.contains(&word.as_str()) => {
                let word = word.clone();
                Ok(Spanned::new(word, self.cursor.advance().span))
            }
            _ => Err(self.cursor.unexpected(expected)),
        }
    }

    pub(super) fn setting(&mut self) -> Result<Setting, Complaint> {
        let name = self.name("a name")?;
        self.cursor.expect_symbol("=", "")?;
        Ok(Setting { name, value: self.value()? })
    }

    fn value(&mut self) -> Result<Value, Complaint> {
        let negative = self.cursor.accept_symbol("-");
        match self.cursor.peek().kind.clone() {
            TokenKind::Quantity(quantity) => {
                self.cursor.advance();
                let (number, span) = match negative {
                    Some(sign) => (quantity.number.negated(), sign.to(quantity.span)),
                    None => (quantity.number, quantity.span),
                };
                Ok(Value::Quantity(Quantity { number, span, ..quantity }))
            }
            TokenKind::Word(word) if negative.is_none() && !self.reserved(&word) => {
                Ok(Value::Choice(Spanned::new(word, self.cursor.advance().span)))
            }
            _ => Err(self.cursor.unexpected("a value: a number with its unit, or the name of a choice")),
        }
    }

    fn reserved(&self, word: &str) -> bool {
        RESERVED.contains(&word) || MORE_RESERVED.contains(&word)
    }

    /// deed := "break" signal ":" failure | "mend" signal | "parameter" setting
    ///       | name "=" value | name "moves" "to" value "over" time
    pub(super) fn deed(&mut self) -> Result<Deed, Complaint> {
        match self.cursor.peek().word() {
            Some("break") => {
                self.cursor.advance();
                let signal = self.name("the signal that breaks")?;
                self.cursor.expect_symbol(":", "")?;
                return Ok(Deed::Break(signal, self.name("how it fails")?));
            }
            Some("mend") => {
                self.cursor.advance();
                return Ok(Deed::Mend(self.name("the signal that is mended")?));
            }
            Some("parameter") => {
                self.cursor.advance();
                return Ok(Deed::Parameter(self.setting()?));
            }
            _ => {}
        }
        let name = self.name("an action, `break`, `mend` or `parameter`")?;
        if self.cursor.accept_word("moves") {
            self.cursor.expect_word("to", " and a value, as in `moves to 80 % over 0.4 s`")?;
            let value = self.value()?;
            self.cursor.expect_word("over", " and how long it takes, as in `over 0.4 s`")?;
            let time = self.time("how long it takes, such as 0.4 s")?;
            return Ok(Deed::Move(Setting { name, value }, time));
        }
        if self.cursor.accept_symbol("=").is_none() {
            return Err(self.cursor.unexpected("`= value` or `moves to value over time`"));
        }
        Ok(Deed::Set(Setting { name, value: self.value()? }))
    }
}
