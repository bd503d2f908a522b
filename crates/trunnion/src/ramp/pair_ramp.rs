//! The drive ramp: both sides as a pair.

use core::fmt;

use super::fine;
use super::motion::{MotionPhase, MotionState, StopRequest};
use super::pair::Pair;
use super::rates::{
    LONGEST_DWELL, LONGEST_RAMP, MotionRates, MotionRatesError, Rates, SHORTEST_RAMP, dwell_is_allowed,
    ramp_time_is_allowed,
};
use crate::propel::Sides;
use crate::quantity::{Millis, Period};

/// Times of a [`PairRamp`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PairRampConfig {
    /// Travel (mean of the sides) forward.
    pub forward: MotionRates,
    /// Travel in reverse.
    pub reverse: MotionRates,
    /// Rotation (half the difference of the sides), either way.
    pub rotation: MotionRates,
    /// A controlled stop from full scale, 10 ms to 120 s.
    pub stop: Millis,
    /// Rest at zero before travel or spin turns round, 0 to 5 s.
    pub dwell: Millis,
}

/// Why a [`PairRampConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PairRampConfigError {
    /// A time of forward travel is outside its range.
    Forward(MotionRatesError),
    /// A time of reverse travel is outside its range.
    Reverse(MotionRatesError),
    /// A time of rotation is outside its range.
    Rotation(MotionRatesError),
    /// The stop time is outside 10 ms to 120 s.
    Stop(Millis),
    /// The rest at zero is above 5 s.
    Dwell(Millis),
}

impl fmt::Display for PairRampConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Forward(error) => write!(formatter, "forward: {error}"),
            Self::Reverse(error) => write!(formatter, "reverse: {error}"),
            Self::Rotation(error) => write!(formatter, "rotation: {error}"),
            Self::Stop(given) => {
                write!(formatter, "stop time of {given}: set {SHORTEST_RAMP} to {LONGEST_RAMP}")
            }
            Self::Dwell(given) => write!(formatter, "rest at zero of {given}: set 0 ms to {LONGEST_DWELL}"),
        }
    }
}

impl core::error::Error for PairRampConfigError {}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Limits {
    forward: Rates,
    reverse: Rates,
    rotation: Rates,
    stop: i64,
    dwell: u32,
}

impl Limits {
    const fn resolve(config: PairRampConfig, period: Period) -> Result<Self, PairRampConfigError> {
        let forward = match Rates::resolve(config.forward, period) {
            Ok(rates) => rates,
            Err(error) => return Err(PairRampConfigError::Forward(error)),
        };
        let reverse = match Rates::resolve(config.reverse, period) {
            Ok(rates) => rates,
            Err(error) => return Err(PairRampConfigError::Reverse(error)),
        };
        let rotation = match Rates::resolve(config.rotation, period) {
            Ok(rates) => rates,
            Err(error) => return Err(PairRampConfigError::Rotation(error)),
        };
        if !ramp_time_is_allowed(config.stop) {
            return Err(PairRampConfigError::Stop(config.stop));
        }
        if !dwell_is_allowed(config.dwell) {
            return Err(PairRampConfigError::Dwell(config.dwell));
        }
        let stop = fine::rate(config.stop, period);
        Ok(Self { forward, reverse, rotation, stop, dwell: period.steps(config.dwell) })
    }

    const fn drive(&self, travel: i64) -> &Rates {
        if travel < 0 { &self.reverse } else { &self.forward }
    }
}

/// Ramps both sides as a pair, so that a ramp never bends the path.
///
/// Travel (the mean of the sides) and rotation (half their difference) have their own times, chosen from the present
/// motion (after the ramp) and the asked one (before it): accelerate, decelerate, or reverse while the opposite is
/// asked. They are tied so that the shape of the turn is kept:
///
/// - From rest, both grow in the asked proportion; the slower sets the pace.
/// - To zero (levers released, travel or spin reversed, controlled stop), both sides shrink by one factor and reach zero
///   in the same step. No side changes sign on the way.
/// - A reversal goes to exactly zero at the reversal rate, rests there for the dwell and then goes on.
/// - A new turn while driving: rotation goes to the asked shape at its own rate, within twice the time that it takes for
///   the difference (while travel still grows, to what is asked in the end), and the shape is kept from there. Travel goes on
///   meanwhile, but grows no faster than rotation can follow. Slowing into a tighter turn, rotation goes to what is asked and no further, so the shape is reached at the
///   asked travel. Neither ever exceeds the larger of what is done and what is asked.
/// - A controlled stop from full scale takes the stop time; it is never slower than releasing the levers.
///
/// Remembers 2⁻⁴² of full scale and rounds each side to the nearest 2⁻³⁰, ties away from zero.
///
#[doc = include_str!("../../docs/ramp-pair_ramp.svg")]
///
/// ```
/// use trunnion::propel::Sides;
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::ramp::{MotionRates, MotionState, PairRamp, PairRampConfig, StopRequest};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// const RATES: MotionRates = MotionRates {
///     accelerate: Millis::millis(1_000),
///     decelerate: Millis::millis(600),
///     reverse: Millis::millis(500),
/// };
/// const CONFIG: PairRampConfig = PairRampConfig {
///     forward: RATES,
///     reverse: RATES,
///     rotation: RATES,
///     stop: Millis::millis(400),
///     dwell: Millis::millis(0),
/// };
/// let mut drive = PairRamp::new(CONFIG, TICK).unwrap();
///
/// let turn = Sides { left: Ratio::ONE, right: Ratio::from_permille(400).unwrap() };
/// for _ in 0..100 {
///     drive.step(turn, StopRequest::None);
/// }
/// assert_eq!(drive.output(), turn);
/// assert_eq!(drive.state(), MotionState::Forward);
/// for _ in 0..20 {
///     drive.step(turn, StopRequest::Controlled);
/// }
/// let half = drive.output(); // half way through the stop, still the same turn
/// assert_eq!((half.left.to_permille().raw(), half.right.to_permille().raw()), (500, 200));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PairRamp {
    limits: Limits,
    period: Period,
    present: Pair,
    came_from: Pair,
    rested: u32,
    phase: MotionPhase,
}

