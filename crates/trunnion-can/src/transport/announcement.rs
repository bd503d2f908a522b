//! What both sides know of a message before its bytes come.

/// Fewest bytes; shorter messages are single frames.
pub const SMALLEST_MESSAGE: u16 = 9;
/// Most bytes: 255 packets of seven.
pub const LARGEST_MESSAGE: u16 = 1785;

/// Why a connection was given up (SAE J1939-21, connection abort; the numbers are from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum AbortReason {
    /// Already in a connection with somebody.
    Busy = 1,
    /// Out of room for a message of this size.
    NoResources = 2,
    /// The other side was silent too long.
    Timeout = 3,
    /// A clear-to-send came while packets were being sent.
    UnexpectedClearToSend = 4,
    /// A packet did not have the number that was its turn.
    BadSequence = 7,
    /// Whatever else the other side gave.
    Other = 250,
}

impl AbortReason {
    pub(super) const fn from_wire(byte: u8) -> Self {
        match byte {
            1 => Self::Busy,
            2 => Self::NoResources,
            3 => Self::Timeout,
            4 => Self::UnexpectedClearToSend,
            7 => Self::BadSequence,
            _ => Self::Other,
        }
    }
}

/// Size and group of an announced message; the number of packets follows from the size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Announcement {
    pub pgn: u32,
    size: u16,
}

impl Announcement {
    /// `None` outside 9 to 1785 bytes.
    pub const fn new(pgn: u32, size: u16) -> Option<Self> {
        if size < SMALLEST_MESSAGE || size > LARGEST_MESSAGE { None } else { Some(Self { pgn, size }) }
    }

    pub const fn size(self) -> u16 {
        self.size
    }

    /// 2 to 255.
    pub const fn packets(self) -> u8 {
        self.size.div_ceil(7) as u8
    }
}

/// Where the bytes of a packet lie in the message; packets are counted from 1.
pub(super) const fn offset(packet: u8) -> u16 {
    (packet.saturating_sub(1) as u16).saturating_mul(7)
}
