//! Two opposite coils of one spool: never both.

use core::fmt;

use crate::quantity::{Milliamps, Millis, Period};

/// When the opposite coil may be driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PairExclusionConfig {
    /// A coil counts as released at or below this measured current: below the threshold current of its valve
    /// and above the noise of its measurement. 1 mA to 1 A.
    pub released: Milliamps,
    /// How long a coil must be released before the opposite one may be driven, up to 1 s.
    pub pause: Millis,
}

/// Why a [`PairExclusionConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PairExclusionConfigError {
    /// The released current is zero or above 1 A.
    Released(Milliamps),
    /// The pause is above 1 s.
    Pause(Millis),
}

impl fmt::Display for PairExclusionConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Released(given) => write!(f, "released current {} mA is outside 1 to 1000 mA", given.raw()),
            Self::Pause(given) => write!(f, "pause between opposite coils {given} is above 1000 ms"),
        }
    }
}

impl core::error::Error for PairExclusionConfigError {}

/// Lets a set-point pass to one coil of a pair only when the other is neither driven nor carrying current.
///
/// When both are asked for, neither is driven. After one was driven the other has to wait until the measured
/// current of the first has been at or below the released current for the pause, and stays away as long as it
/// never is: a coil that does not let go is for [`CoilMonitor`](super::CoilMonitor) to tell. A running coil is
/// stopped when the opposite one carries current for the pause.
///
#[doc = include_str!("../../docs/valve-pair_exclusion.svg")]
///
/// ```
/// use trunnion::quantity::{Milliamps, Millis, Period};
/// use trunnion::valve::{PairExclusion, PairExclusionConfig};
///
/// let config = PairExclusionConfig { released: Milliamps::new(50).unwrap(), pause: Millis::millis(2) };
/// let mut spool = PairExclusion::new(config, Period::from_micros(1_000).unwrap())?;
/// let (none, some) = (Milliamps::ZERO, Milliamps::new(500).unwrap());
/// for _ in 0..3 {
///     spool.step(some, none, some, none); // raising
/// }
/// assert_eq!(spool.step(none, some, some, none), (none, none)); // lower asked, raise still carries current
/// assert_eq!(spool.step(none, some, none, none), (none, none)); // released, pause
/// assert_eq!(spool.step(none, some, none, none), (none, some)); // lowering
/// # Ok::<(), trunnion::valve::PairExclusionConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PairExclusion {
    released: Milliamps,
    pause: u32,
    period: Period,
    a: Release,
    b: Release,
}

/// For how long one coil has been released.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Release {
    steps: u32,
    lasting: bool,
    /// Driven in the last step: what was measured of it may still have been rising.
    driven: bool,
}

impl PairExclusion {
    const LARGEST_RELEASED: u16 = 1_000;
    const LONGEST_PAUSE: u32 = 1_000;

