//! A share that is withdrawn gently and given back slowly.

use core::fmt;

use super::fine;
use super::rates::{LONGEST_RAMP, SHORTEST_RAMP, ramp_time_is_allowed};
use crate::quantity::{Millis, Period, Ratio};

/// Times of a [`DerateRamp`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct DerateRampConfig {
    /// In which all of a share is taken away, 10 ms to 120 s.
    pub withdraw: Millis,
    /// In which all of it is given back, 10 ms to 120 s.
    pub restore: Millis,
}

/// Why a [`DerateRampConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DerateRampConfigError {
    /// The time to withdraw is outside 10 ms to 120 s.
    Withdraw(Millis),
    /// The time to restore is outside 10 ms to 120 s.
    Restore(Millis),
}

impl fmt::Display for DerateRampConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, given) = match self {
            Self::Withdraw(given) => ("withdrawn", given),
            Self::Restore(given) => ("restored", given),
        };
        write!(formatter, "a whole share {name} in {given}: set {SHORTEST_RAMP} to {LONGEST_RAMP}")
    }
}

impl core::error::Error for DerateRampConfigError {}

/// Paces how a derate takes hold and lets go: cold oil, hot coolant, a sensor that fails.
///
/// A sensor that fails at full speed is no reason to brake harder than the operator could, and an oil temperature that
/// wavers about its limit no reason to surge: the share falls at most one whole in `withdraw`, rises at most one whole in
/// `restore`, and never passes what is asked. The first share after start and `reset` is taken as it is: at a start nothing
/// moves yet, and cold oil is cold at once. What is asked below zero counts as zero. Remembers 2⁻⁴² of a whole; gives it
/// rounded to the nearest 2⁻³⁰, ties away from zero.
///
#[doc = include_str!("../../docs/ramp-derate_ramp.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::ramp::{DerateRamp, DerateRampConfig};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = DerateRampConfig { withdraw: Millis::millis(2_000), restore: Millis::millis(10_000) };
/// let mut oil = DerateRamp::new(config, TICK).unwrap();
/// let (warm, sensor_lost) = (Ratio::ONE, Ratio::from_permille(400).unwrap());
/// assert_eq!(oil.step(warm), Ratio::ONE);
/// for _ in 0..20 {
///     oil.step(sensor_lost);
/// }
/// assert_eq!(oil.share().to_permille().raw(), 900); // a tenth less after 200 ms
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct DerateRamp {
    withdraw: i64,
    restore: i64,
    period: Period,
    /// Nothing before the first step.
    share: Option<i64>,
}

