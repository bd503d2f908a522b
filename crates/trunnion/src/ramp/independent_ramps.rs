//! Two ramps that know nothing of each other, to show what a pair ramp is for.

use super::motion_ramp::{MotionRamp, MotionRampConfig, MotionRampConfigError};
use crate::propel::Sides;
use crate::quantity::Period;

/// Ramps each side on its own: for comparison with [`PairRamp`](super::PairRamp), not for a drive.
///
/// When a turn is stopped, the slower side reaches zero first and the machine hooks round it:
///
#[doc = include_str!("../../docs/ramp-independent_ramps.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct IndependentRamps {
    left: MotionRamp,
    right: MotionRamp,
}

impl IndependentRamps {
    /// Both at zero. Refuses a time outside its range.
    ///
    /// # Errors
    ///
    /// [`MotionRampConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: MotionRampConfig, period: Period) -> Result<Self, MotionRampConfigError> {
        match MotionRamp::new(config, period) {
            Ok(ramp) => Ok(Self { left: ramp, right: ramp }),
            Err(error) => Err(error),
        }
    }

    /// Other times, from the next step on; the sides stay where they are.
    ///
    /// # Errors
    ///
    /// [`MotionRampConfigError`], as for `new`; everything then stays as it was.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Millis, Ratio};
    use crate::ramp::MotionRates;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn sides() -> impl Strategy<Value = Sides> {
        let ratio = || (-1000..=1000).prop_map(|permille| Ratio::from_permille(permille).unwrap());
        (ratio(), ratio()).prop_map(|(left, right)| Sides { left, right })
    }

    proptest! {
        #[test]
        fn each_side_does_what_one_ramp_alone_would_do(targets in proptest::collection::vec(sides(), 1..100)) {
            let rates = MotionRates {
                accelerate: Millis::millis(800),
                decelerate: Millis::millis(400),
                reverse: Millis::millis(300),
            };
            let config = MotionRampConfig { positive: rates, negative: rates, dwell: Millis::millis(50) };
            let mut pair = IndependentRamps::new(config, TICK).unwrap();
            let mut alone = [MotionRamp::new(config, TICK).unwrap(); 2];
            for target in targets {
                let left = alone[0].step(target.left);
                let right = alone[1].step(target.right);
                prop_assert_eq!(pair.step(target), Sides { left, right });
            }
        }
    }

    four_verbs! {
        new: |config| IndependentRamps::new(config, TICK),
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
        inputs: sides(),
        step: |block, target| (block.step(target), block.output()),
        reset: |block| block.reset(),
    }
}