    /// Checks the config; both coils start as not yet released.
    ///
    /// # Errors
    ///
    /// [`PairExclusionConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: PairExclusionConfig, period: Period) -> Result<Self, PairExclusionConfigError> {
        if config.released.raw() == 0 || config.released.raw() > Self::LARGEST_RELEASED {
            return Err(PairExclusionConfigError::Released(config.released));
        }
        if config.pause.ticks() > Self::LONGEST_PAUSE {
            return Err(PairExclusionConfigError::Pause(config.pause));
        }
        let steps = period.steps(config.pause);
        let pause = if steps == 0 { 1 } else { steps };
        Ok(Self { released: config.released, pause, period, a: Release::NOT_YET, b: Release::NOT_YET })
    }

    /// Takes another config, or refuses it and keeps the present one. What is known of both coils stays: a running coil
    /// goes on.
    ///
    /// # Errors
    ///
    /// [`PairExclusionConfigError`], as for `new`; everything then stays as it was.
    pub const fn reconfigure(&mut self, config: PairExclusionConfig) -> Result<(), PairExclusionConfigError> {
        match Self::new(config, self.period) {
            Ok(Self { released, pause, .. }) => {
                self.released = released;
                self.pause = pause;
                Ok(())
            }
            Err(error) => Err(error),
        }
    }

    /// Both coils have to be released anew.
    pub const fn reset(&mut self) {
        self.a = Release::NOT_YET;
        self.b = Release::NOT_YET;
    }

    /// The set-points that may pass: at most one of them is not zero.
    pub fn step(
        &mut self,
        set_a: Milliamps,
        set_b: Milliamps,
        measured_a: Milliamps,
        measured_b: Milliamps,
    ) -> (Milliamps, Milliamps) {
        self.a.measure(measured_a <= self.released, self.pause);
        self.b.measure(measured_b <= self.released, self.pause);
        let both_asked = set_a != Milliamps::ZERO && set_b != Milliamps::ZERO;
        if both_asked {
            return (Milliamps::ZERO, Milliamps::ZERO);
        }
        if set_a != Milliamps::ZERO && self.b.lasting {
            self.a = Release::DRIVEN;
            return (set_a, Milliamps::ZERO);
        }
        if set_b != Milliamps::ZERO && self.a.lasting {
            self.b = Release::DRIVEN;
            return (Milliamps::ZERO, set_b);
        }
        (Milliamps::ZERO, Milliamps::ZERO)
    }
}

impl Release {
    const NOT_YET: Self = Self { steps: 0, lasting: false, driven: false };
    const DRIVEN: Self = Self { driven: true, ..Self::NOT_YET };

