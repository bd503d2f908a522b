//! Challenge and code: how a level is unlocked.
//!
//! A challenge is made of noise from the hardware and of a number that is stored with each start, so that none comes
//! twice. The code that belongs to it is computed outside of the control step, with a key of this unit; a unit without
//! a key cannot be unlocked. The number of wrong codes is in flash before the answer is given; from the third one on,
//! each doubles the lock-out, and a restart does not shorten it.

use trunnion::quantity::{Millis, Period};

use crate::level::Level;

/// Bytes of challenge and code.
pub const CODE_BYTES: usize = 16;
/// Wrong codes that are free of a lock-out.
const FREE_ATTEMPTS: u32 = 2;
/// The first lock-out; each further wrong code doubles it.
const FIRST_LOCK_OUT: Millis = Millis::from_ticks(10_000);
/// It is doubled at most this often: about 2 h 50 min.
const MOST_DOUBLINGS: u32 = 10;

/// What a server knows of access when it starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AccessBoot {
    /// Wrong codes since the last right one, from flash; the largest number when it is damaged.
    pub attempts: u32,
    /// Number of this start, from flash, stored before the machine runs.
    pub start: u32,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Challenge {
    level: Level,
    bytes: [u8; CODE_BYTES],
}

/// Access of one server.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct AccessControl {
    unlocked: Level,
    challenge: Option<Challenge>,
    attempts: u32,
    /// Periods until the next seed may be asked for.
    lock_out: u32,
    start: u32,
    given: u32,
    pool: u64,
    period: Period,
}

impl AccessControl {
    pub fn new(boot: AccessBoot, period: Period) -> Self {
        let mut access = Self {
            unlocked: Level::Locked,
            challenge: None,
            attempts: boot.attempts,
            lock_out: 0,
            start: boot.start,
            given: 0,
            pool: u64::from(boot.start),
            period,
        };
        access.lock_out = access.lock_out_of(boot.attempts);
        access
    }

    pub const fn unlocked(&self) -> Level {
        self.unlocked
    }

    /// One period: noise is stirred in, a lock-out runs off.
    pub const fn step(&mut self, entropy: u32) {
        self.pool = stirred(self.pool, entropy as u64);
        self.lock_out = self.lock_out.saturating_sub(1);
    }

    pub const fn lock(&mut self) {
        self.unlocked = Level::Locked;
        self.challenge = None;
    }

    pub const fn is_locked_out(&self) -> bool {
        self.lock_out > 0
    }

    /// A new challenge; an older one is void. All zeros when the level is open already (ISO 14229-1).
    pub fn seed(&mut self, level: Level) -> [u8; CODE_BYTES] {
        if self.unlocked >= level {
            return [0; CODE_BYTES];
        }
        self.given = self.given.wrapping_add(1);
        // The stored number and the count make it unlike any other; the noise makes it hard to guess.
        let high = (u64::from(self.start) << 32) | u64::from(self.given);
        self.pool = stirred(self.pool, high);
        let mut bytes = [0; CODE_BYTES];
        let words = high.to_be_bytes().into_iter().chain(self.pool.to_be_bytes());
        for (place, byte) in bytes.iter_mut().zip(words) {
            *place = byte;
        }
        self.challenge = Some(Challenge { level, bytes });
        bytes
    }

    /// Takes the challenge for the check of a code: it is void from then on, whatever the code is.
    pub fn use_challenge(&mut self, level: Level) -> Option<[u8; CODE_BYTES]> {
        self.challenge.take().filter(|challenge| challenge.level == level).map(|challenge| challenge.bytes)
    }

    /// Counts a code as wrong before it is checked; gives the number to store.
    pub const fn count_attempt(&mut self) -> u32 {
        self.attempts = self.attempts.saturating_add(1);
        self.attempts
    }

    /// The code was right.
    pub const fn open(&mut self, level: Level) {
        self.unlocked = level;
        self.attempts = 0;
    }

    /// The code was wrong: true when a lock-out begins.
    pub fn fail(&mut self) -> bool {
        self.unlocked = Level::Locked;
        self.lock_out = self.lock_out_of(self.attempts);
        self.lock_out > 0
    }

    fn lock_out_of(&self, attempts: u32) -> u32 {
        let over = attempts.saturating_sub(FREE_ATTEMPTS);
        if over == 0 {
            return 0;
        }
        let doublings = over.saturating_sub(1).min(MOST_DOUBLINGS);
        let millis = FIRST_LOCK_OUT.ticks().saturating_mul(1_u32.wrapping_shl(doublings));
        self.period.steps(Millis::from_ticks(millis))
    }
}

/// One round of a 64-bit mixer: every bit of what goes in reaches every bit of the pool (the finaliser of SplitMix64,
/// Steele, Lea, Flood 2014).
const fn stirred(pool: u64, bits: u64) -> u64 {
    let mut word = (pool ^ bits).wrapping_add(0x9E37_79B9_7F4A_7C15);
    word = (word ^ (word >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    word = (word ^ (word >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    word ^ (word >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::HashSet;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    #[test]
    fn lock_outs_double_and_end() {
        let access = AccessControl::new(AccessBoot::default(), TICK);
        let steps: std::vec::Vec<u32> = (0..6).map(|attempts| access.lock_out_of(attempts)).collect();
        assert_eq!(steps, [0, 0, 0, 1_000, 2_000, 4_000]);
        assert_eq!(access.lock_out_of(u32::MAX), 1_024_000);
        assert!(AccessControl::new(AccessBoot { attempts: 3, start: 1 }, TICK).is_locked_out());
    }

    #[test]
    fn no_challenge_comes_twice_over_many_starts_even_without_noise() {
        let mut seen = HashSet::new();
        for start in 1..200 {
            let mut access = AccessControl::new(AccessBoot { attempts: 0, start }, TICK);
            for _ in 0..50 {
                access.step(0);
                assert!(seen.insert(access.seed(Level::Tune)), "start {start}");
            }
        }
    }

    proptest! {
        #[test]
        fn a_challenge_serves_one_code_of_its_own_level(entropy: u32, tune: bool, asked_tune: bool) {
            let level = |tune| if tune { Level::Tune } else { Level::Safety };
            let mut access = AccessControl::new(AccessBoot::default(), TICK);
            access.step(entropy);
            let seed = access.seed(level(tune));
            let used = access.use_challenge(level(asked_tune));
            prop_assert_eq!(used, (tune == asked_tune).then_some(seed));
            prop_assert_eq!(access.use_challenge(level(tune)), None);
        }
    }
}
