//! A measured quantity without its noise.

use crate::declare::Field;
use crate::quantity::{Millis, Period, Ratio, SHARE_BITS, shift_nearest, shift_symmetric};

/// Time of a [`LowPass`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct LowPassConfig {
    /// After this time 63 % of a step have come through: 1 to 1000 loop periods.
    pub time_constant: Millis,
}

/// Why a [`LowPassConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LowPassConfigError {
    /// `time_constant` is outside its range.
    TimeConstantOutOfRange {
        /// What was asked for.
        value: Millis,
        /// The least that is allowed: one loop period.
        shortest: Millis,
        /// The most that is allowed: 1000 loop periods.
        longest: Millis,
    },
}

impl core::fmt::Display for LowPassConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Self::TimeConstantOutOfRange { value, shortest, longest } = self;
        write!(formatter, "time_constant is {value}; it must be {shortest} to {longest}")
    }
}

impl core::error::Error for LowPassConfigError {}

/// State per step of the quantity. With at most 1000 periods the share per step is at least 1/1000, so that
/// what rounding leaves behind stays below half a step of the quantity.
const FINER_BITS: u32 = 11;
const FINER: i64 = 1 << FINER_BITS;

/// Share of the distance that one step covers: 1 − e^(−T/τ), T the period, τ the time constant.
const fn share(config: LowPassConfig, period: Period) -> Result<Ratio, LowPassConfigError> {
    let value = config.time_constant;
    let shortest = Millis::from_ticks(period.micros().div_ceil(1000));
    let longest = Millis::from_ticks(period.micros());
    if value.ticks() < shortest.ticks() || value.ticks() > longest.ticks() {
        return Err(LowPassConfigError::TimeConstantOutOfRange { value, shortest, longest });
    }
    let time_constant_micros = (value.ticks() as i64).wrapping_mul(1000);
    let exponent = Ratio::from_quotient(period.micros() as i64, time_constant_micros);
    // Alternating series x − x²/2! + x³/3! … with x at most 1: the twelfth term is below two bits.
    let mut sum = Ratio::ZERO;
    let mut term = exponent;
    let mut order = 1_i64;
    while order <= 12 {
        sum = if order & 1 == 1 { sum.plus(term) } else { sum.minus(term) };
        order = order.saturating_add(1);
        term = term.times(Ratio::from_quotient(
            exponent.to_bits() as i64,
            order.saturating_mul(Ratio::ONE_BITS as i64),
        ));
    }
    Ok(sum)
}

/// First-order low pass for a quantity that changes slowly: oil temperature, pressure, supply voltage.
///
/// Each step covers the share 1 − e^(−T/τ) of the distance to the new value, as a first-order lag sampled
/// with period T does. The first value is taken as it is. Keeps 1/2048 of a step inside, gives the nearest
/// step, and settles on a constant value exactly. Quantities whose raw range is wider than 2²¹ are refused
/// by the compiler.
///
#[doc = include_str!("../../docs/sense-low_pass.svg")]
///
/// ```
/// use trunnion::quantity::{Celsius, Millis, Period};
/// use trunnion::sense::{LowPass, LowPassConfig};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let celsius = |tenths| Celsius::new(tenths).unwrap();
/// let mut oil = LowPass::new(LowPassConfig { time_constant: Millis::millis(100) }, tick).unwrap();
/// assert_eq!(oil.step(celsius(200)), celsius(200));
/// assert_eq!(oil.step(celsius(300)), celsius(210)); // 9.5 % of 10 °C, to the nearest 0.1 °C
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LowPass<Q> {
    share: Ratio,
    period: Period,
    /// In 1/2048 of a step; nothing before the first value.
    state: Option<i64>,
    quantity: core::marker::PhantomData<Q>,
}

impl<Q: Field> LowPass<Q> {
    /// States and their distance have no more steps than a ratio, so that all is done in 32 bits.
    const IS_NARROW: bool = Q::MIN_RAW >= -(1 << 29) / FINER && Q::MAX_RAW <= (1 << 29) / FINER;

