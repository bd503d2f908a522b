//! A part of a long series of bytes that is made anew each time it is read.

use serde::Serialize;

use crate::state_bytes;

/// Takes what falls into it and lets the rest pass.
pub(super) struct Window<'a> {
    /// Bytes still to pass before it begins.
    before: u32,
    out: &'a mut [u8],
    filled: usize,
}

impl<'a> Window<'a> {
    pub fn new(place: u32, out: &'a mut [u8]) -> Self {
        Self { before: place, out, filled: 0 }
    }

    pub const fn is_full(&self) -> bool {
        self.filled >= self.out.len()
    }

    /// Never inlined: a state is shown in as many calls as it has numbers.
    #[inline(never)]
    pub fn show(&mut self, bytes: &[u8]) {
        let length = bytes.len() as u32;
        let passing = self.before.min(length);
        self.before = self.before.saturating_sub(passing);
        bytes.iter().skip(passing as usize).for_each(|byte| self.take(*byte));
    }

    fn take(&mut self, byte: u8) {
        if let Some(place) = self.out.get_mut(self.filled) {
            *place = byte;
            self.filled = self.filled.saturating_add(1);
        }
    }

    pub fn show_state(&mut self, state: &impl Serialize) {
        // A state that cannot be written has no bytes in the header either.
        let _ = state_bytes::write(state, |bytes| self.show(bytes));
    }
}
