//! One motion with its own times for each direction and phase.

use core::fmt;

use super::fine;
use super::motion::{MotionPhase, MotionState};
use super::rates::{LONGEST_DWELL, MotionRates, MotionRatesError, Rates, dwell_is_allowed};
use crate::quantity::{Millis, Period, Ratio};

/// Times of a [`MotionRamp`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct MotionRampConfig {
    /// Above zero.
    pub positive: MotionRates,
    /// Below zero.
    pub negative: MotionRates,
    /// Rest at zero before the motion turns round, 0 to 5 s.
    pub dwell: Millis,
}

/// Why a [`MotionRampConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MotionRampConfigError {
    /// A time above zero is outside its range.
    Positive(MotionRatesError),
    /// A time below zero is outside its range.
    Negative(MotionRatesError),
    /// The rest at zero is above 5 s.
    Dwell(Millis),
}

impl fmt::Display for MotionRampConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Positive(error) => write!(formatter, "positive direction: {error}"),
            Self::Negative(error) => write!(formatter, "negative direction: {error}"),
            Self::Dwell(given) => write!(formatter, "rest at zero of {given}: set 0 ms to {LONGEST_DWELL}"),
        }
    }
}

impl core::error::Error for MotionRampConfigError {}

/// Ramps one motion, with times that depend on what it is doing and what is asked.
///
/// The present motion (after the ramp) and the asked one (before it) choose the time: accelerate, decelerate, or
/// reverse while the opposite is asked. A reversal goes to exactly zero at the reversal rate, rests there for the
/// dwell, counted from the step that reached zero, and goes on at the acceleration rate of the other direction.
/// Remembers 2⁻⁴² of full scale and rounds the output to the nearest 2⁻³⁰, ties away from zero.
///
#[doc = include_str!("../../docs/ramp-motion_ramp.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::ramp::{MotionPhase, MotionRamp, MotionRampConfig, MotionRates};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let rates = MotionRates {
///     accelerate: Millis::millis(1_000),
///     decelerate: Millis::millis(500),
///     reverse: Millis::millis(400),
/// };
/// let config = MotionRampConfig { positive: rates, negative: rates, dwell: Millis::millis(0) };
/// let mut drive = MotionRamp::new(config, TICK).unwrap();
/// for _ in 0..100 {
///     drive.step(Ratio::ONE);
/// }
/// assert_eq!(drive.output(), Ratio::ONE);
/// drive.step(Ratio::MINUS_ONE);
/// assert_eq!(drive.phase(), MotionPhase::Reversing);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct MotionRamp {
    positive: Rates,
    negative: Rates,
    dwell: u32,
    period: Period,
    position: i64,
    came_from: i8,
    rested: u32,
    phase: MotionPhase,
}

