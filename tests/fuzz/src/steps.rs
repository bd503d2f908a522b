//! Bytes as a sequence of choices.

use embedded_can::{ExtendedId, Id, StandardId};
use trunnion_can::frame::Frame;

/// Gives bytes away, zeros at the end.
#[derive(Debug)]
pub struct Steps<'a> {
    rest: &'a [u8],
}

impl<'a> Steps<'a> {
    /// From an input.
    pub const fn new(bytes: &'a [u8]) -> Self {
        Self { rest: bytes }
    }

    /// True when there is nothing more.
    pub const fn is_empty(&self) -> bool {
        self.rest.is_empty()
    }

    /// The next byte.
    pub fn byte(&mut self) -> u8 {
        match self.rest.split_first() {
            Some((byte, rest)) => {
                self.rest = rest;
                *byte
            }
            None => 0,
        }
    }

    /// The next `N` bytes.
    pub fn bytes<const N: usize>(&mut self) -> [u8; N] {
        std::array::from_fn(|_| self.byte())
    }

    /// As many bytes as asked, fewer at the end.
    pub fn some(&mut self, count: usize) -> &'a [u8] {
        let (some, rest) = self.rest.split_at(count.min(self.rest.len()));
        self.rest = rest;
        some
    }

    /// A frame: under one of the identifiers that somebody listens to, mostly, else under any.
    pub fn frame(&mut self, known: &[u32]) -> Frame {
        let choice = self.byte();
        let id = match choice {
            0xF0..=0xF7 => Id::Extended(
                ExtendedId::new(u32::from_le_bytes(self.bytes()) & 0x1FFF_FFFF).unwrap_or(ExtendedId::ZERO),
            ),
            0xF8.. => Id::Standard(StandardId::new(u16::from(self.byte()) * 8).unwrap_or(StandardId::ZERO)),
            _ => {
                let raw = known.get(usize::from(choice) % known.len().max(1)).copied().unwrap_or(0);
                Id::Extended(ExtendedId::new(raw & 0x1FFF_FFFF).unwrap_or(ExtendedId::ZERO))
            }
        };
        let data: [u8; 8] = self.bytes();
        let length = usize::from(self.byte() & 0x0F).min(8);
        // Mostly whole frames: a short one is rare on this bus.
        let length = if length < 4 { 8 - length } else { 8 };
        Frame::with_bytes(id, &data[..length]).expect("up to eight bytes")
    }
}
