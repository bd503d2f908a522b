//! Log files of a bus, as a verb takes them.

use std::fs;
use std::path::Path;

use super::trouble::Trouble;
use crate::gateway::log::{self, LogLine};

/// Times of one log are in order but for what the recorder's own buffers mix up, µs.
const MIXED_UP: u64 = 1_000_000;

/// The frames of one bus in the order of time; `several` says what to do where there are several.
pub(super) fn of_one_bus(
    file: &Path,
    interface: Option<&str>,
    several: &str,
) -> Result<Vec<LogLine>, Trouble> {
    let text = fs::read_to_string(file).map_err(|error| Trouble::unreadable(file, &error))?;
    let wrong = |line: usize, what: &str, help: &str| {
        Trouble::with_help(format!("{}:{line}: {what}", file.display()), help)
    };
    let mut lines = log::lines(&text).map_err(|trouble| {
        wrong(
            trouble.line,
            &trouble.what,
            "write it with `candump -L`, without error frames, or with `unit record`",
        )
    })?;
    if let Some(name) = interface {
        lines.retain(|line| line.interface == *name);
    }
    let Some(first) = lines.first().cloned() else {
        let what = match interface {
            Some(name) => format!("{} holds no frame of {name}", file.display()),
            None => format!("{} holds no frame", file.display()),
        };
        return Err(Trouble::with_help(what, "name a log of the bus that the controller is on"));
    };
    if let Some(other) = lines.iter().find(|line| line.interface != first.interface) {
        let what = format!("the log holds {} and {}", first.interface, other.interface);
        return Err(wrong(other.number, &what, several));
    }
    let mut latest = first.logged.micros;
    for line in &lines {
        if line.logged.micros + MIXED_UP < latest {
            let what = "the time goes back: two recordings in one file";
            return Err(wrong(line.number, what, "replay each of them by itself"));
        }
        latest = latest.max(line.logged.micros);
    }
    lines.sort_by_key(|line| line.logged.micros);
    Ok(lines)
}

/// What comes so many seconds behind the first frame or later, and the time of that first frame.
pub(super) fn from(mut lines: Vec<LogLine>, seconds: f64) -> (Vec<LogLine>, u64) {
    let passed = (seconds.max(0.0) * 1e6) as u64;
    let origin = lines.first().map_or(0, |line| line.logged.micros);
    lines.retain(|line| line.logged.micros >= origin.saturating_add(passed));
    (lines, origin)
}
