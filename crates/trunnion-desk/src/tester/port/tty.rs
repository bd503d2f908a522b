//! A serial adaptor on a terminal device.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Write};
use std::time::Duration;

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::termios::{OptionalActions, SpecialCodeIndex, tcgetattr, tcsetattr};

use super::TimedStream;

/// Rate of the line to the adaptor. Adaptors on USB take any; those with a true serial line mostly this one.
const BITS_A_SECOND: u32 = 115_200;

/// A terminal device that passes every byte as it is.
#[derive(Debug)]
pub(super) struct Tty(File);

impl Tty {
    pub fn open(path: &str) -> io::Result<Self> {
        let file = OpenOptions::new().read(true).write(true).open(path)?;
        let mut line = tcgetattr(&file)?;
        line.make_raw();
        line.set_speed(BITS_A_SECOND)?;
        // A read never waits: `wait_at_most` does.
        line.special_codes[SpecialCodeIndex::VMIN] = 0;
        line.special_codes[SpecialCodeIndex::VTIME] = 0;
        tcsetattr(&file, OptionalActions::Flush, &line)?;
        Ok(Self(file))
    }
}

impl Read for Tty {
    fn read(&mut self, room: &mut [u8]) -> io::Result<usize> {
        match self.0.read(room)? {
            // Nothing came in time; a device that is gone gives an error instead.
            0 => Err(io::ErrorKind::WouldBlock.into()),
            count => Ok(count),
        }
    }
}

impl Write for Tty {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

impl TimedStream for Tty {
    fn wait_at_most(&mut self, wait: Duration) -> io::Result<()> {
        let time = Timespec { tv_sec: wait.as_secs() as i64, tv_nsec: wait.subsec_nanos().into() };
        poll(&mut [PollFd::new(&self.0, PollFlags::IN)], Some(&time))?;
        Ok(())
    }
}
