//! Putting a request together.

use super::LARGEST_MESSAGE;

/// Where the reception stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum State {
    Idle,
    Coming { tester: u8, size: u16, got: u16, turn: u8, block_left: u8, waited: u32 },
    Whole { tester: u8, size: u16, to_all: bool },
}

/// What a frame asks for in return.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) enum Reply {
    /// Go on with the next block.
    ClearToSend,
    /// The message does not fit.
    Overflow,
}

/// What went wrong with a reception.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Flaw {
    /// A frame out of turn.
    Sequence,
    /// Silence above N_Cr.
    Timeout,
}

#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct Reception<const R: usize> {
    state: State,
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    bytes: [u8; R],
}

impl<const R: usize> Reception<R> {
    pub const fn new() -> Self {
        Self { state: State::Idle, bytes: [0; R] }
    }

    pub const fn reset(&mut self) {
        self.state = State::Idle;
    }

    /// A message in one frame: `length` bytes of `content`. Ends what was coming.
    pub fn single(&mut self, tester: u8, to_all: bool, length: u8, content: &[u8]) {
        let Some(content) = content.get(..usize::from(length)) else { return };
        let busy = matches!(self.state, State::Whole { .. });
        let Some(room) = self.bytes.get_mut(..content.len()).filter(|_| !busy && length > 0) else { return };
        room.iter_mut().zip(content).for_each(|(place, byte)| *place = *byte);
        self.state = State::Whole { tester, size: u16::from(length), to_all };
    }

    /// The first frame of a longer message. `size` 0 stands for a length that 12 bits do not hold.
    pub fn first(&mut self, tester: u8, size: u16, content: &[u8; 6], block: u8) -> Option<Reply> {
        if matches!(self.state, State::Whole { .. }) || (1..8).contains(&size) {
            return None;
        }
        self.state = State::Idle;
        let Some(room) = self.bytes.get_mut(..usize::from(size.min(6))) else { return Some(Reply::Overflow) };
        if size == 0 || size > LARGEST_MESSAGE || usize::from(size) > R {
            return Some(Reply::Overflow);
        }
        room.iter_mut().zip(content).for_each(|(place, byte)| *place = *byte);
        self.state = State::Coming { tester, size, got: 6, turn: 1, block_left: block, waited: 0 };
        Some(Reply::ClearToSend)
    }

    /// A further frame. `block` frames come before the next reply; 0: all.
    pub fn consecutive(
        &mut self,
        from: u8,
        number: u8,
        content: &[u8],
        block: u8,
    ) -> Result<Option<Reply>, Flaw> {
        let State::Coming { tester, size, got, turn, block_left, .. } = self.state else { return Ok(None) };
        if from != tester {
            return Ok(None);
        }
        let wanted = size.saturating_sub(got).min(7);
        let Some(content) = content.get(..usize::from(wanted)).filter(|_| number == turn) else {
            self.state = State::Idle;
            return Err(Flaw::Sequence);
        };
        let end = got.saturating_add(wanted);
        if let Some(room) = self.bytes.get_mut(usize::from(got)..usize::from(end)) {
            room.iter_mut().zip(content).for_each(|(place, byte)| *place = *byte);
        }
        if end == size {
            self.state = State::Whole { tester, size, to_all: false };
            return Ok(None);
        }
        let turn = turn.wrapping_add(1) % 16;
        let last_of_block = block_left == 1;
        let block_left = if last_of_block { block } else { block_left.saturating_sub(1) };
        self.state = State::Coming { tester, size, got: end, turn, block_left, waited: 0 };
        Ok(last_of_block.then_some(Reply::ClearToSend))
    }

    /// One period of waiting, at most `limit` of them.
    pub fn wait(&mut self, limit: u32) -> Result<(), Flaw> {
        if let State::Coming { waited, .. } = &mut self.state {
            *waited = waited.saturating_add(1);
            if *waited > limit {
                self.state = State::Idle;
                return Err(Flaw::Timeout);
            }
        }
        Ok(())
    }

    /// The tester whose message is coming.
    pub const fn coming_from(&self) -> Option<u8> {
        match self.state {
            State::Coming { tester, .. } => Some(tester),
            State::Idle | State::Whole { .. } => None,
        }
    }

    pub fn whole(&self) -> Option<(u8, bool, &[u8])> {
        match self.state {
            State::Whole { tester, size, to_all } => {
                self.bytes.get(..usize::from(size)).map(|bytes| (tester, to_all, bytes))
            }
            State::Idle | State::Coming { .. } => None,
        }
    }

    pub fn release(&mut self) {
        if matches!(self.state, State::Whole { .. }) {
            self.state = State::Idle;
        }
    }
}
