use super::{Complaint, Decimal, Quantity, Span, Unit, nearest};

/// What a token is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum TokenKind {
    /// A name or a keyword: letters, digits, `_`, beginning with a letter.
    Word(String),
    /// A number with the unit behind it.
    Quantity(Quantity),
    /// One of `( ) , + - * = != < <= > >= ± :`.
    Symbol(&'static str),
    /// The end of the text.
    End,
}

/// A token and its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Token {
    pub(crate) kind: TokenKind,
    pub(crate) span: Span,
}

impl Token {
    /// The word, when it is one.
    pub(crate) fn word(&self) -> Option<&str> {
        match &self.kind {
            TokenKind::Word(word) => Some(word),
            _ => None,
        }
    }

    /// The symbol, when it is one.
    pub(crate) fn symbol(&self) -> Option<&'static str> {
        match self.kind {
            TokenKind::Symbol(symbol) => Some(symbol),
            _ => None,
        }
    }

    /// How to call it in a complaint.
    pub(crate) fn name(&self) -> String {
        match &self.kind {
            TokenKind::Word(word) => format!("`{word}`"),
            TokenKind::Quantity(quantity) => format!("`{quantity}`"),
            TokenKind::Symbol(symbol) => format!("`{symbol}`"),
            TokenKind::End => "the end".to_owned(),
        }
    }
}

/// Longest first, so that `<=` is not taken for `<`.
const SYMBOLS: &[(&str, &str)] = &[
    ("!=", "!="),
    ("<=", "<="),
    (">=", ">="),
    ("+-", "±"),
    ("≠", "!="),
    ("≤", "<="),
    ("≥", ">="),
    ("±", "±"),
    ("−", "-"),
    ("(", "("),
    (")", ")"),
    (",", ","),
    ("+", "+"),
    ("-", "-"),
    ("*", "*"),
    ("=", "="),
    ("<", "<"),
    (">", ">"),
    (":", ":"),
];

/// Cuts a stretch of a text into tokens. White space, line ends and comments (`#` up to the end of the line)
/// separate and mean nothing.
pub(crate) struct Lexer<'a> {
    text: &'a str,
    place: usize,
    end: usize,
    keywords: &'a [&'a str],
}

impl<'a> Lexer<'a> {
    /// A lexer over `span` of `text`. A word of `keywords` behind a number is not taken for a unit.
    pub(crate) fn new(text: &'a str, span: Span, keywords: &'a [&'a str]) -> Self {
        let end = span.end.min(text.len());
        Self { text, place: span.start.min(end), end, keywords }
    }

    /// All tokens, the last of which is [`TokenKind::End`].
    pub(crate) fn tokens(mut self) -> Result<Vec<Token>, Complaint> {
        let mut tokens = Vec::new();
        loop {
            let token = self.token()?;
            let last = token.kind == TokenKind::End;
            tokens.push(token);
            if last {
                return Ok(tokens);
            }
        }
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.place..self.end).unwrap_or("")
    }

    fn skip_blank(&mut self) {
        loop {
            let rest = self.rest();
            let trimmed = rest.trim_start();
            self.place += rest.len() - trimmed.len();
            if !trimmed.starts_with('#') {
                return;
            }
            self.place += trimmed.find('\n').unwrap_or(trimmed.len());
        }
    }

    fn token(&mut self) -> Result<Token, Complaint> {
        self.skip_blank();
        let start = self.place;
        let rest = self.rest();
        let Some(first) = rest.chars().next() else {
            return Ok(Token { kind: TokenKind::End, span: Span::new(start, start) });
        };
        let kind = if first.is_ascii_digit() {
            TokenKind::Quantity(self.quantity()?)
        } else if first.is_alphabetic() {
            let length = rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(rest.len());
            self.place += length;
            TokenKind::Word(rest[..length].to_owned())
        } else if let Some((written, symbol)) = SYMBOLS.iter().find(|(written, _)| rest.starts_with(written))
        {
            self.place += written.len();
            TokenKind::Symbol(symbol)
        } else {
            let span = Span::new(start, start + first.len_utf8());
            return Err(Complaint::new(span, format!("`{first}` has no meaning here"))
                .expected("a name, a number or a sign"));
        };
        Ok(Token { kind, span: Span::new(start, self.place) })
    }

