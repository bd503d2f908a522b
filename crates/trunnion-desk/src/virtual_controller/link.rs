//! Messages over the board's serial port.

use std::io::{self, Read, Write};
use std::os::unix::net::UnixStream;
use std::time::{Duration, Instant};

use trunnion_board::frame::{self, DELIMITER, Damage, Receiver};

use super::VirtualControllerError;
use super::answer_log::AnswerLog;
use super::emulator::Emulator;

/// How long an answer may take.
const ANSWER_TIME: Duration = Duration::from_secs(5);

/// How often a silent emulator is looked after.
const LOOK_TIME: Duration = Duration::from_millis(100);

/// The wire to the board.
pub(super) struct Link {
    stream: UnixStream,
    receiver: Box<Receiver>,
    message: Vec<u8>,
    /// Bytes that were read and not yet taken.
    read: Vec<u8>,
    taken: usize,
    bytes_sent: u64,
    bytes_received: u64,
}

impl Link {
    pub fn new(stream: UnixStream) -> Self {
        Self {
            stream,
            receiver: Box::new(Receiver::new()),
            message: Vec::new(),
            read: Vec::new(),
            taken: 0,
            bytes_sent: 0,
            bytes_received: 0,
        }
    }

    pub fn reset_counts(&mut self) {
        self.bytes_sent = 0;
        self.bytes_received = 0;
    }

    pub fn bytes_sent(&self) -> u64 {
        self.bytes_sent
    }

    pub fn bytes_received(&self) -> u64 {
        self.bytes_received
    }

    /// Sends one message. The delimiter goes twice: the emulator's multiplexer takes the first as its escape
    /// byte, and on a plain line the second only ends an empty frame.
    pub fn send(&mut self, message: &[u8]) -> io::Result<()> {
        let mut wire = Vec::with_capacity(message.len() + 8);
        frame::send(message, |byte| wire.push(byte));
        wire.push(DELIMITER);
        self.bytes_sent += wire.len() as u64;
        self.stream.write_all(&wire)
    }

    /// Waits for one message, and reads the log meanwhile so that the board never has to wait for us.
    pub fn receive(
        &mut self,
        request: &str,
        log: &mut AnswerLog,
        emulator: &mut Emulator,
    ) -> Result<&[u8], VirtualControllerError> {
        let deadline = Instant::now() + ANSWER_TIME;
        while !self.take_message(request)? {
            self.read_more(log, emulator, deadline, request)?;
        }
        log.read();
        Ok(&self.message)
    }

    /// Takes the bytes that were read up to the end of a message; true when there is one.
    fn take_message(&mut self, request: &str) -> Result<bool, VirtualControllerError> {
        while let Some(byte) = self.read.get(self.taken) {
            self.taken += 1;
            match self.receiver.take(*byte) {
                None => {}
                Some(Ok(message)) => {
                    self.message.clear();
                    self.message.extend_from_slice(message);
                    return Ok(true);
                }
                Some(Err(damage)) => return Err(damaged(request, damage)),
            }
        }
        Ok(false)
    }

    fn read_more(
        &mut self,
        log: &mut AnswerLog,
        emulator: &mut Emulator,
        deadline: Instant,
        request: &str,
    ) -> Result<(), VirtualControllerError> {
        self.read.resize(4096, 0);
        self.taken = 0;
        let read = loop {
            let read =
                self.stream.set_read_timeout(Some(LOOK_TIME)).and_then(|()| self.stream.read(&mut self.read));
            match read {
                Ok(0) => {
                    self.read.clear();
                    return Err(emulator.broken_link(io::ErrorKind::UnexpectedEof.into()));
                }
                Ok(read) => break read,
                Err(error) if is_timeout(&error) => {}
                Err(error) => return Err(emulator.broken_link(error)),
            }
            log.read();
            if let Some(ended) = emulator.ended() {
                return Err(ended);
            }
            if Instant::now() > deadline {
                self.read.clear();
                return Err(emulator.no_answer(request, ANSWER_TIME));
            }
        };
        self.read.truncate(read);
        self.bytes_received += read as u64;
        Ok(())
    }
}

fn is_timeout(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut | io::ErrorKind::Interrupted)
}

fn damaged(request: &str, damage: Damage) -> VirtualControllerError {
    let what = match damage {
        Damage::TooLong => "it is longer than any message",
        Damage::TooShort => "it is cut off",
        Damage::CheckSum => "its check sum is wrong",
    };
    VirtualControllerError::Damaged { request: request.to_owned(), what }
}
