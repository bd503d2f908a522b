//! A command comes to zero in a stated time.

use core::fmt;

use super::fine;
use super::motion::StopRequest;
use super::rates::{LONGEST_RAMP, SHORTEST_RAMP, ramp_time_is_allowed};
use crate::quantity::{Millis, Period, Ratio};

/// Time of a [`ControlledStop`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ControlledStopConfig {
    /// From full scale to zero, 10 ms to 120 s; from less it is over sooner.
    pub time: Millis,
}

/// Why a [`ControlledStopConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ControlledStopConfigError {
    /// The time is outside 10 ms to 120 s.
    Time(Millis),
}

impl fmt::Display for ControlledStopConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Time(given) = self;
        write!(formatter, "stop time of {given} for full scale: set {SHORTEST_RAMP} to {LONGEST_RAMP}")
    }
}

impl core::error::Error for ControlledStopConfigError {}

crate::choices! {
    /// Where a [`ControlledStop`] is.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum StopPhase {
        /// Stopped; what comes in has no effect until it was zero.
        Stopped = "stopped",
        /// On the way to zero.
        Stopping = "stopping",
        /// What comes in goes out.
        Following = "following",
    }
}

/// Brings a command to zero in a stated time, whatever else happens to it.
///
/// Stands behind a ramp, or behind a command without one, and lets it pass unchanged. Once a stop is asked for, the
/// output goes in a straight line from where it is to zero, at one full scale in `time`: its magnitude only falls, it
/// never changes sign, and it is zero after the time at the latest, rounded up to whole periods. What comes in meanwhile
/// has no effect, neither a lever that is thrown over nor a ramp that someone resets.
///
/// A stop once begun goes on to zero when the request ends. Afterwards, and after start and `reset`, the output stays zero
/// until no stop is asked for and the command itself was zero: nothing resumes from where it was. Remembers 2⁻⁴² of full
/// scale; gives it rounded to the nearest 2⁻³⁰, ties away from zero. Both sides of a drive stop as a pair in
/// [`PairRamp`](super::PairRamp).
///
#[doc = include_str!("../../docs/ramp-controlled_stop.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::ramp::{ControlledStop, ControlledStopConfig, StopRequest};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let mut boom = ControlledStop::new(ControlledStopConfig { time: Millis::millis(200) }, TICK).unwrap();
/// boom.step(Ratio::ZERO, StopRequest::None);
/// let lever = Ratio::from_permille(500).unwrap();
/// assert_eq!(boom.step(lever, StopRequest::None), lever);
///
/// boom.step(lever, StopRequest::Controlled);
/// assert_eq!(boom.output().to_permille().raw(), 450); // a twentieth of full scale in 10 ms
/// for _ in 0..9 {
///     boom.step(lever, StopRequest::Controlled);
/// }
/// assert_eq!(boom.output(), Ratio::ZERO);
/// assert_eq!(boom.step(lever, StopRequest::None), Ratio::ZERO); // still held over: nothing resumes
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ControlledStop {
    rate: i64,
    period: Period,
    position: i64,
    phase: StopPhase,
}

impl ControlledStop {
    /// Stopped. Refuses a time outside 10 ms to 120 s.
    ///
    /// # Errors
    ///
    /// [`ControlledStopConfigError`]: which rule the config breaks, with its value.
    pub const fn new(
        config: ControlledStopConfig,
        period: Period,
    ) -> Result<Self, ControlledStopConfigError> {
        if !ramp_time_is_allowed(config.time) {
            return Err(ControlledStopConfigError::Time(config.time));
        }
        let rate = fine::rate(config.time, period);
        Ok(Self { rate, period, position: 0, phase: StopPhase::Stopped })
    }

