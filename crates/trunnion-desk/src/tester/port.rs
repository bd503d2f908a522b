//! A bus behind a TCP port, a serial adaptor or SocketCAN.

use std::fmt;
use std::io::{self, Read, Write};
use std::net::TcpStream;
use std::str::FromStr;
use std::time::{Duration, Instant};

use trunnion_can::frame::Frame;

use crate::gateway::line::{Line, Lines, written};

/// Longest wait for a connection and for the adaptor to open.
const PATIENCE: Duration = Duration::from_secs(3);

/// A bus that frames are sent to and taken from.
pub trait Port: Send {
    /// Sends a frame.
    ///
    /// # Errors
    /// When the adaptor is gone or does not take it.
    fn send(&mut self, frame: &Frame) -> io::Result<()>;

    /// The next frame, waiting at most so long.
    ///
    /// # Errors
    /// When the adaptor is gone.
    fn receive(&mut self, wait: Duration) -> io::Result<Option<Frame>>;
}

/// Where a bus is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// Lines of a serial adaptor over TCP: host and port.
    Tcp(String),
    /// A serial adaptor: path of its device.
    Serial(String),
    /// A network interface of Linux's SocketCAN.
    Can(String),
}

impl fmt::Display for Place {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tcp(address) => write!(formatter, "tcp:{address}"),
            Self::Serial(path) => formatter.write_str(path),
            Self::Can(interface) => write!(formatter, "can:{interface}"),
        }
    }
}

impl FromStr for Place {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if let Some(address) = text.strip_prefix("tcp:") {
            return match address.rsplit_once(':') {
                Some((host, port)) if !host.is_empty() && port.parse::<u16>().is_ok() => {
                    Ok(Self::Tcp(address.to_owned()))
                }
                _ => Err("expected host and port, as in tcp:127.0.0.1:29536".into()),
            };
        }
        if let Some(interface) = text.strip_prefix("can:").filter(|interface| !interface.is_empty()) {
            return Ok(Self::Can(interface.to_owned()));
        }
        if text.starts_with('/') {
            return Ok(Self::Serial(text.to_owned()));
        }
        Err("expected tcp:HOST:PORT, a serial device such as /dev/ttyACM0, or can:INTERFACE".into())
    }
}

impl Place {
    /// Opens it; the bus is at 250 kbit/s as SAE J1939-11 wants.
    ///
    /// # Errors
    /// When nothing answers there, or this system has no such kind of place.
    pub fn open(&self) -> io::Result<Box<dyn Port>> {
        match self {
            Self::Tcp(address) => {
                let stream = connected(address)?;
                Ok(Box::new(LinePort::open(stream)?))
            }
            Self::Serial(path) => serial(path),
            Self::Can(interface) => can(interface),
        }
    }
}

fn connected(address: &str) -> io::Result<TcpStream> {
    use std::net::ToSocketAddrs;
    let mut last = io::Error::new(io::ErrorKind::NotFound, "no such host");
    for resolved in address.to_socket_addrs()? {
        match TcpStream::connect_timeout(&resolved, PATIENCE) {
            Ok(stream) => {
                stream.set_nodelay(true)?;
                return Ok(stream);
            }
            Err(error) => last = error,
        }
    }
    Err(last)
}

/// A stream whose reads end after a time without anything.
pub trait TimedStream: Read + Write + Send {
    /// Sets that time; it is never zero.
    ///
    /// # Errors
    /// When the system refuses.
    fn wait_at_most(&mut self, wait: Duration) -> io::Result<()>;
}

impl TimedStream for TcpStream {
    fn wait_at_most(&mut self, wait: Duration) -> io::Result<()> {
        self.set_read_timeout(Some(wait))
    }
}

/// Lines of a serial adaptor over a stream.
#[derive(Debug)]
pub struct LinePort<S> {
    stream: S,
    lines: Lines,
    waiting: std::collections::VecDeque<Line>,
}

impl<S: TimedStream> LinePort<S> {
    /// Closes what an earlier tool may have left open, sets the rate and opens.
    ///
    /// # Errors
    /// When the adaptor does not answer.
    pub fn open(stream: S) -> io::Result<Self> {
        let mut port = Self { stream, lines: Lines::default(), waiting: Default::default() };
        // S5 is 250 kbit/s.
        port.stream.write_all(b"C\rS5\rO\r")?;
        let mut answers = 0;
        let began = Instant::now();
        while answers < 3 {
            if began.elapsed() > PATIENCE {
                let what = "something is there, but it does not answer as a CAN adaptor";
                return Err(io::Error::new(io::ErrorKind::TimedOut, what));
            }
            port.fill(Duration::from_millis(50))?;
            // An answer is an empty line; a bell stands in front of what is refused, and a closed adaptor may refuse.
            let before = port.waiting.len();
            port.waiting.retain(|line| matches!(line, Line::Frame(_)));
            answers += before - port.waiting.len();
        }
        Ok(port)
    }

