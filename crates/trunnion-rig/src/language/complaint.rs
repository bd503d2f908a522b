use std::fmt;

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode};
use thiserror::Error;

use super::{Span, nearest};

/// One thing wrong in a text: what, where, and what to do about it.
///
/// A complaint knows its place only as bytes; [`Complaints`] carries the text and turns bytes into line and
/// column.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{what}")]
pub struct Complaint {
    /// What is wrong, with the offending value.
    pub what: String,
    /// Where.
    pub span: Span,
    /// What was expected there, or the nearest name; short enough to stand under the place.
    pub expected: String,
    /// What to do; empty where `expected` says it.
    pub help: String,
}

impl Complaint {
    /// A complaint at a place.
    pub fn new(span: Span, what: impl Into<String>) -> Self {
        Self { what: what.into(), span, expected: String::new(), help: String::new() }
    }

    /// Says what should have stood there.
    #[must_use]
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = expected.into();
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = help.into();
        self
    }

    /// A complaint that `name` is not one of `known`, with the nearest of them, or all when they are few.
    pub fn unknown<'a>(
        span: Span,
        kind: &str,
        name: &str,
        known: impl IntoIterator<Item = &'a str> + Clone,
    ) -> Self {
        let complaint = Self::new(span, format!("there is no {kind} `{name}`"));
        if let Some(nearest) = nearest(name, known.clone()) {
            return complaint.expected(format!("did you mean `{nearest}`?"));
        }
        let all: Vec<&str> = known.into_iter().collect();
        match all.len() {
            0 => complaint.expected(format!("this machine has no {kind} at all")),
            1..=8 => complaint.expected(format!("one of: {}", all.join(", "))),
            n => complaint.expected(format!("one of {n} known names; none of them is near")),
        }
    }
}

/// Everything that is wrong in one text, with the text.
///
/// [`Display`](fmt::Display) gives one line per complaint (`file:line:column: what (expected)`), enough for a
/// log; a `miette` reporter draws the place.
#[derive(Debug, Clone, Error)]
pub struct Complaints {
    named: NamedSource<String>,
    list: Vec<Complaint>,
}

impl Complaints {
    /// Complaints about `text`, which came from `origin` (a file name, or what else tells the reader where to look).
    pub fn new(origin: impl AsRef<str>, text: impl Into<String>, list: Vec<Complaint>) -> Self {
        Self { named: NamedSource::new(origin, text.into()), list }
    }

    /// Where the text came from.
    pub fn origin(&self) -> &str {
        self.named.name()
    }

    /// The text complained about.
    pub fn text(&self) -> &str {
        self.named.inner()
    }

    /// The complaints in the order of the text.
    pub fn list(&self) -> &[Complaint] {
        &self.list
    }

    /// Line and column, from 1, of a complaint.
    pub fn place(&self, complaint: &Complaint) -> (usize, usize) {
        complaint.span.line_and_column(self.text())
    }
}

impl fmt::Display for Complaints {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (position, complaint) in self.list.iter().enumerate() {
            let (line, column) = self.place(complaint);
            if position > 0 {
                writeln!(f)?;
            }
            write!(f, "{}:{line}:{column}: {}", self.origin(), complaint.what)?;
            for remark in [&complaint.expected, &complaint.help] {
                if !remark.is_empty() {
                    write!(f, "; {remark}")?;
                }
            }
        }
        Ok(())
    }
}

impl Diagnostic for Complaints {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.named)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.list.iter().map(|complaint| {
            let Span { start, end } = complaint.span;
            let remark = if complaint.expected.is_empty() { &complaint.what } else { &complaint.expected };
            LabeledSpan::new(Some(remark.clone()), start, end.saturating_sub(start))
        })))
    }

    fn help(&self) -> Option<Box<dyn fmt::Display + '_>> {
        let helps: Vec<&str> =
            self.list.iter().map(|c| c.help.as_str()).filter(|help| !help.is_empty()).collect();
        (!helps.is_empty()).then(|| Box::new(helps.join("\n")) as Box<dyn fmt::Display>)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn display_points_at_line_and_column_and_names_the_nearest() {
        let text = "seed 7\nat 1 s lefd_lever = 3 %";
        let start = text.find("lefd").unwrap();
        let span = Span::new(start, start + 10);
        let complaint = Complaint::unknown(span, "action", "lefd_lever", ["left_lever", "right_lever"]);
        let complaints = Complaints::new("story.scenario", text, vec![complaint]);
        assert_eq!(
            complaints.to_string(),
            "story.scenario:2:8: there is no action `lefd_lever`; did you mean `left_lever`?"
        );
    }

    #[test]
    fn few_names_are_listed_when_none_is_near() {
        let complaint = Complaint::unknown(Span::default(), "failure", "gone", ["open", "short"]);
        assert_eq!(complaint.expected, "one of: open, short");
    }
}
