/// A stretch of a source text, in bytes from its beginning.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// The stretch from `start` up to, not including, `end`.
    pub const fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// The shortest stretch that covers both.
    pub fn to(self, other: Span) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// The text that the stretch covers; empty when it lies outside of `text`.
    pub fn of(self, text: &str) -> &str {
        text.get(self.start..self.end).unwrap_or("")
    }

    /// Line and column of the first byte, both counted from 1, columns in characters.
    pub fn line_and_column(self, text: &str) -> (usize, usize) {
        let before = text.get(..self.start).unwrap_or(text);
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        (line, column)
    }
}

/// A value and where it was written. Two are equal when their values are: moving a word does not change
/// what it says.
#[derive(Debug, Clone, Copy)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// Pairs a value with its place.
    pub const fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }
}

impl<T: PartialEq> PartialEq for Spanned<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

impl<T: Eq> Eq for Spanned<T> {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_and_lines_count_from_one() {
        let text = "ä b\nß° c";
        let place = text.find('c').unwrap();
        assert_eq!(Span::new(place, place + 1).line_and_column(text), (2, 4));
        assert_eq!(Span::new(0, 1).line_and_column(text), (1, 1));
    }

    #[test]
    fn a_span_outside_of_the_text_is_empty_not_a_panic() {
        assert_eq!(Span::new(7, 9).of("abc"), "");
        assert_eq!(Span::new(1, 2).of("ß"), "");
    }
}