impl MotionRamp {
    /// At zero. Refuses a time outside its range.
    ///
    /// # Errors
    ///
    /// [`MotionRampConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: MotionRampConfig, period: Period) -> Result<Self, MotionRampConfigError> {
        let positive = match Rates::resolve(config.positive, period) {
            Ok(rates) => rates,
            Err(error) => return Err(MotionRampConfigError::Positive(error)),
        };
        let negative = match Rates::resolve(config.negative, period) {
            Ok(rates) => rates,
            Err(error) => return Err(MotionRampConfigError::Negative(error)),
        };
        if !dwell_is_allowed(config.dwell) {
            return Err(MotionRampConfigError::Dwell(config.dwell));
        }
        let dwell = period.steps(config.dwell);
        let phase = MotionPhase::Holding;
        Ok(Self { positive, negative, dwell, period, position: 0, came_from: 0, rested: 0, phase })
    }

    /// Other times, from the next step on; the output stays where it is.
    ///
    /// # Errors
    ///
    /// [`MotionRampConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: MotionRampConfig) -> Result<(), MotionRampConfigError> {
        let Self { positive, negative, dwell, .. } = Self::new(config, self.period)?;
        *self = Self { positive, negative, dwell, ..*self };
        Ok(())
    }

    /// To zero at once, with no memory of a direction.
    pub fn reset(&mut self) {
        self.position = 0;
        self.came_from = 0;
        self.rested = 0;
        self.phase = MotionPhase::Holding;
    }

    /// One period of the way to `target`.
    pub fn step(&mut self, target: Ratio) -> Ratio {
        if self.position == 0 {
            self.start(target);
        } else {
            self.go_on(target);
        }
        self.output()
    }

    /// From zero.
    fn start(&mut self, target: Ratio) {
        let must_rest = self.must_rest(target);
        self.phase = if must_rest {
            MotionPhase::Reversing
        } else if target.is_zero() {
            MotionPhase::Holding
        } else {
            MotionPhase::Accelerating
        };
        self.rested = self.rested.saturating_add(1);
        if target.is_zero() || self.must_rest(target) {
            return;
        }
        let (negative, magnitude) = (target < Ratio::ZERO, fine::magnitude_from_ratio(target.magnitude()));
        self.put(self.rates(negative).accelerate.min(magnitude), negative);
    }

    /// From a position other than zero, seen from its side of zero.
    fn go_on(&mut self, target: Ratio) {
        let negative = self.position < 0;
        let (from, target) = if negative {
            (self.position.wrapping_neg(), target.reversed())
        } else {
            (self.position, target)
        };
        let goal = fine::magnitude_from_ratio(target);
        let Rates { accelerate, decelerate, reverse } = *self.rates(negative);
        let (phase, fall) = if target < Ratio::ZERO {
            (MotionPhase::Reversing, reverse)
        } else if goal > from {
            (MotionPhase::Accelerating, decelerate)
        } else if goal < from {
            (MotionPhase::Decelerating, decelerate)
        } else {
            (MotionPhase::Holding, decelerate)
        };
        self.phase = phase;
        self.put(fine::from_magnitude(from, goal, accelerate, fall), negative);
    }

    fn put(&mut self, magnitude: i64, negative: bool) {
        self.position = if negative { magnitude.wrapping_neg() } else { magnitude };
        if magnitude != 0 {
            self.came_from = if negative { -1 } else { 1 };
            self.rested = 0;
        }
    }

    const fn rates(&self, negative: bool) -> &Rates {
        if negative { &self.negative } else { &self.positive }
    }

    /// The ramped command.
    pub const fn output(&self) -> Ratio {
        fine::to_ratio(self.position)
    }

    /// What the motion is: standing, forward or reverse.
    pub const fn state(&self) -> MotionState {
        if self.position > 0 {
            MotionState::Forward
        } else if self.position < 0 {
            MotionState::Reverse
        } else {
            MotionState::Standing
        }
    }

    /// What the ramp did in the last step.
    pub const fn phase(&self) -> MotionPhase {
        self.phase
    }

    const fn must_rest(&self, target: Ratio) -> bool {
        let turns_round = if target.to_bits() < 0 { self.came_from > 0 } else { self.came_from < 0 };
        self.rested < self.dwell && !target.is_zero() && turns_round
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn rates() -> impl Strategy<Value = MotionRates> {
        (10u32..2_000, 10u32..2_000, 10u32..2_000).prop_map(|(accelerate, decelerate, reverse)| MotionRates {
            accelerate: Millis::millis(accelerate),
            decelerate: Millis::millis(decelerate),
            reverse: Millis::millis(reverse),
        })
    }

    fn config() -> impl Strategy<Value = MotionRampConfig> {
        (rates(), rates(), 0u32..300).prop_map(|(positive, negative, dwell)| MotionRampConfig {
            positive,
            negative,
            dwell: Millis::millis(dwell),
        })
    }

    fn ticks_until(ramp: &mut MotionRamp, target: Ratio, reached: Ratio) -> u32 {
        (1..=1_000).find(|_| ramp.step(target) == reached).unwrap()
    }

    fn is_about(ticks: u32, time: Millis) -> bool {
        ticks <= TICK.steps(time).max(1) && ticks + 1 >= TICK.steps(time)
    }

    proptest! {
        #[test]
        fn each_phase_of_each_direction_takes_its_own_time(config in config()) {
            let mut ramp = MotionRamp::new(config, TICK).unwrap();
            for (rates, full) in [(config.positive, Ratio::ONE), (config.negative, Ratio::MINUS_ONE)] {
                ramp.reset();
                prop_assert!(is_about(ticks_until(&mut ramp, full, full), rates.accelerate));
                prop_assert!(is_about(ticks_until(&mut ramp, Ratio::ZERO, Ratio::ZERO), rates.decelerate));
                ticks_until(&mut ramp, full, full);
                prop_assert!(is_about(ticks_until(&mut ramp, full.reversed(), Ratio::ZERO), rates.reverse));
            }
        }

        #[test]
        fn a_reversal_rests_at_zero_for_the_dwell_and_a_start_does_not(config in config()) {
            let fresh = MotionRamp::new(config, TICK).unwrap();
            for (full, back) in [(Ratio::ONE, MotionState::Reverse), (Ratio::MINUS_ONE, MotionState::Forward)] {
                let mut ramp = fresh;
                ramp.step(full);
                prop_assert!(!ramp.output().is_zero());
                ticks_until(&mut ramp, full.reversed(), Ratio::ZERO);
                let mut at_zero = 0;
                while ramp.output().is_zero() {
                    prop_assert_eq!(ramp.state(), MotionState::Standing);
                    prop_assert_eq!(ramp.phase(), MotionPhase::Reversing);
                    ramp.step(full.reversed());
                    at_zero += 1;
                }
                prop_assert_eq!(at_zero, TICK.steps(config.dwell).max(1));
                prop_assert_eq!(ramp.state(), back);
                // Under way, nothing is left of where it came from.
                let mut started = fresh;
                started.step(full.reversed());
                prop_assert_eq!(ramp.step(full.reversed()), started.step(full.reversed()));
                prop_assert_eq!(ramp, started);
            }
        }

        #[test]
        fn the_phase_is_accelerating_towards_more_decelerating_towards_less_and_holding_once_there(config in config()) {
            for full in [Ratio::ONE, Ratio::MINUS_ONE] {
                let [less, there] =
                    [250, 500].map(|permille| Ratio::from_permille(permille).unwrap().directed_as(full));
                let mut ramp = MotionRamp::new(config, TICK).unwrap();
                ticks_until(&mut ramp, there, there);
                let phases = [full, there, less].map(|target| {
                    let mut ramp = ramp;
                    ramp.step(target);
                    ramp.phase()
                });
                prop_assert_eq!(phases, [MotionPhase::Accelerating, MotionPhase::Holding, MotionPhase::Decelerating]);
            }
        }

        #[test]
        fn a_rest_before_the_opposite_is_asked_counts_as_dwell(config in config()) {
            let mut ramp = MotionRamp::new(config, TICK).unwrap();
            ramp.step(Ratio::ONE);
            ticks_until(&mut ramp, Ratio::ZERO, Ratio::ZERO);
            for _ in 0..TICK.steps(config.dwell) {
                ramp.step(Ratio::ZERO);
            }
            prop_assert!(ramp.step(Ratio::MINUS_ONE) < Ratio::ZERO);
        }
    }

    #[test]
    fn a_refused_config_names_the_direction_the_time_and_the_range() {
        let good = MotionRates {
            accelerate: Millis::millis(100),
            decelerate: Millis::millis(100),
            reverse: Millis::millis(100),
        };
        let bad = MotionRates { reverse: Millis::millis(5), ..good };
        let config = MotionRampConfig { positive: good, negative: bad, dwell: Millis::millis(0) };
        assert_eq!(
            std::format!("{}", MotionRamp::new(config, TICK).unwrap_err()),
            "negative direction: reversal time of 5 ms for full scale: set 10 ms to 120000 ms"
        );
        let dwell = Millis::millis(5_001);
        assert_eq!(
            MotionRamp::new(MotionRampConfig { negative: good, dwell, ..config }, TICK).unwrap_err(),
            MotionRampConfigError::Dwell(dwell)
        );
    }

    four_verbs! {
        new: |config| MotionRamp::new(config, TICK),
        configs: (MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(800), decelerate: Millis::millis(400), reverse: Millis::millis(300) }, negative: MotionRates { accelerate: Millis::millis(900), decelerate: Millis::millis(500), reverse: Millis::millis(200) }, dwell: Millis::millis(100) }, MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(300), decelerate: Millis::millis(250), reverse: Millis::millis(600) }, negative: MotionRates { accelerate: Millis::millis(450), decelerate: Millis::millis(650), reverse: Millis::millis(150) }, dwell: Millis::millis(200) }),
        accepted: [
            MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, negative: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, dwell: Millis::millis(0) },
            MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(120000), decelerate: Millis::millis(120000), reverse: Millis::millis(120000) }, negative: MotionRates { accelerate: Millis::millis(120000), decelerate: Millis::millis(120000), reverse: Millis::millis(120000) }, dwell: Millis::millis(5000) },
        ],
        refused: [
            MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(9), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, negative: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, dwell: Millis::millis(0) } => "positive direction: acceleration time of 9 ms for full scale: set 10 ms to 120000 ms",
            MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(120001), reverse: Millis::millis(10) }, negative: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, dwell: Millis::millis(0) } => "positive direction: deceleration time of 120001 ms for full scale: set 10 ms to 120000 ms",
            MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, negative: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(9), reverse: Millis::millis(10) }, dwell: Millis::millis(0) } => "negative direction: deceleration time of 9 ms for full scale: set 10 ms to 120000 ms",
            MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, negative: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(120001) }, dwell: Millis::millis(0) } => "negative direction: reversal time of 120001 ms for full scale: set 10 ms to 120000 ms",
            MotionRampConfig { positive: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, negative: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, dwell: Millis::millis(5001) } => "rest at zero of 5001 ms: set 0 ms to 5000 ms",
        ],
        inputs: (-1000..=1000).prop_map(|permille| Ratio::from_permille(permille).unwrap()),
        step: |block, target| (block.step(target), block.output(), block.state(), block.phase()),
        reset: |block| block.reset(),
    }
}
