use super::{Parser, RESERVED};
use crate::language::{Complaint, Spanned, TokenKind};
use crate::requirement::expression::{Duration, DurationTerm, Prefix};

impl Parser {
    /// An operator over time, when one stands here.
    pub(super) fn prefix(&mut self) -> Result<Option<Prefix>, Complaint> {
        let Some(word) = self.cursor.peek().word() else { return Ok(None) };
        let prefix = match word {
            "always" => self.then(Prefix::Always),
            "eventually" => self.then(Prefix::Eventually),
            "within" => Prefix::Within(self.duration_after_word()?),
            "for" => Prefix::For(self.duration_after_word()?),
            "after" => Prefix::After(self.duration_after_word()?),
            "at" => Prefix::At(self.duration_after_word()?),
            "from" => {
                let begin = self.duration_after_word()?;
                let end = if self.cursor.accept_word("to") { Some(self.duration()?) } else { None };
                Prefix::From(begin, end)
            }
            "once" => {
                self.cursor.advance();
                if self.cursor.accept_word("within") {
                    Prefix::OnceWithin(self.duration()?)
                } else {
                    Prefix::Once
                }
            }
            "held" => {
                self.cursor.advance();
                if self.cursor.peek().word() != Some("for") {
                    return Err(self.cursor.unexpected("`for` and a time, as in `held for 300 ms`"));
                }
                Prefix::HeldFor(self.duration_after_word()?)
            }
            "so" => {
                self.cursor.advance();
                self.cursor.expect_word("far", ", as in `so far not moving`")?;
                Prefix::SoFar
            }
            _ => return Ok(None),
        };
        Ok(Some(prefix))
    }

    fn then(&mut self, prefix: Prefix) -> Prefix {
        self.cursor.advance();
        prefix
    }

    fn duration_after_word(&mut self) -> Result<Duration, Complaint> {
        self.cursor.advance();
        self.duration()
    }

    /// duration := (quantity | parameter) { "+" (quantity | parameter) }
    pub(super) fn duration(&mut self) -> Result<Duration, Complaint> {
        let mut terms = Vec::new();
        loop {
            let token = self.cursor.peek().clone();
            terms.push(match token.kind {
                TokenKind::Quantity(quantity) => DurationTerm::Quantity(quantity),
                TokenKind::Word(name) if !RESERVED.contains(&name.as_str()) => {
                    DurationTerm::Parameter(Spanned::new(name, token.span))
                }
                _ => {
                    return Err(self
                        .cursor
                        .unexpected("a time such as `1.5 s`, or a parameter that holds one"));
                }
            });
            self.cursor.advance();
            if self.cursor.accept_symbol("+").is_none() {
                return Ok(Duration { terms });
            }
        }
    }
}
