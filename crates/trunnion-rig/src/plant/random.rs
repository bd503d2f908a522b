//! The only source of chance in a plant: a small generator with an explicit seed.
//!
//! SplitMix64: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators",
//! OOPSLA 2014; constants as in S. Vigna's public-domain `splitmix64.c` (from memory). Period 2⁶⁴. It is
//! good enough to bounce contacts and scatter noise edges, and it is not for secrets.

/// A seeded stream of numbers; equal seeds give equal streams on every platform.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SplitMix64 {
    state: u64,
}

impl SplitMix64 {
    /// A stream from a seed. Every seed is a good one, zero included.
    pub const fn new(seed: u64) -> Self {
        SplitMix64 { state: seed }
    }

    /// A stream of its own for a named part, so that adding a part leaves the others' streams as they were.
    ///
    /// The name is hashed with FNV-1a (64 bit).
    pub fn for_part(seed: u64, name: &str) -> Self {
        let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x100_0000_01b3)
        });
        SplitMix64 { state: seed ^ hash }
    }

    /// The next 64 bits.
    pub const fn next_u64(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// The next number in [0, 1): 53 bits, every value a multiple of 2⁻⁵³.
    pub const fn next_unit(&mut self) -> f64 {
        (self.next_u64() >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_stream_of_seed_1234567_comes_out() {
        // The values that implementations of SplitMix64 are commonly checked against (from memory).
        let mut random = SplitMix64::new(1_234_567);
        let stream = [(); 5].map(|()| random.next_u64());
        assert_eq!(
            stream,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821
            ]
        );
    }

    #[test]
    fn parts_draw_from_different_streams_and_units_stay_below_one() {
        let mut seat = SplitMix64::for_part(7, "seat");
        let mut bar = SplitMix64::for_part(7, "bar");
        assert_ne!(seat.next_u64(), bar.next_u64());
        let mut sum = 0.0;
        for _ in 0..10_000 {
            let unit = seat.next_unit();
            assert!((0.0..1.0).contains(&unit));
            sum += unit;
        }
        // The mean of 10 000 uniform numbers lies within 0.5 ± 5σ, σ = 1/√(12·10 000).
        assert!((sum / 10_000.0 - 0.5).abs() < 5.0 / 346.4);
    }
}
