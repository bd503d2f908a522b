//! A part of a long series of bytes that is made anew each time it is read.

use postcard::ser_flavors::{Flavor, Size};
use serde::Serialize;

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

    pub fn show(&mut self, bytes: &[u8]) {
        let length = bytes.len() as u32;
        let passing = self.before.min(length);
        self.before = self.before.saturating_sub(passing);
        for byte in bytes.iter().skip(passing as usize) {
            let Some(place) = self.out.get_mut(self.filled) else { return };
            *place = *byte;
            self.filled = self.filled.saturating_add(1);
        }
    }

    pub fn show_state(&mut self, state: &impl Serialize) {
        // A window refuses nothing.
        let _ = postcard::serialize_with_flavor(state, Shown(self));
    }
}

struct Shown<'w, 'a>(&'w mut Window<'a>);

impl Flavor for Shown<'_, '_> {
    type Output = ();

    fn try_extend(&mut self, data: &[u8]) -> postcard::Result<()> {
        self.0.show(data);
        Ok(())
    }

    fn try_push(&mut self, data: u8) -> postcard::Result<()> {
        self.0.show(&[data]);
        Ok(())
    }

    fn finalize(self) -> postcard::Result<()> {
        Ok(())
    }
}

/// Bytes of a state; 0 for one that cannot be written.
pub(super) fn size(state: &impl Serialize) -> u32 {
    postcard::serialize_with_flavor(state, Size::default()).map_or(0, |size| size as u32)
}
