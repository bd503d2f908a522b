//! The eight bytes of a connection management frame.

use super::announcement::{AbortReason, Announcement};

/// A connection management frame: what it says, and of which group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Control {
    /// Asks one address to let a message be sent to it; the sender bears at most `window` packets at once.
    RequestToSend { message: Announcement, window: u8 },
    /// Lets packets `next` and on be sent, `packets` of them; none: wait.
    ClearToSend { pgn: u32, packets: u8, next: u8 },
    /// All has come.
    EndOfMessage { message: Announcement },
    /// A message to all follows.
    Broadcast { message: Announcement },
    /// Gives the connection up.
    Abort { pgn: u32, reason: AbortReason },
}

impl Control {
    /// `None` for what is none of the five, and for a size or packet number that contradicts itself.
    pub fn parse(bytes: &[u8; 8]) -> Option<Self> {
        let [kind, first, second, third, fourth, low, middle, high] = *bytes;
        let pgn = u32::from_le_bytes([low, middle, high, 0]);
        if pgn > 0x3_FFFF {
            return None;
        }
        let announced =
            || Announcement::new(pgn, u16::from_le_bytes([first, second])).filter(|it| it.packets() == third);
        match kind {
            16 => Some(Self::RequestToSend { message: announced()?, window: fourth }),
            17 => Some(Self::ClearToSend { pgn, packets: first, next: second }),
            19 => Some(Self::EndOfMessage { message: announced()? }),
            32 => Some(Self::Broadcast { message: announced()? }),
            255 => Some(Self::Abort { pgn, reason: AbortReason::from_wire(first) }),
            _ => None,
        }
    }

    /// As it is sent.
    pub fn emit(self) -> [u8; 8] {
        let announced = |kind: u8, message: Announcement, last: u8| {
            let [low, high] = message.size().to_le_bytes();
            (message.pgn, [kind, low, high, message.packets(), last])
        };
        let (pgn, [kind, first, second, third, fourth]) = match self {
            Self::RequestToSend { message, window } => announced(16, message, window),
            Self::ClearToSend { pgn, packets, next } => (pgn, [17, packets, next, 0xFF, 0xFF]),
            Self::EndOfMessage { message } => announced(19, message, 0xFF),
            Self::Broadcast { message } => announced(32, message, 0xFF),
            Self::Abort { pgn, reason } => (pgn, [255, reason as u8, 0xFF, 0xFF, 0xFF]),
        };
        let [low, middle, high, _] = pgn.to_le_bytes();
        [kind, first, second, third, fourth, low, middle, high]
    }
}
