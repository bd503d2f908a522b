//! 32 contacts without their bounces.

use trunnion::sense::{DebounceBank, DebounceConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// 32 contacts: the first half closed after 50 ms and open after 700 ms, as a seat; the others after 30 ms, as buttons.
pub struct Block(DebounceBank<32>);

impl Subject for Block {
    const NAME: &'static str = "sense/debounce_bank";
    /// The levels, channel 0 in the lowest bit.
    type Input = u32;
    type Output = u32;

    fn new() -> Self {
        let seat = DebounceConfig { set_after: millis(50), clear_after: millis(700) };
        let button = DebounceConfig { set_after: millis(30), clear_after: millis(30) };
        let mut configs = [button; 32];
        for config in configs.iter_mut().take(16) {
            *config = seat;
        }
        Self(started!(DebounceBank::new(configs, TICK)))
    }

    /// Mostly all rest; now and then one moves, or one bounces; seldom all of them.
    fn input(random: &mut Random, previous: Option<&u32>) -> u32 {
        let Some(levels) = previous.copied() else { return random.bits() };
        match random.below(128) {
            0..24 => levels ^ 1_u32.wrapping_shl(random.below(32)),
            24 => levels ^ (random.bits() & random.bits() & random.bits()),
            25 if random.once_in(8) => random.bits(),
            _ => levels,
        }
    }

    fn step(&mut self, levels: &u32) -> u32 {
        self.0.step(*levels)
    }

    fn input_words(levels: &u32, into: &mut Words) -> usize {
        into[0] = levels.cast_signed();
        1
    }

    /// Two halves: a float, which the one twin gives, holds 24 bits.
    fn output_words(levels: &u32, into: &mut Words) -> usize {
        into[0] = (levels & 0xFFFF).cast_signed();
        into[1] = levels.wrapping_shr(16).cast_signed();
        2
    }
}
