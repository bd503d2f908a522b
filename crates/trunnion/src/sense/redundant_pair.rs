//! Two sensors of one quantity, of which neither is believed alone.

use super::{Flaw, Reading};
use crate::declare::Field;
use crate::quantity::{Millis, Period, shift_nearest};

crate::choices! {
    /// Which value two sensors that agree give.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum PairValue {
        /// Half the sum, rounded to nearest with ties away from zero.
        Mean = "mean",
        /// The lower one, where too much is the danger.
        Lower = "lower",
        /// The higher one, where too little is the danger.
        Higher = "higher",
    }
}

/// Limits of a [`RedundantPair`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct RedundantPairConfig<Q> {
    /// Largest difference that still counts as agreement, zero or more.
    pub tolerance: Q,
    /// How long they may differ more, as they do in a fast move, 0 to 10 s.
    pub disagree_after: Millis,
    /// Which value the pair gives.
    pub value: PairValue,
}

/// Why a [`RedundantPairConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum RedundantPairConfigError<Q> {
    /// `tolerance` is below zero.
    ToleranceNegative {
        /// What was asked for.
        value: Q,
    },
    /// `disagree_after` is too long.
    DisagreeAfterTooLong {
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
}

impl<Q: Field> core::fmt::Display for RedundantPairConfigError<Q> {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::ToleranceNegative { value } => write!(
                formatter,
                "tolerance is {} steps of {}/{} {}; it must be zero or more",
                value.to_raw(),
                Q::NUMERATOR,
                Q::DENOMINATOR,
                Q::UNIT
            ),
            Self::DisagreeAfterTooLong { value, longest } => {
                write!(formatter, "disagree_after is {value}; it must be at most {longest}")
            }
        }
    }
}

impl<Q: Field + core::fmt::Debug> core::error::Error for RedundantPairConfigError<Q> {}

/// Two sensors of one quantity: lever, boom angle, pedal.
///
/// While they differ by more than the tolerance, the pair still gives its value for `disagree_after`; then the reading is
/// faulted until they agree again. Before they first agreed it is faulted too: nothing is assumed. A faulted
/// sensor faults the pair in the same step, the first sensor's flaw before the second's: one sensor alone is not a pair. Sensors
/// of opposite slope are brought to one slope before, each by its own [`Span`](super::Span).
///
/// Quantities of more than four bytes are refused by the compiler.
///
#[doc = include_str!("../../docs/sense-redundant_pair.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::sense::{Flaw, PairValue, Reading, RedundantPair, RedundantPairConfig};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let percent = |percent: i32| Ratio::from_permille(10 * percent).unwrap();
/// let config = RedundantPairConfig {
///     tolerance: percent(5),
///     disagree_after: Millis::millis(20),
///     value: PairValue::Lower,
/// };
/// let mut pedal = RedundantPair::new(config, tick).unwrap();
/// let mut step = |one, other| pedal.step(Reading::Valid(percent(one)), Reading::Valid(percent(other)));
///
/// assert_eq!(step(50, 48), Reading::Valid(percent(48)));
/// assert_eq!(step(60, 48), Reading::Valid(percent(48)));
/// step(60, 48);
/// assert_eq!(step(60, 48), Reading::Faulted(Flaw::Disagreement));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RedundantPair<Q> {
    tolerance: Q,
    disagree_steps: u32,
    value: PairValue,
    period: Period,
    /// They agreed, and did not disagree for too long since.
    agreed: bool,
    /// Steps since they first differed by more than the tolerance.
    waited: u32,
}

impl<Q: Field> RedundantPair<Q> {
    /// Longest time for which they may differ.
    pub const LONGEST_DISAGREEMENT: Millis = Millis::from_ticks(10_000);

    /// Nothing agreed on. Refuses a tolerance below zero and a time above 10 s.
    ///
    /// # Errors
    ///
    /// [`RedundantPairConfigError`]: which rule the config breaks, with its value.
    pub fn new(config: RedundantPairConfig<Q>, period: Period) -> Result<Self, RedundantPairConfigError<Q>> {
        const { assert!(Q::BYTES <= 4, "a pair is compared in 64 bits: its quantity has at most four bytes") };
        let RedundantPairConfig { tolerance, disagree_after, value } = config;
        if tolerance.to_raw() < 0 {
            return Err(RedundantPairConfigError::ToleranceNegative { value: tolerance });
        }
        if disagree_after > Self::LONGEST_DISAGREEMENT {
            return Err(RedundantPairConfigError::DisagreeAfterTooLong {
                value: disagree_after,
                longest: Self::LONGEST_DISAGREEMENT,
            });
        }
        let disagree_steps = period.steps(disagree_after);
        Ok(Self { tolerance, disagree_steps, value, period, agreed: false, waited: 0 })
    }