impl PairRamp {
    /// At zero. Refuses a time outside its range.
    ///
    /// # Errors
    ///
    /// [`PairRampConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: PairRampConfig, period: Period) -> Result<Self, PairRampConfigError> {
        let limits = match Limits::resolve(config, period) {
            Ok(limits) => limits,
            Err(error) => return Err(error),
        };
        let (present, came_from) = (Pair::ZERO, Pair::ZERO);
        Ok(Self { limits, period, present, came_from, rested: 0, phase: MotionPhase::Holding })
    }

    /// Other times, from the next step on; the sides stay where they are.
    ///
    /// # Errors
    ///
    /// [`PairRampConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: PairRampConfig) -> Result<(), PairRampConfigError> {
        self.limits = Limits::resolve(config, self.period)?;
        Ok(())
    }

    /// Both sides to zero at once, with no memory of a direction.
    pub fn reset(&mut self) {
        self.present = Pair::ZERO;
        self.came_from = Pair::ZERO;
        self.rested = 0;
        self.phase = MotionPhase::Holding;
    }

    /// One period of the way to `target`, or of a stop.
    pub fn step(&mut self, target: Sides, stop: StopRequest) -> Sides {
        let asked = if stop == StopRequest::Controlled { Pair::ZERO } else { Pair::from_sides(target) };
        let present = self.present;
        if present == asked && !present.is_zero() {
            // Arrived: the way there has nothing left to say.
            self.phase = MotionPhase::Holding;
            return self.output();
        }
        if present.is_zero() {
            self.rested = self.rested.saturating_add(1);
        }
        let must_rest = self.rested < self.limits.dwell && present.is_zero() && self.came_from.opposes(asked);
        let drive = self.limits.drive(if present.sum() == 0 { asked.sum() } else { present.sum() });
        let rotation = &self.limits.rotation;

        let next = if must_rest {
            present
        } else if stop == StopRequest::Controlled {
            present
                .towards_zero(drive.decelerate, rotation.decelerate)
                .at_most(present.stopped(self.limits.stop))
        } else if asked.is_zero() {
            present.towards_zero(drive.decelerate, rotation.decelerate)
        } else if present.opposes(asked) {
            present.towards_zero(drive.reverse, rotation.reverse)
        } else {
            present.towards(asked, drive, rotation)
        };
        self.phase = phase(if must_rest { self.came_from } else { present }, asked);
        self.present = next;
        if !next.is_zero() {
            self.came_from = next;
            self.rested = 0;
        }
        self.output()
    }

    /// The ramped sides.
    pub const fn output(&self) -> Sides {
        self.present.to_sides()
    }

    /// What the machine does, after the ramp.
    pub const fn state(&self) -> MotionState {
        let Pair { left, right } = self.present;
        if self.present.is_zero() {
            MotionState::Standing
        } else if fine::opposed(left, right) {
            MotionState::Rotation
        } else if left > 0 || right > 0 {
            MotionState::Forward
        } else {
            MotionState::Reverse
        }
    }

    /// What the ramp did in the last step: by travel, or by rotation where travel is reached.
    pub const fn phase(&self) -> MotionPhase {
        self.phase
    }
}

const fn phase(present: Pair, asked: Pair) -> MotionPhase {
    if present.opposes(asked) {
        return MotionPhase::Reversing;
    }
    let travel_reached = present.sum() == asked.sum();
    let (is, shall) = if travel_reached {
        (present.difference(), asked.difference())
    } else {
        (present.sum(), asked.sum())
    };
    if is == shall {
        MotionPhase::Holding
    } else if !fine::opposed(is, shall) && shall.unsigned_abs() > is.unsigned_abs() {
        MotionPhase::Accelerating
    } else {
        MotionPhase::Decelerating
    }
}

#[cfg(test)]
mod tests;
