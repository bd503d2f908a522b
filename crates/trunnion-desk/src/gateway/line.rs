//! Frames and commands of a serial CAN adaptor, one a line, ended by a carriage return.
//!
//! `t` and three hexadecimal digits begin a frame with an 11-bit identifier, `T` and eight one with 29 bits; then
//! follow one digit for the number of bytes and two digits for each byte. `O` opens, `C` closes, `S` sets the bit rate,
//! `Z` switches time stamps, `V`, `N` and `F` ask for version, serial number and status. What is done is answered by a
//! carriage return, what is not by a bell. The protocol is as Linux's `slcan` driver and python-can speak it.

use embedded_can::{ExtendedId, Frame as _, Id, StandardId};
use trunnion_can::frame::Frame;

/// Longest line that means anything: a 29-bit frame with eight bytes and a time stamp.
const LONGEST: usize = 1 + 8 + 1 + 16 + 4;
/// Answer to what was done.
pub const DONE: &[u8] = b"\r";
/// Answer to what was not understood.
pub const REFUSED: &[u8] = b"\x07";

/// What a line says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// A frame to send.
    Frame(Frame),
    /// Take part in the bus.
    Open,
    /// Leave it.
    Close,
    /// A setting that makes no difference here; it is answered as done.
    Setting,
    /// Asks for the version.
    Version,
    /// Asks for the serial number.
    Serial,
    /// Asks for the status flags.
    Status,
    /// An empty line: some tools send one to get the adaptor's attention.
    Empty,
    /// None of these.
    Unknown,
}

impl Line {
    /// Reads a line without its end.
    pub fn parse(line: &[u8]) -> Self {
        let Some((kind, rest)) = line.split_first() else { return Self::Empty };
        match kind {
            b't' => frame(rest, 3, |raw| StandardId::new(raw as u16).map(Id::Standard)),
            b'T' => frame(rest, 8, |raw| ExtendedId::new(raw).map(Id::Extended)),
            b'O' | b'L' if rest.is_empty() => Self::Open,
            b'C' if rest.is_empty() => Self::Close,
            b'S' if matches!(rest, [b'0'..=b'8']) => Self::Setting,
            b'Z' if matches!(rest, [b'0' | b'1']) => Self::Setting,
            b'V' | b'v' if rest.is_empty() => Self::Version,
            b'N' if rest.is_empty() => Self::Serial,
            b'F' if rest.is_empty() => Self::Status,
            _ => Self::Unknown,
        }
    }
}

/// The frame behind the first letter; exactly as many bytes as it says.
fn frame(rest: &[u8], digits: usize, id: impl Fn(u32) -> Option<Id>) -> Line {
    let parsed = || {
        let (identifier, rest) = rest.split_at_checked(digits)?;
        let (length, bytes) = rest.split_first()?;
        let length = usize::try_from(digit(*length)?).ok()?;
        if length > 8 || bytes.len() != length * 2 {
            return None;
        }
        let mut data = [0; 8];
        for (place, pair) in data.iter_mut().zip(bytes.chunks_exact(2)) {
            *place = number(pair)? as u8;
        }
        Frame::new(id(number(identifier)?)?, data.get(..length)?)
    };
    parsed().map_or(Line::Unknown, Line::Frame)
}

fn digit(letter: u8) -> Option<u32> {
    char::from(letter).to_digit(16)
}

fn number(digits: &[u8]) -> Option<u32> {
    digits.iter().try_fold(0_u32, |number, letter| Some((number << 4) | digit(*letter)?))
}

/// A frame as a line, its end included.
pub fn written(frame: &Frame) -> String {
    let mut line = match frame.id() {
        Id::Standard(id) => format!("t{:03X}{}", id.as_raw(), frame.dlc()),
        Id::Extended(id) => format!("T{:08X}{}", id.as_raw(), frame.dlc()),
    };
    for byte in frame.bytes() {
        line.push_str(&format!("{byte:02X}"));
    }
    line.push('\r');
    line
}

/// Cuts a stream of bytes into lines. A line that is too long to mean anything is told once, as
/// [`Line::Unknown`], and takes no room.
#[derive(Debug, Clone, Default)]
pub struct Lines {
    begun: Vec<u8>,
    overlong: bool,
}

impl Lines {
    /// Takes bytes as they come; gives each line that they end.
    pub fn take(&mut self, bytes: &[u8]) -> Vec<Line> {
        let mut lines = Vec::new();
        for byte in bytes {
            match byte {
                b'\r' | b'\n' => {
                    // A carriage return and a line feed end one line, not two.
                    if *byte == b'\r' || !self.begun.is_empty() {
                        lines.push(if self.overlong { Line::Unknown } else { Line::parse(&self.begun) });
                    }
                    self.begun.clear();
                    self.overlong = false;
                }
                _ if self.begun.len() >= LONGEST => self.overlong = true,
                _ => self.begun.push(*byte),
            }
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn extended(raw: u32, data: &[u8]) -> Frame {
        Frame::new(ExtendedId::new(raw).unwrap(), data).unwrap()
    }

    #[test]
    fn frames_read_and_write_as_python_can_does() {
        // python-can 4.6.1, interface slcan, bytes as its socket carries them.
        let lever = extended(0x0CFD_D633, &[0x10, 0x7D, 0x01, 0x00, 0xFF, 0x40, 0x00, 0x00]);
        assert_eq!(written(&lever), "T0CFDD6338107D0100FF400000\r");
        assert_eq!(Line::parse(b"T0CFDD6338107D0100FF400000"), Line::Frame(lever));
        let standard = Frame::new(StandardId::new(0x7DF).unwrap(), &[2, 0x3E]).unwrap();
        assert_eq!(written(&standard), "t7DF2023E\r");
        assert_eq!(Line::parse(b"t7DF2023e"), Line::Frame(standard));
        assert_eq!(Line::parse(b"T000007DF0"), Line::Frame(extended(0x7DF, &[])), "extended, however small");
    }

    #[test]
    fn a_frame_that_contradicts_itself_is_none() {
        for line in [
            "t7DF3023E",
            "t7DF1023E",
            "t8002023E",
            "T200000000",
            "t7DF9",
            "t7D",
            "t7DFg",
            "T0CFDD63381",
            "r7DF0",
        ] {
            assert_eq!(Line::parse(line.as_bytes()), Line::Unknown, "{line}");
        }
    }

    #[test]
    fn a_stream_is_cut_whatever_pieces_it_comes_in_and_rubbish_takes_no_room() {
        let mut lines = Lines::default();
        let stream = b"C\rS5\r\rO\rt0011FF\r\nxx\r";
        let expected = [
            Line::Close,
            Line::Setting,
            Line::Empty,
            Line::Open,
            Line::Frame(Frame::new(StandardId::new(1).unwrap(), &[0xFF]).unwrap()),
            Line::Unknown,
        ];
        for size in 1..stream.len() {
            let mut seen = Vec::new();
            for piece in stream.chunks(size) {
                seen.extend(lines.take(piece));
            }
            assert_eq!(seen, expected, "pieces of {size}");
        }
        assert!(lines.take(&[b'T'; 100_000]).is_empty());
        assert!(lines.begun.len() <= LONGEST);
        assert_eq!(lines.take(b"\rO\r"), [Line::Unknown, Line::Open]);
    }
}
