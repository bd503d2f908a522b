//! Where a command writes to, and how it looks there.

use std::env;
use std::fmt::Display;
use std::io::{self, IsTerminal, Write};

use miette::{GraphicalReportHandler, GraphicalTheme};

use super::Outcome;
use super::trouble::Trouble;

/// Where a command writes to.
pub struct Streams<'a> {
    /// Results.
    pub out: &'a mut dyn Write,
    /// Errors.
    pub errors: &'a mut dyn Write,
    /// How they look.
    pub look: Look,
}

/// How output looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Colours in results.
    pub colour: bool,
    /// Colours in errors.
    pub colour_errors: bool,
    /// Progress bars on the process's error output.
    pub progress: bool,
    /// Characters that fit in a line.
    pub width: usize,
}

/// What a word of a result means, which its colour shows again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tone {
    Good,
    Bad,
    Open,
    Heading,
    Quiet,
}

const NARROWEST: usize = 60;
const WIDTH: usize = 100;

impl Look {
    /// For output that no terminal shows: no colours, no progress.
    pub const PLAIN: Self = Self { colour: false, colour_errors: false, progress: false, width: WIDTH };

    /// As the terminal allows, if there is one. `NO_COLOR` and `COLUMNS` are respected.
    pub fn of_terminal() -> Self {
        let colours = env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        let columns = env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok()).unwrap_or(WIDTH);
        Self {
            colour: colours && io::stdout().is_terminal(),
            colour_errors: colours && io::stderr().is_terminal(),
            progress: io::stderr().is_terminal(),
            width: columns.max(NARROWEST),
        }
    }

    /// A word in its tone.
    pub(super) fn toned(self, tone: Tone, word: impl Display) -> String {
        if !self.colour {
            return word.to_string();
        }
        let code = match tone {
            Tone::Good => "32",
            Tone::Bad => "1;31",
            Tone::Open => "33",
            Tone::Heading => "1",
            Tone::Quiet => "2",
        };
        format!("\u{1b}[{code}m{word}\u{1b}[0m")
    }

    /// Text broken into lines that fit, each behind `indent` blanks but the first.
    pub(super) fn wrapped(self, text: &str, indent: usize) -> String {
        let room = self.width.saturating_sub(indent).max(NARROWEST / 2);
        let mut lines = vec![String::new()];
        for word in text.split_whitespace() {
            let line = lines
                .last_mut()
                .filter(|line| line.is_empty() || line.chars().count() + 1 + word.chars().count() <= room);
            match line {
                Some(line) if line.is_empty() => line.push_str(word),
                Some(line) => {
                    line.push(' ');
                    line.push_str(word);
                }
                None => lines.push(word.to_owned()),
            }
        }
        lines.join(&format!("\n{}", " ".repeat(indent)))
    }
}

impl<'a> Streams<'a> {
    /// Streams that no terminal shows.
    pub fn plain(out: &'a mut dyn Write, errors: &'a mut dyn Write) -> Self {
        Self { out, errors, look: Look::PLAIN }
    }

    /// Says why a command did not do what it was asked to.
    pub(super) fn complain(&mut self, trouble: &Trouble) -> Outcome {
        let reports = match trouble {
            Trouble::Told(reports) => reports,
            // The reader of the output went away: nobody is there to be told.
            Trouble::Output(error) if error.kind() == io::ErrorKind::BrokenPipe => return Outcome::Refused,
            Trouble::Output(error) => {
                let _ = writeln!(self.errors, "the output cannot be written: {error}");
                return Outcome::Refused;
            }
        };
        // Nobody is left to be told when this fails.
        let _ = self.draw_all(reports);
        Outcome::Refused
    }

    /// Errors with the lines that they point at, an empty line between two.
    pub(super) fn draw_all(&mut self, reports: &[miette::Report]) -> io::Result<()> {
        for (place, report) in reports.iter().enumerate() {
            let gap = if place > 0 { "\n" } else { "" };
            let drawn = self.drawn(report.as_ref());
            write!(self.errors, "{gap}{drawn}")?;
        }
        Ok(())
    }

    fn drawn(&self, report: &dyn miette::Diagnostic) -> String {
        let theme = if self.look.colour_errors {
            GraphicalTheme::unicode()
        } else {
            GraphicalTheme::unicode_nocolor()
        };
        let mut text = String::new();
        let handler = GraphicalReportHandler::new_themed(theme).with_width(self.look.width).with_links(false);
        match handler.render_report(&mut text, report) {
            Ok(()) => text,
            // A place that lies outside of its text cannot be drawn; what is wrong can still be said.
            Err(_) => format!("{report}\n"),
        }
    }

    /// Help is a result, wrong usage is an error.
    pub(super) fn show_usage(&mut self, refusal: &clap::Error) -> Outcome {
        let text = refusal.render();
        let (stream, colour) = if refusal.use_stderr() {
            (&mut *self.errors, self.look.colour_errors)
        } else {
            (&mut *self.out, self.look.colour)
        };
        let written = if colour { write!(stream, "{}", text.ansi()) } else { write!(stream, "{text}") };
        match written {
            Ok(()) if !refusal.use_stderr() => Outcome::AllHeld,
            _ => Outcome::Refused,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_stay_in_their_width() {
        let look = Look { width: 60, ..Look::PLAIN };
        let text = look.wrapped(&"word ".repeat(40), 20);
        assert!(text.lines().all(|line| line.chars().count() <= 60), "{text}");
        assert!(text.lines().skip(1).all(|line| line.starts_with(&" ".repeat(20))));
        assert_eq!(text.split_whitespace().count(), 40);
    }

    #[test]
    fn plain_words_carry_no_codes() {
        assert_eq!(Look::PLAIN.toned(Tone::Bad, "violated"), "violated");
        let coloured = Look { colour: true, ..Look::PLAIN };
        assert_eq!(coloured.toned(Tone::Good, "held"), "\u{1b}[32mheld\u{1b}[0m");
    }
}
