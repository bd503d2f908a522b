//! Two ramps that know nothing of each other, to show what a pair ramp is for.

use super::motion_ramp::{MotionRamp, MotionRampConfig, MotionRampConfigError};
use crate::propel::Sides;
use crate::quantity::Period;

/// Ramps each side on its own: for comparison with [`PairRamp`](super::PairRamp), not for a drive.
///
/// When a turn is stopped, the slower side reaches zero first and the machine hooks round it:
///
#[doc = include_str!("../../docs/ramp/independent_ramps.svg")]
///
/// ```
/// use trunnion::propel::Sides;
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::ramp::{IndependentRamps, MotionRampConfig, MotionRates};
///
/// let rates = MotionRates {
///     accelerate: Millis::millis(1_000),
///     decelerate: Millis::millis(1_000),
///     reverse: Millis::millis(1_000),
/// };
/// let config = MotionRampConfig { positive: rates, negative: rates, dwell: Millis::millis(0) };
/// let mut sides = IndependentRamps::new(config, Period::from_micros(10_000).unwrap()).unwrap();
/// let turn = Sides { left: Ratio::ONE, right: Ratio::from_permille(400).unwrap() };
/// for _ in 0..100 {
///     sides.step(turn);
/// }
/// for _ in 0..40 {
///     sides.step(Sides::ZERO);
/// }
/// assert_eq!(sides.output().right, Ratio::ZERO);
/// assert_eq!(sides.output().left.to_permille().raw(), 600); // asked was a wide turn, this is a pivot
/// ```
#[derive(Debug, Clone, Copy)]
pub struct IndependentRamps {
    left: MotionRamp,
    right: MotionRamp,
}

impl IndependentRamps {
    /// Both at zero. Refuses a time outside its range.
    pub const fn new(config: MotionRampConfig, period: Period) -> Result<Self, MotionRampConfigError> {
        match MotionRamp::new(config, period) {
            Ok(ramp) => Ok(Self { left: ramp, right: ramp }),
            Err(error) => Err(error),
        }
    }

    /// Other times, from the next step on; the sides stay where they are.
    pub fn reconfigure(&mut self, config: MotionRampConfig) -> Result<(), MotionRampConfigError> {
        self.left.reconfigure(config)?;
        self.right.reconfigure(config)
    }

    /// Both sides to zero at once.
    pub fn reset(&mut self) {
        self.left.reset();
        self.right.reset();
    }

    /// One period of the way to `target`.
    pub fn step(&mut self, target: Sides) -> Sides {
        Sides { left: self.left.step(target.left), right: self.right.step(target.right) }
    }

    /// The ramped sides.
    pub const fn output(&self) -> Sides {
        Sides { left: self.left.output(), right: self.right.output() }
    }
}
