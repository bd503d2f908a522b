//! A network interface of Linux's SocketCAN.

use std::io;
use std::time::Duration;

use socketcan::{CanFrame, CanSocket, EmbeddedFrame, Socket};
use trunnion_can::frame::Frame;

use super::Port;

/// A socket on the interface.
#[derive(Debug)]
pub(super) struct CanSocketPort(CanSocket);

impl CanSocketPort {
    pub fn open(interface: &str) -> io::Result<Self> {
        CanSocket::open(interface).map(Self)
    }
}

impl Port for CanSocketPort {
    fn send(&mut self, frame: &Frame) -> io::Result<()> {
        let frame = CanFrame::new(frame.id(), frame.bytes())
            .ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "a frame has at most eight bytes"))?;
        self.0.write_frame(&frame)
    }

    fn receive(&mut self, wait: Duration) -> io::Result<Option<Frame>> {
        match self.0.read_frame_timeout(wait) {
            Ok(CanFrame::Data(frame)) => Ok(Frame::new(frame.id(), frame.data())),
            // Remote and error frames are none of ours.
            Ok(_) => Ok(None),
            Err(error) if matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut) => {
                Ok(None)
            }
            Err(error) => Err(error),
        }
    }
}
