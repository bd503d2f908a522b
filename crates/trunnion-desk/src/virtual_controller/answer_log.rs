//! The board's log, in words.

use std::fmt::{self, Display};
use std::fs;
use std::io::Read;
use std::os::unix::net::UnixStream;
use std::path::Path;

use defmt_decoder::{DecodeError, Encoding, Table};

use super::VirtualControllerError;

/// How grave a log line is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LogLevel {
    /// Every step.
    Trace,
    /// For the one who looks for an error.
    Debug,
    /// What a reader may like to know.
    Info,
    /// What is not as it should be.
    Warning,
    /// What failed.
    Error,
}

impl Display for LogLevel {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.pad(match self {
            Self::Trace => "trace",
            Self::Debug => "debug",
            Self::Info => "info",
            Self::Warning => "warning",
            Self::Error => "error",
        })
    }
}

/// One line of the board's log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogLine {
    /// Ticks that were done when it was written; `None` when the image's log has no times.
    pub tick: Option<u32>,
    /// How grave it is.
    pub level: LogLevel,
    /// What it says.
    pub message: String,
}

impl Display for LogLine {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.tick {
            Some(tick) => write!(formatter, "{tick:>8} ")?,
            None => write!(formatter, "       - ")?,
        }
        write!(formatter, "{:<7} {}", self.level, self.message)
    }
}

/// Reads the texts of the log lines from an image; `None` when it logs nothing.
pub(super) fn read_table(image: &Path) -> Result<Option<Table>, VirtualControllerError> {
    let bytes = fs::read(image)
        .map_err(|source| VirtualControllerError::NoImage { path: image.to_owned(), source })?;
    let not_an_image = |why: String| VirtualControllerError::NotAnImage { path: image.to_owned(), why };
    let table = Table::parse(&bytes).map_err(|error| not_an_image(error.to_string()))?;
    match table {
        Some(table) if table.encoding() != Encoding::Raw => {
            Err(not_an_image("its log is stuffed, and this program reads plain ones only".to_owned()))
        }
        table => Ok(table),
    }
}

/// The log's port, and what it brought.
pub(super) struct AnswerLog {
    stream: UnixStream,
    table: Option<Table>,
    fault_names: Vec<&'static str>,
    bytes: Vec<u8>,
    lines: Vec<LogLine>,
}

impl AnswerLog {
    pub fn new(stream: UnixStream, table: Option<Table>, fault_names: Vec<&'static str>) -> Self {
        Self { stream, table, fault_names, bytes: Vec::new(), lines: Vec::new() }
    }

    /// Reads what is there, without waiting. A log that breaks off ends; the run does not depend on it.
    pub fn read(&mut self) {
        if self.stream.set_nonblocking(true).is_err() {
            return;
        }
        let mut buffer = [0; 4096];
        while let Ok(read) = self.stream.read(&mut buffer)
            && read > 0
        {
            self.bytes.extend_from_slice(&buffer[..read]);
        }
        self.decode();
    }

    pub fn take_lines(&mut self) -> Vec<LogLine> {
        self.read();
        std::mem::take(&mut self.lines)
    }

    fn decode(&mut self) {
        let Some(table) = &self.table else {
            self.bytes.clear();
            return;
        };
        let mut taken = 0;
        while taken < self.bytes.len() {
            match table.decode(&self.bytes[taken..]) {
                Ok((frame, consumed)) => {
                    let tick =
                        frame.display_timestamp().and_then(|time| time.to_string().trim().parse().ok());
                    let message = frame.display_message().to_string();
                    self.lines.push(LogLine {
                        tick,
                        level: level(frame.level().map_or("", |level| level.as_str())),
                        message: with_fault_name(&message, &self.fault_names),
                    });
                    taken += consumed;
                }
                Err(DecodeError::UnexpectedEof) => break,
                Err(DecodeError::Malformed) => {
                    let message = "the log cannot be read from here on".to_owned();
                    self.lines.push(LogLine { tick: None, level: LogLevel::Error, message });
                    self.table = None;
                    self.bytes.clear();
                    return;
                }
            }
        }
        self.bytes.drain(..taken);
    }
}

/// From the log's own word for it.
fn level(word: &str) -> LogLevel {
    match word {
        "trace" => LogLevel::Trace,
        "debug" => LogLevel::Debug,
        "warn" => LogLevel::Warning,
        "error" => LogLevel::Error,
        _ => LogLevel::Info,
    }
}

/// The board's shell logs a fault by its place in the table, so that the image need not hold the names.
fn with_fault_name(message: &str, names: &[&str]) -> String {
    let named = || {
        let (place, rest) = message.strip_prefix("fault ")?.split_once(' ')?;
        let name = names.get(place.parse::<usize>().ok()?)?;
        Some(format!("fault {name} {rest}"))
    };
    named().unwrap_or_else(|| message.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_logged_by_name_and_other_lines_stay() {
        let names = ["SeatEmpty", "CoilOpen"];
        assert_eq!(with_fault_name("fault 1 set, SPN 5 FMI 5", &names), "fault CoilOpen set, SPN 5 FMI 5");
        assert_eq!(with_fault_name("fault 2 set", &names), "fault 2 set");
        assert_eq!(with_fault_name("machine started", &names), "machine started");
    }
}
