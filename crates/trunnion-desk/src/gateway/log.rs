//! The log format of Linux's `candump -L`: `(seconds.microseconds) interface identifier#bytes`.

use embedded_can::{ExtendedId, Frame as _, Id, StandardId};
use trunnion_can::frame::Frame;

/// A frame and when it was on the bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Logged {
    /// Microseconds since the log's own zero.
    pub micros: u64,
    /// The frame.
    pub frame: Frame,
}

/// A line of a log that holds a frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogLine {
    /// Line, from 1.
    pub number: usize,
    /// The bus that it was on, as the recorder calls it.
    pub interface: String,
    /// The frame and its time.
    pub logged: Logged,
}

/// Why a line of a log is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogTrouble {
    /// Line, from 1.
    pub line: usize,
    /// What is wrong and what was expected.
    pub what: String,
}

impl std::fmt::Display for LogTrouble {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "line {}: {}", self.line, self.what)
    }
}

impl std::error::Error for LogTrouble {}

/// A line of a log, without its end.
pub fn written(logged: &Logged, interface: &str) -> String {
    let (seconds, micros) = (logged.micros / 1_000_000, logged.micros % 1_000_000);
    let id = match logged.frame.id() {
        Id::Standard(id) => format!("{:03X}", id.as_raw()),
        Id::Extended(id) => format!("{:08X}", id.as_raw()),
    };
    let bytes: String = logged.frame.bytes().iter().map(|byte| format!("{byte:02X}")).collect();
    format!("({seconds}.{micros:06}) {interface} {id}#{bytes}")
}

/// Reads a whole log; empty lines and lines that begin with `;` are passed over.
pub fn parse(text: &str) -> Result<Vec<Logged>, LogTrouble> {
    Ok(lines(text)?.into_iter().map(|line| line.logged).collect())
}

/// The same, with the number and the interface of each line.
pub fn lines(text: &str) -> Result<Vec<LogLine>, LogTrouble> {
    let mut frames = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let line_text = line.trim();
        if line_text.is_empty() || line_text.starts_with(';') {
            continue;
        }
        let number = index + 1;
        let logged = one(line_text).map_err(|what| LogTrouble { line: number, what })?;
        let interface = line_text.split_whitespace().nth(1).unwrap_or_default().to_owned();
        frames.push(LogLine { number, interface, logged });
    }
    Ok(frames)
}

fn one(line: &str) -> Result<Logged, String> {
    let mut words = line.split_whitespace();
    let (Some(time), Some(_), Some(content)) = (words.next(), words.next(), words.next()) else {
        return Err(format!("expected `(seconds) interface identifier#bytes`, found `{line}`"));
    };
    let micros = time
        .strip_prefix('(')
        .and_then(|time| time.strip_suffix(')'))
        .and_then(micros)
        .ok_or_else(|| format!("expected a time such as `(1.250000)`, found `{time}`"))?;
    let (id, bytes) =
        content.split_once('#').ok_or_else(|| format!("expected `identifier#bytes`, found `{content}`"))?;
    let raw = u32::from_str_radix(id, 16).map_err(|_| format!("`{id}` is no hexadecimal identifier"))?;
    let id = match id.len() {
        3 => StandardId::new(raw as u16).filter(|_| raw <= 0x7FF).map(Id::Standard),
        8 => ExtendedId::new(raw).map(Id::Extended),
        _ => None,
    };
    let id = id.ok_or_else(|| {
        format!("identifier {raw:X}: expected three digits up to 7FF or eight up to 1FFFFFFF")
    })?;
    let data = data(bytes)
        .ok_or_else(|| format!("expected up to eight bytes of two hexadecimal digits, found `{bytes}`"))?;
    let frame = Frame::new(id, &data).ok_or_else(|| format!("more than eight bytes: `{bytes}`"))?;
    Ok(Logged { micros, frame })
}

fn micros(time: &str) -> Option<u64> {
    let (seconds, part) = time.split_once('.')?;
    if part.len() != 6 {
        return None;
    }
    seconds.parse::<u64>().ok()?.checked_mul(1_000_000)?.checked_add(part.parse().ok()?)
}

fn data(bytes: &str) -> Option<Vec<u8>> {
    if !bytes.is_ascii() || !bytes.len().is_multiple_of(2) {
        return None;
    }
    let pairs = (0..bytes.len()).step_by(2).map(|place| bytes.get(place..place + 2));
    pairs.map(|pair| u8::from_str_radix(pair?, 16).ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_reads_back_as_it_was_written() {
        // The form of can-utils' candump -L (its manual's example, with an identifier of ours).
        let text = "(1436509052.249713) vcan0 0CF00400#FF7D7DE015FFF0FF\n\n(1436509052.449847) vcan0 12F#\n";
        let log = parse(text).unwrap();
        assert_eq!(log.len(), 2);
        assert_eq!(log[0].micros, 1_436_509_052_249_713);
        let again: Vec<String> = log.iter().map(|logged| written(logged, "vcan0")).collect();
        assert_eq!(again.join("\n\n"), text.trim_end());
        let second = lines(text).unwrap().remove(1);
        assert_eq!((second.number, second.interface.as_str(), second.logged), (3, "vcan0", log[1]));
    }

    #[test]
    fn a_wrong_line_is_told_with_its_number() {
        for (line, part) in [
            ("(1.0) can0 123#00", "expected a time"),
            ("(1.000000) can0 123", "expected `identifier#bytes`"),
            ("(1.000000) can0 FFF#00", "expected three digits"),
            ("(1.000000) can0 123#0", "two hexadecimal digits"),
            ("(1.000000) can0 123#001122334455667788", "more than eight"),
            ("hello", "expected `(seconds)"),
        ] {
            let trouble = parse(&format!("; a comment\n{line}\n")).unwrap_err();
            assert_eq!(trouble.line, 2);
            assert!(trouble.what.contains(part), "{line}: {}", trouble.what);
        }
    }
}