    /// Both ways the change has to last for the pause.
    fn measure(&mut self, released: bool, pause: u32) {
        let released = released && !self.driven;
        self.driven = false;
        if released == self.lasting {
            self.steps = 0;
            return;
        }
        self.steps = self.steps.saturating_add(1);
        if self.steps >= pause {
            *self = Self { lasting: released, ..Self::NOT_YET };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const STEP: Period = Period::from_micros(1_000).unwrap();

    fn ma(raw: u16) -> Milliamps {
        Milliamps::new(raw).unwrap()
    }

    fn exclusion(pause: u32) -> PairExclusion {
        let config = PairExclusionConfig { released: ma(50), pause: Millis::from_ticks(pause) };
        PairExclusion::new(config, STEP).unwrap()
    }

    fn current() -> impl Strategy<Value = u16> {
        prop_oneof![Just(0u16), Just(0u16), Just(50u16), Just(51u16), 0u16..1_000]
    }

    #[test]
    fn a_running_coil_goes_on_through_a_reconfiguration() {
        let config = PairExclusionConfig { released: ma(50), pause: Millis::millis(20) };
        let mut pair = PairExclusion::new(config, STEP).unwrap();
        for _ in 0..50 {
            pair.step(ma(600), ma(0), ma(600), ma(0));
        }
        pair.reconfigure(PairExclusionConfig { pause: Millis::millis(30), ..config }).unwrap();
        assert_eq!(pair.step(ma(600), ma(0), ma(600), ma(0)), (ma(600), ma(0)));
        for _ in 0..29 {
            assert_eq!(pair.step(ma(0), ma(600), ma(0), ma(0)), (ma(0), ma(0)), "the new pause");
        }
    }

    proptest! {
        #[test]
        fn never_both_and_the_second_only_after_the_first_was_released_for_the_pause(
            steps in proptest::collection::vec((current(), current(), current(), current()), 1..300), pause in 0u32..6
        ) {
            let mut exclusion = exclusion(pause);
            let pause = pause.max(1);
            let (mut released_a, mut released_b) = (0, 0);
            let mut last = (Milliamps::ZERO, Milliamps::ZERO);
            for (set_a, set_b, measured_a, measured_b) in steps {
                released_a = if measured_a <= 50 && last.0 == Milliamps::ZERO { released_a + 1 } else { 0 };
                released_b = if measured_b <= 50 && last.1 == Milliamps::ZERO { released_b + 1 } else { 0 };
                let out = exclusion.step(ma(set_a), ma(set_b), ma(measured_a), ma(measured_b));
                prop_assert!(out.0 == Milliamps::ZERO || out.1 == Milliamps::ZERO);
                prop_assert!(out.0 == Milliamps::ZERO || out.0 == ma(set_a));
                prop_assert!(out.1 == Milliamps::ZERO || out.1 == ma(set_b));
                let begins = |now: Milliamps, before| now != Milliamps::ZERO && before == Milliamps::ZERO;
                if begins(out.1, last.1) && last.0 != Milliamps::ZERO {
                    prop_assert!(released_a >= pause, "b began {released_a} steps after a was released");
                }
                if begins(out.0, last.0) && last.1 != Milliamps::ZERO {
                    prop_assert!(released_b >= pause, "a began {released_b} steps after b was released");
                }
                last = out;
            }
        }

        #[test]
        fn with_both_released_the_one_that_is_asked_for_runs_without_a_wait(sets in proptest::collection::vec(1u16..1_000, 1..50)) {
            let mut exclusion = exclusion(3);
            for _ in 0..3 {
                exclusion.step(Milliamps::ZERO, Milliamps::ZERO, ma(50), ma(50));
            }
            for set in sets {
                prop_assert_eq!(exclusion.step(ma(set), Milliamps::ZERO, ma(set), ma(50)).0, ma(set));
            }
        }
    }

    #[test]
    fn a_coil_that_never_lets_go_keeps_the_other_one_away() {
        let mut exclusion = exclusion(3);
        for _ in 0..10_000 {
            let out = exclusion.step(Milliamps::ZERO, ma(400), ma(51), Milliamps::ZERO);
            assert_eq!(out, (Milliamps::ZERO, Milliamps::ZERO));
        }
    }

    #[test]
    fn a_running_coil_stops_when_the_other_one_carries_current_for_the_pause() {
        let mut exclusion = exclusion(3);
        for _ in 0..10 {
            exclusion.step(ma(400), Milliamps::ZERO, ma(400), Milliamps::ZERO);
        }
        let out = [(); 4].map(|()| exclusion.step(ma(400), Milliamps::ZERO, ma(400), ma(300)).0.raw());
        assert_eq!(out, [400, 400, 0, 0]);
    }

    #[test]
    fn a_config_outside_its_range_is_refused() {
        let refused = |released, pause| {
            let config = PairExclusionConfig { released: ma(released), pause: Millis::from_ticks(pause) };
            PairExclusion::new(config, STEP).unwrap_err()
        };
        assert_eq!(refused(0, 5), PairExclusionConfigError::Released(Milliamps::ZERO));
        assert_eq!(
            std::format!("{}", refused(50, 1_001)),
            "pause between opposite coils 1001 ms is above 1000 ms"
        );
    }

    four_verbs! {
        new: |config| PairExclusion::new(config, STEP),
        configs: (PairExclusionConfig { released: ma(50), pause: Millis::millis(20) }, PairExclusionConfig { released: ma(90), pause: Millis::millis(30) }),
        accepted: [
            PairExclusionConfig { released: ma(1), pause: Millis::millis(0) },
            PairExclusionConfig { released: ma(1000), pause: Millis::millis(1000) },
        ],
        refused: [
            PairExclusionConfig { released: ma(0), pause: Millis::millis(0) } => "released current 0 mA is outside 1 to 1000 mA",
            PairExclusionConfig { released: ma(1001), pause: Millis::millis(0) } => "released current 1001 mA is outside 1 to 1000 mA",
            PairExclusionConfig { released: ma(1), pause: Millis::millis(1001) } => "pause between opposite coils 1001 ms is above 1000 ms",
        ],
        inputs: (current(), current(), current(), current()),
        step: |block, (a, b, measured_a, measured_b)| block.step(ma(a), ma(b), ma(measured_a), ma(measured_b)),
        reset: |block| block.reset(),
    }
}