    /// Another time, also for a stop that is under way.
    ///
    /// # Errors
    ///
    /// [`ControlledStopConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: ControlledStopConfig) -> Result<(), ControlledStopConfigError> {
        self.rate = Self::new(config, self.period)?.rate;
        Ok(())
    }

    /// To zero at once; the command has to be zero before it passes again.
    pub fn reset(&mut self) {
        self.position = 0;
        self.phase = StopPhase::Stopped;
    }

    /// One period: the command, or the next piece of the way to zero.
    pub fn step(&mut self, command: Ratio, stop: StopRequest) -> Ratio {
        let asked = stop == StopRequest::Controlled;
        self.phase = match self.phase {
            StopPhase::Following if asked => StopPhase::Stopping,
            StopPhase::Stopped if !asked && command.is_zero() => StopPhase::Following,
            phase => phase,
        };
        match self.phase {
            StopPhase::Following => self.position = fine::from_ratio(command),
            StopPhase::Stopping => {
                self.position = fine::approach(self.position, 0, self.rate);
                if self.position == 0 {
                    self.phase = StopPhase::Stopped;
                }
            }
            StopPhase::Stopped => {}
        }
        self.output()
    }

    /// What the last step gave.
    pub const fn output(&self) -> Ratio {
        fine::to_ratio(self.position)
    }

    /// Whether it follows, stops or has stopped.
    pub const fn phase(&self) -> StopPhase {
        self.phase
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

    fn following(time: u32, period: Period, command: Ratio) -> ControlledStop {
        let config = ControlledStopConfig { time: Millis::millis(time) };
        let mut stop = ControlledStop::new(config, period).unwrap();
        stop.step(Ratio::ZERO, StopRequest::None);
        stop.step(command, StopRequest::None);
        stop
    }

    proptest! {
        #[test]
        fn a_stop_goes_to_zero_in_its_time_without_turning_round_whatever_comes_in(
            time in 10_u32..=20_000, micros in 500_u32..20_000, from in ratio(),
            stream in proptest::collection::vec((ratio(), any::<bool>()), 1..30)
        ) {
            let period = Period::from_micros(micros).unwrap();
            let mut stop = following(time, period, from);
            prop_assert_eq!(stop.output(), from);
            let mut before = stop.step(from, StopRequest::Controlled);
            let mut steps = 1;
            for (command, asked) in stream.iter().copied().cycle() {
                prop_assert!(before.magnitude() <= from.magnitude() && !before.opposite_direction(from));
                if before.is_zero() {
                    break;
                }
                // The request may end: what was begun is finished.
                let after = stop.step(command, if asked { StopRequest::Controlled } else { StopRequest::None });
                prop_assert!(after.magnitude() < before.magnitude());
                before = after;
                steps += 1;
            }
            prop_assert!(steps <= period.steps(Millis::millis(time)), "{} steps", steps);
        }

        #[test]
        fn a_stop_is_a_straight_line_and_alike_both_ways(time in 20_u32..5_000, from in ratio()) {
            let (mut one, mut other) = (following(time, TICK, from), following(time, TICK, from.reversed()));
            let share = 10.0 / f64::from(time) * f64::from(Ratio::ONE_BITS);
            for step in 1..=10 {
                let at = one.step(from, StopRequest::Controlled);
                prop_assert_eq!(at.reversed(), other.step(from, StopRequest::Controlled));
                let exact = (f64::from(from.magnitude().to_bits()) - share * f64::from(step)).max(0.0);
                prop_assert!((f64::from(at.magnitude().to_bits()) - exact).abs() <= 1.0);
            }
        }

        #[test]
        fn without_a_stop_every_command_passes_unchanged(time in 10_u32..5_000, commands in proptest::collection::vec(ratio(), 1..50)) {
            let mut stop = following(time, TICK, Ratio::ZERO);
            for command in commands {
                prop_assert_eq!(stop.step(command, StopRequest::None), command);
            }
        }

        #[test]
        fn after_a_stop_nothing_moves_until_the_command_was_zero(
            from in ratio(), stream in proptest::collection::vec((ratio(), any::<bool>()), 0..50)
        ) {
            let mut stop = following(10, TICK, from);
            stop.step(from, StopRequest::Controlled);
            for (command, asked) in stream {
                prop_assume!(!command.is_zero());
                let request = if asked { StopRequest::Controlled } else { StopRequest::None };
                prop_assert_eq!(stop.step(command, request), Ratio::ZERO);
            }
            prop_assert_eq!(stop.step(Ratio::ZERO, StopRequest::Controlled), Ratio::ZERO);
            prop_assert_eq!(stop.step(from, StopRequest::None).is_zero(), true);
            stop.step(Ratio::ZERO, StopRequest::None);
            prop_assert_eq!(stop.step(from, StopRequest::None), from);
        }
    }

    #[test]
    fn a_time_outside_the_range_is_refused_and_a_reset_stops_at_once() {
        let mut stop = following(100, TICK, Ratio::ONE);
        let error = stop.reconfigure(ControlledStopConfig { time: Millis::millis(9) }).unwrap_err();
        assert_eq!(std::format!("{error}"), "stop time of 9 ms for full scale: set 10 ms to 120000 ms");
        stop.reset();
        assert_eq!((stop.output(), stop.phase()), (Ratio::ZERO, StopPhase::Stopped));
        assert_eq!(stop.step(Ratio::ONE, StopRequest::None), Ratio::ZERO);
    }

    #[test]
    fn a_longer_time_slows_a_stop_that_is_under_way() {
        let mut stop = following(100, TICK, Ratio::ONE);
        assert_eq!(stop.step(Ratio::ONE, StopRequest::Controlled).to_permille().raw(), 900);
        stop.reconfigure(ControlledStopConfig { time: Millis::millis(1_000) }).unwrap();
        assert_eq!(stop.step(Ratio::ONE, StopRequest::Controlled).to_permille().raw(), 890);
        assert_eq!(stop.phase(), StopPhase::Stopping);
    }
}