    /// Refuses a time constant outside 1 to 1000 loop periods.
    ///
    /// # Errors
    ///
    /// [`LowPassConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: LowPassConfig, period: Period) -> Result<Self, LowPassConfigError> {
        const {
            assert!(
                Q::MAX_RAW.saturating_sub(Q::MIN_RAW) <= 1 << 21,
                "a low pass computes in 64 bits: its quantity's range is at most 2^21 steps"
            )
        };
        match share(config, period) {
            Ok(share) => Ok(Self { share, period, state: None, quantity: core::marker::PhantomData }),
            Err(error) => Err(error),
        }
    }

    /// Takes a new time constant or refuses it; the present value is kept.
    ///
    /// # Errors
    ///
    /// [`LowPassConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: LowPassConfig) -> Result<(), LowPassConfigError> {
        self.share = share(config, self.period)?;
        Ok(())
    }

    /// The next value is taken as it is.
    pub fn reset(&mut self) {
        self.state = None;
    }

    /// One step.
    pub fn step(&mut self, value: Q) -> Q {
        // The range is at most 2²¹ steps: states are no further than 2³² from each other, and nothing wraps.
        let target = value.to_raw().wrapping_shl(FINER_BITS);
        let before = self.state.unwrap_or(target);
        let now = if Self::IS_NARROW {
            let (target, before) = (target as i32, before as i32);
            let distance = Ratio::within_range(target.wrapping_sub(before));
            i64::from(before.wrapping_add(distance.times(self.share).to_bits()))
        } else {
            let distance = target.wrapping_sub(before);
            before.wrapping_add(shift_symmetric(distance, i64::from(self.share.to_bits()), SHARE_BITS))
        };
        self.state = Some(now);
        Q::held(shift_nearest(now, FINER_BITS))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Kilopascals, Millivolts, Rpm};
    use proptest::prelude::*;
    use std::string::ToString;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn low_pass<Q: Field>(time_constant: u32) -> LowPass<Q> {
        LowPass::new(LowPassConfig { time_constant: Millis::millis(time_constant) }, TICK).unwrap()
    }

    #[test]
    fn the_share_of_a_step_is_that_of_a_sampled_first_order_lag() {
        // τ 0.1 s, T 10 ms, zero-order hold: b 0.09516258 (scipy.signal, recomputed).
        let share = f64::from(low_pass::<Rpm>(100).share.to_bits()) / f64::from(Ratio::ONE_BITS);
        assert!((share - 0.095_162_58).abs() < 1e-8, "{share}");
    }

    #[test]
    fn time_constants_outside_their_range_are_refused_and_change_nothing() {
        let mut filter = low_pass::<Rpm>(100);
        let before = filter.share;
        for (time_constant, message) in [
            (9, "time_constant is 9 ms; it must be 10 ms to 10000 ms"),
            (10_001, "time_constant is 10001 ms; it must be 10 ms to 10000 ms"),
        ] {
            let config = LowPassConfig { time_constant: Millis::millis(time_constant) };
            assert_eq!(filter.reconfigure(config).unwrap_err().to_string(), message);
            assert_eq!(filter.share, before);
        }
    }

    #[test]
    fn a_reset_takes_the_next_value_as_it_is() {
        let mut filter = low_pass(1_000);
        filter.step(Rpm::from_whole(100));
        filter.reset();
        assert_eq!(filter.step(Rpm::from_whole(900)), Rpm::from_whole(900));
    }

    #[derive(Debug, Clone, Copy, PartialEq)]
    struct Within<const LOW: i32, const HIGH: i32>(i32);

    impl<const LOW: i32, const HIGH: i32> Field for Within<LOW, HIGH> {
        const BYTES: u8 = 4;
        const UNIT: &'static str = "mm";
        const NUMERATOR: i64 = 1;
        const DENOMINATOR: i64 = 1;
        const MIN_RAW: i64 = LOW as i64;
        const MAX_RAW: i64 = HIGH as i64;

        fn to_raw(self) -> i64 {
            self.0.into()
        }

        fn from_raw(raw: i64) -> Option<Self> {
            i32::try_from(raw).ok().map(Self)
        }

        fn held(raw: i64) -> Self {
            Self(raw as i32)
        }
    }

    #[test]
    fn the_widest_quantity_is_filtered_exactly_on_whichever_side_of_zero_it_lies() {
        const WIDEST: i32 = 1 << 21;
        let (mut deep, mut high) = (low_pass(100), low_pass(100));
        deep.step(Within::<{ -WIDEST }, 0>(0));
        high.step(Within::<0, WIDEST>(0));
        for steps in 1..=50 {
            let way = f64::from(WIDEST) * -f64::exp_m1(-0.1 * f64::from(steps));
            let (depth, height) = (deep.step(Within(-WIDEST)).0, high.step(Within(WIDEST)).0);
            assert!((f64::from(height) - way).abs() < 1.0, "{height} mm, not {way}");
            assert_eq!(depth, -height);
        }
    }

    proptest! {
        #[test]
        fn every_allowed_time_constant_gives_the_exact_share(time_constant in 10_u32..=10_000) {
            let share = f64::from(low_pass::<Rpm>(time_constant).share.to_bits()) / f64::from(Ratio::ONE_BITS);
            let exact = -f64::exp_m1(-10.0 / f64::from(time_constant));
            prop_assert!((share - exact).abs() < 1e-8, "{} is not {}", share, exact);
        }

        #[test]
        fn a_constant_value_is_reached_exactly_without_passing_it(
            time_constant in 10_u32..=10_000, from in -100_000..=100_000, to in -100_000..=100_000
        ) {
            let mut filter = low_pass(time_constant);
            filter.step(Kilopascals::new(from).unwrap());
            let mut before = from;
            for _ in 0..25 * (time_constant / 10) {
                let now = filter.step(Kilopascals::new(to).unwrap()).raw();
                prop_assert!(now >= before.min(to) && now <= before.max(to));
                before = now;
            }
            prop_assert_eq!(before, to);
        }

        #[test]
        fn the_response_follows_the_exponential_within_a_step(time_constant in 10_u32..=2_000, height: u16) {
            let mut filter = low_pass(time_constant);
            filter.step(Millivolts::ZERO);
            for step in 1..=300 {
                let now = f64::from(filter.step(Millivolts::new(height).unwrap()).raw());
                let exact = -f64::from(height) * f64::exp_m1(-10.0 * f64::from(step) / f64::from(time_constant));
                prop_assert!((now - exact).abs() <= 0.7, "{} is not {}", now, exact);
            }
        }
    }

    four_verbs! {
        new: |config| LowPass::<Rpm>::new(config, TICK),
        configs: (LowPassConfig { time_constant: Millis::millis(100) }, LowPassConfig { time_constant: Millis::millis(250) }),
        accepted: [
            LowPassConfig { time_constant: Millis::millis(10) },
            LowPassConfig { time_constant: Millis::millis(10000) },
        ],
        refused: [
            LowPassConfig { time_constant: Millis::millis(9) } => "time_constant is 9 ms; it must be 10 ms to 10000 ms",
            LowPassConfig { time_constant: Millis::millis(10001) } => "time_constant is 10001 ms; it must be 10 ms to 10000 ms",
        ],
        inputs: -3_000..3_000,
        step: |block, rpm| block.step(Rpm::from_whole(rpm)),
        reset: |block| block.reset(),
    }
}
