use super::{Complaint, Span, Token};

/// Walks over the tokens of a text, the last of which is the end and is never stepped over.
pub(crate) struct Cursor {
    tokens: Vec<Token>,
    next: usize,
}

impl Cursor {
    /// At the first token; there is at least the end.
    pub(crate) fn new(tokens: Vec<Token>) -> Self {
        Self { tokens, next: 0 }
    }

    pub(crate) fn peek(&self) -> &Token {
        self.peek_at(0)
    }

    pub(crate) fn peek_at(&self, ahead: usize) -> &Token {
        let last = self.tokens.len() - 1;
        &self.tokens[(self.next + ahead).min(last)]
    }

    /// Number of tokens stepped over.
    pub(crate) fn place(&self) -> usize {
        self.next
    }

    pub(crate) fn advance(&mut self) -> Token {
        let token = self.peek().clone();
        self.next += 1;
        token
    }

    pub(crate) fn accept_word(&mut self, word: &str) -> bool {
        let found = self.peek().word() == Some(word);
        if found {
            self.advance();
        }
        found
    }

    pub(crate) fn accept_symbol(&mut self, symbol: &str) -> Option<Span> {
        (self.peek().symbol() == Some(symbol)).then(|| self.advance().span)
    }

    /// Steps over `symbol`; `why` goes on with what it is for.
    pub(crate) fn expect_symbol(&mut self, symbol: &str, why: &str) -> Result<Span, Complaint> {
        self.accept_symbol(symbol).ok_or_else(|| self.unexpected(format!("`{symbol}`{why}")))
    }

    /// Steps over `word`; `why` goes on with what it is for.
    pub(crate) fn expect_word(&mut self, word: &str, why: &str) -> Result<(), Complaint> {
        if self.accept_word(word) { Ok(()) } else { Err(self.unexpected(format!("`{word}`{why}"))) }
    }

    /// A complaint about the next token.
    pub(crate) fn unexpected(&self, expected: impl AsRef<str>) -> Complaint {
        let token = self.peek();
        Complaint::new(token.span, format!("{} is not expected here", token.name()))
            .expected(format!("expected {}", expected.as_ref()))
    }

    /// The place of the token that closes the parenthesis that the token at `opening` opens.
    pub(crate) fn closing(&self, opening: usize) -> Option<usize> {
        let mut depth = 0_usize;
        for (place, token) in self.tokens.iter().enumerate().skip(opening) {
            match token.symbol() {
                Some("(") => depth += 1,
                Some(")") => depth = depth.saturating_sub(1),
                _ => {}
            }
            if depth == 0 {
                return (place > opening).then_some(place);
            }
        }
        None
    }
}
