//! Streams of inputs that can be repeated.

use trunnion::quantity::Ratio;

/// Marsaglia's xorshift with 32 bits and the shifts 13, 17, 5 (Journal of Statistical Software 8 (14), 2003): small and
/// quick on every core, and repeatable; nothing here asks for more.
#[derive(Debug, Clone)]
pub struct Random {
    state: u32,
}

impl Random {
    /// The stream of a seed. Neighbouring seeds give streams that have nothing in common.
    pub const fn new(seed: u32) -> Self {
        let mixed = seed.wrapping_add(0x9E37_79B9).wrapping_mul(0x85EB_CA6B);
        Self { state: if mixed == 0 { 1 } else { mixed } }
    }

    /// Any 32 bits but all zero.
    pub const fn bits(&mut self) -> u32 {
        let mut bits = self.state;
        bits ^= bits.wrapping_shl(13);
        bits ^= bits.wrapping_shr(17);
        bits ^= bits.wrapping_shl(5);
        self.state = bits;
        bits
    }

    /// From zero to below `end`; zero where `end` is zero.
    pub const fn below(&mut self, end: u32) -> u32 {
        let product = (self.bits() as u64).wrapping_mul(end as u64);
        product.wrapping_shr(32) as u32
    }

    /// From `low` to `high`, both included.
    pub const fn between(&mut self, low: i32, high: i32) -> i32 {
        let span = high.wrapping_sub(low) as u32;
        low.wrapping_add(self.below(span.saturating_add(1)) as i32)
    }

    /// True once in so many times.
    pub const fn once_in(&mut self, times: u32) -> bool {
        self.below(times) == 0
    }

    /// A number that moves as things on a machine move: it rests, creeps, now and then is thrown to anywhere in the
    /// range, to an end of it, or to zero.
    pub const fn moved(&mut self, previous: Option<i32>, low: i32, high: i32) -> i32 {
        let Some(previous) = previous else { return self.between(low, high) };
        match self.below(16) {
            0 => self.between(low, high),
            1 => match self.below(4) {
                0 => low,
                1 => high,
                2 if low <= 0 && high >= 0 => 0,
                _ => self.between(low, high),
            },
            2..=8 => {
                let span = high.wrapping_sub(low) as u32;
                let largest = span.wrapping_shr(6).saturating_add(1) as i32;
                let moved = previous.saturating_add(self.between(largest.wrapping_neg(), largest));
                if moved < low {
                    low
                } else if moved > high {
                    high
                } else {
                    moved
                }
            }
            _ => previous,
        }
    }

    /// A command or share that moves so.
    pub const fn ratio(&mut self, previous: Option<Ratio>) -> Ratio {
        let previous = match previous {
            Some(ratio) => Some(ratio.to_bits()),
            None => None,
        };
        let (low, high) = (Ratio::MINUS_ONE.to_bits(), Ratio::ONE.to_bits());
        Ratio::saturating(self.moved(previous, low, high) as i64)
    }

    /// A level that turns over once in so many steps, on average.
    pub const fn level(&mut self, previous: Option<bool>, turns_in: u32) -> bool {
        match previous {
            Some(level) => level != self.once_in(turns_in),
            None => self.once_in(2),
        }
    }
}