    fn quantity(&mut self) -> Result<Quantity, Complaint> {
        let start = self.place;
        let rest = self.rest();
        let length = rest.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(rest.len());
        let written = &rest[..length];
        let span = Span::new(start, start + length);
        let number = Decimal::parse(written).ok_or_else(|| {
            Complaint::new(span, format!("`{written}` is not a number"))
                .expected("a plain decimal of at most 15 digits, such as 12 or 0.5")
        })?;
        self.place += length;
        let (unit, span) = self.unit(span)?;
        Ok(Quantity { number, unit, span })
    }

    /// The unit behind a number that stands at `number`, and the span of both.
    fn unit(&mut self, number: Span) -> Result<(Unit, Span), Complaint> {
        let after_number = self.place;
        let rest = self.rest();
        let blank = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        let rest = &rest[blank..];
        let begins = |c: char| c.is_alphabetic() || "%‰°".contains(c);
        let goes_on = |c: char| c.is_alphanumeric() || "%‰°·/²³^_".contains(c);
        if !rest.starts_with(begins) {
            return Ok((Unit::number(), number));
        }
        let length = rest.find(|c| !goes_on(c)).unwrap_or(rest.len());
        let written = &rest[..length];
        if self.keywords.contains(&written) {
            return Ok((Unit::number(), number));
        }
        let span = Span::new(after_number + blank, after_number + blank + length);
        let unit = Unit::parse(written).ok_or_else(|| {
            let complaint = Complaint::new(span, format!("there is no unit `{written}`"));
            match nearest(written, Unit::known_symbols()) {
                Some(symbol) => complaint.expected(format!("did you mean `{symbol}`?")),
                None => complaint.expected("a unit behind the number, such as s, ms, mA, % or m/s"),
            }
        })?;
        self.place = span.end;
        Ok((unit, number.to(span)))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn tokens(text: &str) -> Result<Vec<Token>, Complaint> {
        Lexer::new(text, Span::new(0, text.len()), &["and", "over"]).tokens()
    }

    fn names(text: &str) -> Vec<String> {
        tokens(text).unwrap().iter().map(Token::name).collect()
    }

    #[test]
    fn a_unit_belongs_to_the_number_before_it() {
        assert_eq!(names("x>=0.5m/s²"), ["`x`", "`>=`", "`0.5 m/s²`", "the end"]);
        assert_eq!(names("80 % over 0.4 s"), ["`80 %`", "`over`", "`0.4 s`", "the end"]);
        assert_eq!(names("3 and y"), ["`3`", "`and`", "`y`", "the end"]);
    }

    #[test]
    fn comments_and_line_ends_are_blank() {
        assert_eq!(names("a # b c\n  d"), ["`a`", "`d`", "the end"]);
    }

    #[test]
    fn an_unknown_unit_names_the_nearest() {
        let complaint = tokens("x > 5 kmh").unwrap_err();
        assert_eq!(complaint.span, Span::new(6, 9));
        assert_eq!(complaint.expected, "did you mean `km/h`?");
    }

    proptest! {
        #[test]
        fn any_text_is_cut_or_refused_within_its_bounds(text in "\\PC*", start in 0_usize..8, length in 0_usize..40) {
            let span = Span::new(start, start + length);
            match Lexer::new(&text, span, &[]).tokens() {
                Ok(tokens) => for token in tokens { prop_assert!(token.span.end <= text.len().max(start)); },
                Err(complaint) => prop_assert!(complaint.span.end <= text.len()),
            }
        }
    }
}
