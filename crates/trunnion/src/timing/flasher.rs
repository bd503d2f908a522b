//! A lamp that is steady, or flashes to be seen.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Time of a [`Flasher`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct FlasherConfig {
    /// How long each half lasts, 50 ms to 5 s; common practice is 500 ms.
    pub half: Millis,
}

/// Why a [`FlasherConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FlasherConfigError {
    /// The half is outside 50 ms to 5 s.
    Half(Millis),
}

impl fmt::Display for FlasherConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Half(given) = self;
        write!(
            formatter,
            "half a flash of {given}: set {} to {}",
            Flasher::SHORTEST_HALF,
            Flasher::LONGEST_HALF
        )
    }
}

impl core::error::Error for FlasherConfigError {}

/// Lit without a break while all is as it should be, else one half lit and one half dark.
///
/// The first half of a flash is lit: the lamp goes out one half after the flashing began, so that nothing shorter shows.
///
#[doc = include_str!("../../docs/timing-flasher.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::timing::{Flasher, FlasherConfig};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let mut lamp = Flasher::new(FlasherConfig { half: Millis::millis(50) }, TICK).unwrap();
/// let lit: Vec<bool> = (0..12).map(|_| lamp.step(true)).collect();
/// assert_eq!(lit.iter().position(|lit| !lit), Some(4));
/// assert_eq!(lit.iter().rposition(|lit| !lit), Some(8));
/// assert!(lamp.step(false));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Flasher {
    half: u32,
    period: Period,
    steps: u32,
    lit: bool,
}

impl Flasher {
    /// Shortest half.
    pub const SHORTEST_HALF: Millis = Millis::millis(50);
    /// Longest half.
    pub const LONGEST_HALF: Millis = Millis::millis(5_000);

    /// Lit. Refuses a time outside its range.
    ///
    /// # Errors
    ///
    /// [`FlasherConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: FlasherConfig, period: Period) -> Result<Self, FlasherConfigError> {
        let given = config.half;
        if given.ticks() < Self::SHORTEST_HALF.ticks() || given.ticks() > Self::LONGEST_HALF.ticks() {
            return Err(FlasherConfigError::Half(given));
        }
        Ok(Self { half: period.steps(given), period, steps: 0, lit: true })
    }

    /// Another time, from the present half on.
    ///
    /// # Errors
    ///
    /// [`FlasherConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: FlasherConfig) -> Result<(), FlasherConfigError> {
        self.half = Self::new(config, self.period)?.half;
        Ok(())
    }

    /// Lit, with a whole half ahead.
    pub fn reset(&mut self) {
        self.steps = 0;
        self.lit = true;
    }

    /// One step: whether the lamp is lit.
    pub fn step(&mut self, flashing: bool) -> bool {
        self.steps = self.steps.saturating_add(1);
        if !flashing {
            self.reset();
        } else if self.steps >= self.half {
            self.steps = 0;
            self.lit = !self.lit;
        }
        self.lit
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const HALF: u32 = 10;

    fn flasher() -> Flasher {
        Flasher::new(FlasherConfig { half: Millis::millis(100) }, TICK).unwrap()
    }

    proptest! {
        #[test]
        fn it_is_lit_while_steady_and_changes_once_a_half_while_flashing(
            segments in proptest::collection::vec((any::<bool>(), 1_u32..50), 1..20)
        ) {
            let mut flasher = flasher();
            let mut flashing_for = 0;
            for (flashing, steps) in segments {
                for _ in 0..steps {
                    flashing_for = if flashing { flashing_for + 1 } else { 0 };
                    prop_assert_eq!(flasher.step(flashing), (flashing_for / HALF).is_multiple_of(2));
                }
            }
        }
    }

    #[test]
    fn a_reset_lights_it_and_another_half_counts_at_once() {
        let mut flasher = flasher();
        for _ in 0..12 {
            flasher.step(true);
        }
        flasher.reset();
        flasher.reconfigure(FlasherConfig { half: Millis::millis(50) }).unwrap();
        let lit: Vec<bool> = (0..5).map(|_| flasher.step(true)).collect();
        assert_eq!(lit, [true, true, true, true, false]);
        let error = flasher.reconfigure(FlasherConfig { half: Millis::millis(40) }).unwrap_err();
        assert_eq!(std::format!("{error}"), "half a flash of 40 ms: set 50 ms to 5000 ms");
    }
}
