//! 32 contacts without their bounces, their times in `f32`.

use crate::float::sense::debounce::Debounce;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::debounce_bank::Block;

/// A contact a channel.
pub struct Twin {
    contacts: [Debounce; 32],
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = u32;
    type Output = u32;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        let mut contacts = [Debounce::with(30.0, 30.0); 32];
        for contact in contacts.iter_mut().take(16) {
            *contact = Debounce::with(50.0, 700.0);
        }
        Self { contacts }
    }

    fn input(words: &Words) -> u32 {
        words[0].cast_unsigned()
    }

    fn step(&mut self, levels: &u32) -> u32 {
        let mut state = 0;
        for (channel, contact) in (0_u32..).zip(&mut self.contacts) {
            let mask = 1_u32.wrapping_shl(channel);
            if contact.step(levels & mask != 0) {
                state |= mask;
            }
        }
        state
    }

    fn output(state: &u32, into: &mut [f32; WORDS]) -> usize {
        // A float holds 24 bits.
        into[0] = (state & 0xFFFF) as f32;
        into[1] = state.wrapping_shr(16) as f32;
        2
    }
}