    /// Takes new limits as a whole or refuses them as a whole; what was agreed and the time waited are kept.
    ///
    /// # Errors
    ///
    /// [`RedundantPairConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: RedundantPairConfig<Q>) -> Result<(), RedundantPairConfigError<Q>> {
        *self = Self { agreed: self.agreed, waited: self.waited, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// Nothing agreed on.
    pub fn reset(&mut self) {
        self.agreed = false;
        self.waited = 0;
    }

    /// One step.
    pub fn step(&mut self, one: Reading<Q>, other: Reading<Q>) -> Reading<Q> {
        let (one, other) = match (one, other) {
            (Reading::Valid(one), Reading::Valid(other)) => (one, other),
            (Reading::Faulted(flaw), _) | (_, Reading::Faulted(flaw)) => {
                self.reset();
                return Reading::Faulted(flaw);
            }
        };
        let difference = one.to_raw().saturating_sub(other.to_raw());
        if difference.saturating_abs() <= self.tolerance.to_raw() {
            self.agreed = true;
            self.waited = 0;
        } else if self.waited >= self.disagree_steps {
            self.agreed = false;
        } else {
            self.waited = self.waited.saturating_add(1);
        }
        if self.agreed {
            Reading::Valid(self.chosen(one, other))
        } else {
            Reading::Faulted(Flaw::Disagreement)
        }
    }

    fn chosen(&self, one: Q, other: Q) -> Q {
        let one_is_lower = one.to_raw() <= other.to_raw();
        match self.value {
            PairValue::Mean => Q::held(shift_nearest(one.to_raw().wrapping_add(other.to_raw()), 1)),
            PairValue::Lower if one_is_lower => one,
            PairValue::Higher if !one_is_lower => one,
            PairValue::Lower | PairValue::Higher => other,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Rpm;
    use proptest::prelude::*;
    use std::string::ToString;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn config(tolerance: i32, time: u32, value: PairValue) -> RedundantPairConfig<Rpm> {
        RedundantPairConfig {
            tolerance: Rpm::new(tolerance).unwrap(),
            disagree_after: Millis::millis(time),
            value,
        }
    }

    fn reading() -> impl Strategy<Value = Reading<Rpm>> {
        prop_oneof![
            9 => (-6..=6).prop_map(|raw| Reading::Valid(Rpm::new(raw).unwrap())),
            1 => Just(Reading::Faulted(Flaw::WireBreak)),
        ]
    }

    fn readings() -> impl Strategy<Value = Vec<(Reading<Rpm>, Reading<Rpm>)>> {
        proptest::collection::vec((reading(), reading()), 0..100)
    }

    fn value() -> impl Strategy<Value = PairValue> {
        proptest::sample::select(PairValue::ALL)
    }

    #[test]
    fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
        let mut pair = RedundantPair::new(config(4, 50, PairValue::Mean), TICK).unwrap();
        let error = pair.reconfigure(config(-1, 50, PairValue::Mean)).unwrap_err();
        assert_eq!(error.to_string(), "tolerance is -1 steps of 1/8 rpm; it must be zero or more");
        let error = pair.reconfigure(config(9, 10_001, PairValue::Mean)).unwrap_err();
        assert_eq!(error.to_string(), "disagree_after is 10001 ms; it must be at most 10000 ms");
        assert_eq!((pair.tolerance.raw(), pair.disagree_steps), (4, 5));
        assert!(pair.reconfigure(config(0, 10_000, PairValue::Lower)).is_ok());
    }

    #[test]
    fn new_limits_keep_what_was_agreed_and_the_time_waited() {
        let rpm = |raw| Reading::Valid(Rpm::new(raw).unwrap());
        let mut pair = RedundantPair::new(config(2, 50, PairValue::Lower), TICK).unwrap();
        pair.step(rpm(0), rpm(2));
        pair.reconfigure(config(1, 50, PairValue::Higher)).unwrap();
        for _ in 0..3 {
            assert_eq!(pair.step(rpm(0), rpm(2)), rpm(2), "the higher one, still bridged");
        }
        pair.reconfigure(config(1, 40, PairValue::Higher)).unwrap();
        assert_eq!(pair.step(rpm(0), rpm(2)), rpm(2));
        assert_eq!(pair.step(rpm(0), rpm(2)), Reading::Faulted(Flaw::Disagreement), "40 ms have passed");
    }

    proptest! {
        #[test]
        fn a_disagreement_is_bridged_for_its_time_and_then_told(
            tolerance in 0..6, time in 0_u32..6, value in value(), readings in readings()
        ) {
            let mut pair = RedundantPair::new(config(tolerance, time * 10, value), TICK).unwrap();
            for now in 0..readings.len() {
                let given = pair.step(readings[now].0, readings[now].1);
                // The steps since a sensor was last faulted, latest first.
                let sound = readings[..=now].iter().rev().map_while(|(one, other)| Some((one.valid()?, other.valid()?)));
                let differ = |(one, other): &(Rpm, Rpm)| (one.raw() - other.raw()).abs() > tolerance;
                let differing = sound.clone().take_while(differ).count();
                let ever_agreed = sound.clone().any(|pair| !differ(&pair));
                let faulted = readings[now].0.flaw().or(readings[now].1.flaw());
                let expected = match faulted {
                    Some(flaw) => Some(flaw),
                    None if ever_agreed && differing <= time as usize => None,
                    None => Some(Flaw::Disagreement),
                };
                prop_assert_eq!(given.flaw(), expected);
            }
        }

        #[test]
        fn the_value_lies_between_both_and_does_not_depend_on_their_order(
            one in -524_288..=524_287, other in -524_288..=524_287, value in value()
        ) {
            let at = |one, other| {
                let rpm = |raw| Reading::Valid(Rpm::new(raw).unwrap());
                let mut pair = RedundantPair::new(config(524_287, 0, value), TICK).unwrap();
                pair.step(rpm(one), rpm(other)).valid().map(Rpm::raw)
            };
            prop_assert_eq!(at(one, other), at(other, one));
            if let Some(given) = at(one, other) {
                prop_assert!(given >= one.min(other) && given <= one.max(other));
                match value {
                    PairValue::Lower => prop_assert_eq!(given, one.min(other)),
                    PairValue::Higher => prop_assert_eq!(given, one.max(other)),
                    PairValue::Mean => prop_assert!((2 * given - one - other).abs() <= 1),
                }
            }
        }
    }
}
