//! A hasher that leaves out of a state what no longer matters.

use std::hash::Hasher;

/// Which states are taken for one.
#[derive(Debug, Clone, Copy)]
pub struct Merge {
    /// Counts above this are alike; `u32::MAX` for none.
    pub counts_above: u32,
    /// Counts of one byte above this are alike; `u8::MAX` for none.
    pub bytes_above: u8,
    /// Positions of four bytes with a sign, of which only differences matter, are left out.
    pub positions: bool,
    /// Free-running counters of hardware, of which only differences matter, are left out: of two bytes, and of four bytes from
    /// [`LEAST_STAMP`] on.
    pub stamps: bool,
}

/// Numbers from here on are no counts of steps: a period in microseconds, a time stamp.
pub const LEAST_STAMP: u32 = 1_000;

impl Merge {
    /// Nothing is left out.
    pub const NOTHING: Self =
        Self { counts_above: u32::MAX, bytes_above: u8::MAX, positions: false, stamps: false };
    /// Counts above 12 are alike; no limit that is walked is above 6.
    pub const COUNTS: Self = Self { counts_above: 12, ..Self::NOTHING };
}

/// Hands on to another hasher what is left.
pub struct Clipped<'a, H> {
    inner: &'a mut H,
    merge: Merge,
}

impl<'a, H: Hasher> Clipped<'a, H> {
    /// In front of another hasher.
    pub fn new(inner: &'a mut H, merge: Merge) -> Self {
        Self { inner, merge }
    }
}

impl<H: Hasher> Hasher for Clipped<'_, H> {
    fn finish(&self) -> u64 {
        self.inner.finish()
    }

    fn write(&mut self, bytes: &[u8]) {
        self.inner.write(bytes);
    }

    fn write_u8(&mut self, value: u8) {
        self.inner.write_u8(value.min(self.merge.bytes_above.saturating_add(1)));
    }

    fn write_u16(&mut self, value: u16) {
        if !self.merge.stamps {
            self.inner.write_u16(value);
        }
    }

    fn write_u32(&mut self, value: u32) {
        if value < LEAST_STAMP {
            self.inner.write_u32(value.min(self.merge.counts_above.saturating_add(1)));
        } else if !self.merge.stamps {
            self.inner.write_u32(value);
        }
    }

    fn write_i32(&mut self, value: i32) {
        if !self.merge.positions {
            self.inner.write_i32(value);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::hash::{DefaultHasher, Hash};

    use super::*;

    fn hash(value: impl Hash, merge: Merge) -> u64 {
        let mut inner = DefaultHasher::new();
        value.hash(&mut Clipped::new(&mut inner, merge));
        inner.finish()
    }

    #[test]
    fn counts_beyond_the_limit_fall_together_and_others_do_not() {
        let of = |count: u32| hash((count, 100_000_u32, true), Merge::COUNTS);
        assert_eq!(of(13), of(99));
        assert_ne!(of(12), of(13));
    }

    #[test]
    fn nothing_is_left_out_where_nothing_is_to_be() {
        assert_ne!(
            hash((13_u32, 1_i32, 7_u16), Merge::NOTHING),
            hash((14_u32, 1_i32, 7_u16), Merge::NOTHING)
        );
    }
}
