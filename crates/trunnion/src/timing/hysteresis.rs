//! A comparison that does not flutter.

use core::fmt::Debug;

use crate::declare::Field;

/// Limits of a [`Hysteresis`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct HysteresisConfig<Q> {
    /// From this value on it is true.
    pub on_from: Q,
    /// At this value and below it is false; below `on_from`.
    pub off_to: Q,
}

/// Why a [`HysteresisConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum HysteresisConfigError<Q> {
    /// `off_to` is not below `on_from`.
    OffNotBelowOn {
        /// What was asked for.
        value: Q,
        /// It must be below this.
        on_from: Q,
    },
}

impl<Q: Field> core::fmt::Display for HysteresisConfigError<Q> {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Self::OffNotBelowOn { value, on_from } = self;
        let (value, on_from) = (value.to_raw(), on_from.to_raw());
        write!(formatter, "off_to is {value}; it must be below on_from, {on_from}")?;
        let (unit, numerator, denominator) = (Q::UNIT, Q::NUMERATOR, Q::DENOMINATOR);
        if unit.is_empty() {
            Ok(())
        } else {
            write!(formatter, " (steps of {numerator}/{denominator} {unit})")
        }
    }
}

impl<Q: Field + Debug> core::error::Error for HysteresisConfigError<Q> {}

/// Whether a quantity is high: true from the upper limit on, false from the lower one down, as before in
/// between. Starts false.
///
#[doc = include_str!("../../docs/timing-hysteresis.svg")]
///
/// ```
/// use trunnion::quantity::Kilopascals;
/// use trunnion::timing::{Hysteresis, HysteresisConfig};
///
/// let kilopascals = |raw| Kilopascals::new(raw).unwrap();
/// let config = HysteresisConfig { on_from: kilopascals(1_200), off_to: kilopascals(1_000) };
/// let mut charge_pressure_good = Hysteresis::new(config).unwrap();
/// let pressures = [1_100, 1_200, 1_100, 1_000, 1_100];
/// assert_eq!(
///     pressures.map(|pressure| charge_pressure_good.step(kilopascals(pressure))),
///     [false, true, true, false, false]
/// );
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Hysteresis<Q> {
    config: HysteresisConfig<Q>,
    output: bool,
}

impl<Q: Field + PartialOrd> Hysteresis<Q> {
    /// Refuses a lower limit that is not below the upper one.
    ///
    /// # Errors
    ///
    /// [`HysteresisConfigError`]: which rule the config breaks, with its value.
    pub fn new(config: HysteresisConfig<Q>) -> Result<Self, HysteresisConfigError<Q>> {
        if config.off_to < config.on_from {
            Ok(Self { config, output: false })
        } else {
            Err(HysteresisConfigError::OffNotBelowOn { value: config.off_to, on_from: config.on_from })
        }
    }

    /// Takes new limits as a whole or refuses them as a whole; what was decided is kept until the next step.
    ///
    /// # Errors
    ///
    /// [`HysteresisConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: HysteresisConfig<Q>) -> Result<(), HysteresisConfigError<Q>> {
        *self = Self { output: self.output, ..Self::new(config)? };
        Ok(())
    }

    /// False again.
    pub fn reset(&mut self) {
        self.output = false;
    }

    /// One step.
    pub fn step(&mut self, value: Q) -> bool {
        if value >= self.config.on_from {
            self.output = true;
        } else if value <= self.config.off_to {
            self.output = false;
        }
        self.output
    }

    /// What the last step gave.
    pub const fn output(&self) -> bool {
        self.output
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Rpm;
    use proptest::prelude::*;
    use std::string::ToString;

    fn config(on_from: i32, off_to: i32) -> HysteresisConfig<Rpm> {
        HysteresisConfig { on_from: Rpm::new(on_from).unwrap(), off_to: Rpm::new(off_to).unwrap() }
    }

    #[test]
    fn limits_that_do_not_leave_a_band_are_refused_and_change_nothing() {
        let mut hysteresis = Hysteresis::new(config(800, 400)).unwrap();
        let error = hysteresis.reconfigure(config(400, 400)).unwrap_err();
        assert_eq!(error.to_string(), "off_to is 400; it must be below on_from, 400 (steps of 1/8 rpm)");
        assert_eq!(hysteresis.config, config(800, 400));
    }

    #[test]
    fn new_limits_keep_the_answer_and_a_reset_does_not() {
        let mut hysteresis = Hysteresis::new(config(800, 400)).unwrap();
        hysteresis.step(Rpm::new(900).unwrap());
        hysteresis.reconfigure(config(2_000, 100)).unwrap();
        assert!(hysteresis.step(Rpm::new(600).unwrap()) && hysteresis.output());
        hysteresis.reset();
        assert!(!hysteresis.output());
    }

    proptest! {
        #[test]
        fn between_the_limits_the_answer_stays(values in proptest::collection::vec(-20..=20, 1..100), low in -15..=10, band in 1..=9) {
            let mut hysteresis = Hysteresis::new(config(low + band, low)).unwrap();
            let mut before = false;
            for value in values {
                let now = hysteresis.step(Rpm::new(value).unwrap());
                let expected = if value >= low + band { true } else if value <= low { false } else { before };
                prop_assert_eq!(now, expected);
                before = now;
            }
        }
    }

    four_verbs! {
        new: Hysteresis::new,
        configs: (config(800, 400), config(600, 200)),
        accepted: [
            config(5, 4),
        ],
        refused: [
            config(5, 5) => "off_to is 5; it must be below on_from, 5 (steps of 1/8 rpm)",
        ],
        inputs: 0..1_000,
        step: |block, raw| (block.step(Rpm::new(raw).unwrap()), block.output()),
        reset: |block| block.reset(),
    }

    #[test]
    fn a_number_without_a_unit_is_told_without_one() {
        let error = Hysteresis::new(HysteresisConfig { on_from: 5_u8, off_to: 7_u8 }).unwrap_err();
        assert_eq!(error.to_string(), "off_to is 7; it must be below on_from, 5");
    }
}
