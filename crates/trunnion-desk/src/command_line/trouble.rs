//! Why a command could not do what it was asked to.

use std::fmt;
use std::io;
use std::path::Path;

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode};
use trunnion_rig::language::{Complaint, Complaints};
use trunnion_rig::run::RigError;

/// Why a command could not do what it was asked to.
#[derive(Debug)]
pub(super) enum Trouble {
    /// Everything that is wrong, each with what to do.
    Told(Vec<miette::Report>),
    /// The output cannot be written to.
    Output(io::Error),
}

impl From<io::Error> for Trouble {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

impl From<Complaints> for Trouble {
    fn from(complaints: Complaints) -> Self {
        Self::Told(pointed(&complaints))
    }
}

impl From<RigError> for Trouble {
    fn from(error: RigError) -> Self {
        match error {
            RigError::Requirements(list) => Self::Told(list.iter().flat_map(pointed).collect()),
            names => Self::Told(vec![names.into()]),
        }
    }
}

impl Trouble {
    /// One thing, and what to do about it.
    pub(super) fn with_help(what: impl fmt::Display, help: impl fmt::Display) -> Self {
        Self::Told(vec![miette::miette!(help = help.to_string(), "{what}")])
    }

    /// What is wrong carries its own help.
    pub(super) fn of(error: impl Diagnostic + Send + Sync + 'static) -> Self {
        Self::Told(vec![miette::Report::new(error)])
    }

    /// A file that cannot be read.
    pub(super) fn unreadable(path: &Path, error: &io::Error) -> Self {
        Self::with_help(
            format!("{} cannot be read: {error}", path.display()),
            "name a file that exists and is text",
        )
    }

    /// A file or a folder that cannot be written.
    pub(super) fn unwritable(path: &Path, error: &io::Error) -> Self {
        Self::with_help(
            format!("{} cannot be written: {error}", path.display()),
            "name a place in a folder that you may write to",
        )
    }
}

/// One complaint with the place that it points at.
#[derive(Debug)]
struct Pointed {
    complaint: Complaint,
    source: NamedSource<String>,
}

/// Each complaint on its own, so that each is drawn with its lines.
pub(super) fn pointed(complaints: &Complaints) -> Vec<miette::Report> {
    let one = |complaint: &Complaint| {
        let source = NamedSource::new(complaints.origin(), complaints.text().to_owned());
        miette::Report::new(Pointed { complaint: complaint.clone(), source })
    };
    complaints.list().iter().map(one).collect()
}

impl fmt::Display for Pointed {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.complaint.what)
    }
}

impl std::error::Error for Pointed {}

impl Diagnostic for Pointed {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let span = self.complaint.span;
        let label = Some(self.complaint.expected.clone()).filter(|expected| !expected.is_empty());
        let length = span.end.saturating_sub(span.start);
        Some(Box::new(std::iter::once(LabeledSpan::new(label, span.start, length))))
    }

    fn help(&self) -> Option<Box<dyn fmt::Display + '_>> {
        let help = &self.complaint.help;
        (!help.is_empty()).then(|| Box::new(help) as Box<dyn fmt::Display>)
    }
}