impl DerateRamp {
    /// Before its first share. Refuses a time outside 10 ms to 120 s.
    ///
    /// # Errors
    ///
    /// [`DerateRampConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: DerateRampConfig, period: Period) -> Result<Self, DerateRampConfigError> {
        if !ramp_time_is_allowed(config.withdraw) {
            return Err(DerateRampConfigError::Withdraw(config.withdraw));
        }
        if !ramp_time_is_allowed(config.restore) {
            return Err(DerateRampConfigError::Restore(config.restore));
        }
        Ok(Self {
            withdraw: fine::rate(config.withdraw, period),
            restore: fine::rate(config.restore, period),
            period,
            share: None,
        })
    }

    /// Other times, from the next step on; the share stays.
    ///
    /// # Errors
    ///
    /// [`DerateRampConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: DerateRampConfig) -> Result<(), DerateRampConfigError> {
        let share = self.share;
        *self = Self { share, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// The next share is taken as it is.
    pub fn reset(&mut self) {
        self.share = None;
    }

    /// One period of the way to the share that is asked.
    pub fn step(&mut self, asked: Ratio) -> Ratio {
        let goal = fine::magnitude_from_ratio(asked);
        let share = match self.share {
            None => goal,
            Some(share) => fine::from_magnitude(share, goal, self.restore, self.withdraw),
        };
        self.share = Some(share);
        fine::magnitude_to_ratio(share)
    }

    /// What the last step gave; whole before the first one.
    pub const fn share(&self) -> Ratio {
        match self.share {
            Some(share) => fine::magnitude_to_ratio(share),
            None => Ratio::ONE,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    fn paced(withdraw: u32, restore: u32) -> DerateRamp {
        let config =
            DerateRampConfig { withdraw: Millis::millis(withdraw), restore: Millis::millis(restore) };
        DerateRamp::new(config, TICK).unwrap()
    }

    proptest! {
        #[test]
        fn the_share_moves_towards_what_is_asked_at_its_pace_and_never_past_it(
            withdraw in 10_u32..5_000, restore in 10_u32..5_000,
            stream in proptest::collection::vec((ratio(), 1_usize..50), 1..10)
        ) {
            let mut ramp = paced(withdraw, restore);
            let largest = |time: u32| (10.0 / f64::from(time)).min(1.0) * f64::from(Ratio::ONE_BITS) + 1.0;
            let mut before = ramp.step(stream[0].0);
            prop_assert_eq!(before, stream[0].0.at_least(Ratio::ZERO), "the first is taken as it is");
            for (asked, steps) in stream {
                let goal = asked.at_least(Ratio::ZERO);
                for _ in 0..steps {
                    let after = ramp.step(asked);
                    prop_assert!(after >= before.at_most(goal) && after <= before.at_least(goal));
                    prop_assert!(after != before || before == goal, "stalled");
                    let change = f64::from(after.to_bits() - before.to_bits());
                    prop_assert!(change <= largest(restore) && -change <= largest(withdraw));
                    before = after;
                }
            }
        }

        #[test]
        fn a_whole_share_takes_its_time_and_at_most_one_period_less(time in 10_u32..=120_000) {
            let mut ramp = paced(time, time);
            ramp.step(Ratio::ONE);
            for goal in [Ratio::ZERO, Ratio::ONE] {
                let steps = (1..).find(|_| ramp.step(goal) == goal).unwrap();
                let asked = TICK.steps(Millis::millis(time));
                prop_assert!(steps <= asked && steps + 1 >= asked, "{} steps instead of {}", steps, asked);
            }
        }
    }

    #[test]
    fn a_time_outside_the_range_is_refused_and_changes_nothing() {
        let mut ramp = paced(1_000, 1_000);
        assert_eq!(ramp.share(), Ratio::ONE);
        ramp.step(Ratio::ZERO);
        let bad = DerateRampConfig { withdraw: Millis::millis(9), restore: Millis::millis(1_000) };
        let error = ramp.reconfigure(bad).unwrap_err();
        assert_eq!(std::format!("{error}"), "a whole share withdrawn in 9 ms: set 10 ms to 120000 ms");
        let bad = DerateRampConfig { withdraw: Millis::millis(10), restore: Millis::millis(120_001) };
        assert_eq!(
            ramp.reconfigure(bad).unwrap_err(),
            DerateRampConfigError::Restore(Millis::millis(120_001))
        );
        assert_eq!(ramp.step(Ratio::ONE).to_permille().raw(), 10);
        ramp.reset();
        assert_eq!(ramp.step(Ratio::ONE), Ratio::ONE);
    }

    #[test]
    fn new_times_keep_the_share() {
        let mut ramp = paced(1_000, 1_000);
        ramp.step(Ratio::ZERO);
        ramp.reconfigure(DerateRampConfig { withdraw: Millis::millis(10), restore: Millis::millis(100) })
            .unwrap();
        assert_eq!(ramp.share(), Ratio::ZERO);
        assert_eq!(ramp.step(Ratio::ONE).to_permille().raw(), 100);
    }

    four_verbs! {
        new: |config| DerateRamp::new(config, TICK),
        configs: (
            DerateRampConfig { withdraw: Millis::millis(800), restore: Millis::millis(300) },
            DerateRampConfig { withdraw: Millis::millis(400), restore: Millis::millis(900) }
        ),
        accepted: [
            DerateRampConfig { withdraw: Millis::millis(10), restore: Millis::millis(10) },
            DerateRampConfig { withdraw: Millis::millis(120_000), restore: Millis::millis(120_000) },
        ],
        refused: [
            DerateRampConfig { withdraw: Millis::millis(9), restore: Millis::millis(10) } => "a whole share withdrawn in 9 ms: set 10 ms to 120000 ms",
            DerateRampConfig { withdraw: Millis::millis(120_001), restore: Millis::millis(10) } => "a whole share withdrawn in 120001 ms: set 10 ms to 120000 ms",
            DerateRampConfig { withdraw: Millis::millis(10), restore: Millis::millis(9) } => "a whole share restored in 9 ms: set 10 ms to 120000 ms",
            DerateRampConfig { withdraw: Millis::millis(10), restore: Millis::millis(120_001) } => "a whole share restored in 120001 ms: set 10 ms to 120000 ms",
        ],
        inputs: ratio(),
        step: |block, asked| (block.step(asked), block.share()),
        reset: |block| block.reset(),
    }
}