    fn fill(&mut self, wait: Duration) -> io::Result<()> {
        let mut bytes = [0; 4096];
        self.stream.wait_at_most(wait.max(Duration::from_micros(100)))?;
        match self.stream.read(&mut bytes) {
            Ok(0) => {
                Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the adaptor has closed the connection"))
            }
            Ok(count) => {
                // A refusal is a bell without an end of line: it is made a line of its own.
                for piece in bytes.get(..count).unwrap_or_default().split_inclusive(|byte| *byte == 7) {
                    match piece.split_last() {
                        Some((7, rest)) => {
                            self.waiting.extend(self.lines.take(rest));
                            self.waiting.push_back(Line::Unknown);
                        }
                        _ => self.waiting.extend(self.lines.take(piece)),
                    }
                }
                Ok(())
            }
            Err(error) if matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut) => {
                Ok(())
            }
            Err(error) => Err(error),
        }
    }
}

impl<S: TimedStream> Port for LinePort<S> {
    fn send(&mut self, frame: &Frame) -> io::Result<()> {
        self.stream.write_all(written(frame).as_bytes())
    }

    fn receive(&mut self, wait: Duration) -> io::Result<Option<Frame>> {
        let until = Instant::now() + wait;
        loop {
            while let Some(line) = self.waiting.pop_front() {
                if let Line::Frame(frame) = line {
                    return Ok(Some(frame));
                }
            }
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return Ok(None);
            }
            self.fill(left)?;
        }
    }
}

#[cfg(unix)]
fn serial(path: &str) -> io::Result<Box<dyn Port>> {
    Ok(Box::new(LinePort::open(tty::Tty::open(path)?)?))
}

#[cfg(not(unix))]
fn serial(_: &str) -> io::Result<Box<dyn Port>> {
    Err(io::Error::new(io::ErrorKind::Unsupported, "serial adaptors are spoken to on Unix only; use tcp:"))
}

#[cfg(target_os = "linux")]
fn can(interface: &str) -> io::Result<Box<dyn Port>> {
    Ok(Box::new(socket::CanSocketPort::open(interface)?))
}

#[cfg(not(target_os = "linux"))]
fn can(_: &str) -> io::Result<Box<dyn Port>> {
    Err(io::Error::new(
        io::ErrorKind::Unsupported,
        "SocketCAN is part of Linux; use tcp: or a serial adaptor",
    ))
}

#[cfg(target_os = "linux")]
mod socket;
#[cfg(unix)]
mod tty;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_and_a_wrong_one_is_told_what_was_expected() {
        for text in ["tcp:127.0.0.1:29536", "/dev/ttyACM0", "can:can0"] {
            assert_eq!(text.parse::<Place>().unwrap().to_string(), text);
        }
        for text in ["tcp:29536", "tcp:host:port", "can:", "COM3", ""] {
            assert!(text.parse::<Place>().unwrap_err().contains("expected"), "{text}");
        }
    }

    /// Gives what it was told to, piece by piece.
    struct Scripted(Vec<Vec<u8>>, Vec<u8>);

    impl Read for Scripted {
        fn read(&mut self, room: &mut [u8]) -> io::Result<usize> {
            if self.0.is_empty() {
                return Err(io::ErrorKind::WouldBlock.into());
            }
            let piece = self.0.remove(0);
            room[..piece.len()].copy_from_slice(&piece);
            Ok(piece.len())
        }
    }

    impl Write for Scripted {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.1.extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    impl TimedStream for Scripted {
        fn wait_at_most(&mut self, _: Duration) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn an_adaptor_that_refuses_to_close_is_opened_and_frames_among_its_answers_are_kept() {
        // An adaptor that was closed already answers C with a bell.
        let pieces = [&b"\x07\r"[..], b"t1230\r\r", b"t12", b"41AA\r"].map(<[u8]>::to_vec).to_vec();
        let mut port = LinePort::open(Scripted(pieces, Vec::new())).unwrap();
        assert_eq!(port.stream.1, b"C\rS5\rO\r");
        let mut next = || port.receive(Duration::from_millis(1)).unwrap().map(|frame| frame.bytes().to_vec());
        assert_eq!((next(), next(), next()), (Some(vec![]), Some(vec![0xAA]), None));
    }
}
