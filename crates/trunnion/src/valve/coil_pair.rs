//! The two opposite coils of one spool in the fast loop.

use core::fmt;

use super::{
    Coil, CoilConfig, CoilConfigError, PairExclusion, PairExclusionConfig, PairExclusionConfigError,
};
use crate::quantity::{Duty, Milliamps, Millivolts, Period};

/// Two opposite coils.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilPairConfig {
    /// One coil.
    pub a: CoilConfig,
    /// The opposite one.
    pub b: CoilConfig,
    /// When one may follow the other.
    pub exclusion: PairExclusionConfig,
}

/// Why a [`CoilPairConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CoilPairConfigError {
    /// The first coil.
    A(CoilConfigError),
    /// The opposite one.
    B(CoilConfigError),
    /// Their exclusion.
    Exclusion(PairExclusionConfigError),
}

impl fmt::Display for CoilPairConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::A(error) => write!(f, "coil a: {error}"),
            Self::B(error) => write!(f, "coil b: {error}"),
            Self::Exclusion(error) => error.fmt(f),
        }
    }
}

impl core::error::Error for CoilPairConfigError {}

/// Two opposite coils, never both driven.
///
/// The watch of each coil compares with what the exclusion let pass, not with what was asked for: a coil that
/// has to wait for the opposite one is not at fault.
///
#[doc = include_str!("../../docs/valve-coil_pair.svg")]
///
/// ```
/// use trunnion::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period, Permille};
/// use trunnion::valve::{
///     CoilConfig, CoilPair, CoilPairConfig, CurrentLoopConfig, DitherConfig, PairExclusionConfig,
/// };
///
/// let ma = |raw| Milliamps::new(raw).unwrap();
/// let coil = CoilConfig {
///     control: CurrentLoopConfig {
///         resistance: Centiohms::new(530).unwrap(),
///         time_constant: Millis::millis(4),
///         proportional: Centiohms::new(530).unwrap(),
///         integral_time: Millis::millis(8),
///         lowest_supply: Millivolts::new(8_000).unwrap(),
///         highest_supply: Millivolts::new(16_000).unwrap(),
///         largest: ma(1_500),
///     },
///     dither: DitherConfig { amplitude: Milliamps::ZERO, cycle: Millis::millis(10) },
///     averaging: Millis::millis(10),
///     tolerance: Permille::new(100).unwrap(),
///     offset: ma(40),
///     stray: ma(60),
/// };
/// let exclusion = PairExclusionConfig { released: ma(50), pause: Millis::millis(5) };
/// let config = CoilPairConfig { a: coil, b: coil, exclusion };
/// let mut boom = CoilPair::new(config, Period::from_micros(1_000).unwrap())?;
///
/// let supply = Some(Millivolts::new(12_600).unwrap());
/// let (raise, lower) = boom.step((ma(400), ma(400)), (Milliamps::ZERO, Milliamps::ZERO), supply);
/// assert_eq!((raise, lower), (Duty::ZERO, Duty::ZERO)); // both at once is a contradiction
/// # Ok::<(), trunnion::valve::CoilPairConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilPair {
    a: Coil,
    b: Coil,
    exclusion: PairExclusion,
}

impl CoilPair {
    /// Checks the config and resolves it to one period of the fast loop.
    ///
    /// # Errors
    ///
    /// [`CoilPairConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: CoilPairConfig, period: Period) -> Result<Self, CoilPairConfigError> {
        let a = match Coil::new(config.a, period) {
            Ok(coil) => coil,
            Err(error) => return Err(CoilPairConfigError::A(error)),
        };
        let b = match Coil::new(config.b, period) {
            Ok(coil) => coil,
            Err(error) => return Err(CoilPairConfigError::B(error)),
        };
        let exclusion = match PairExclusion::new(config.exclusion, period) {
            Ok(exclusion) => exclusion,
            Err(error) => return Err(CoilPairConfigError::Exclusion(error)),
        };
        Ok(Self { a, b, exclusion })
    }

    /// Takes another config, or refuses it as a whole and keeps the present one. Loops keep their state; both
    /// coils have to be released before either is driven again.
    ///
    /// # Errors
    ///
    /// [`CoilPairConfigError`], as for `new`; everything then stays as it was.
    pub const fn reconfigure(&mut self, config: CoilPairConfig) -> Result<(), CoilPairConfigError> {
        let mut changed = *self;
        if let Err(error) = changed.a.reconfigure(config.a) {
            return Err(CoilPairConfigError::A(error));
        }
        if let Err(error) = changed.b.reconfigure(config.b) {
            return Err(CoilPairConfigError::B(error));
        }
        if let Err(error) = changed.exclusion.reconfigure(config.exclusion) {
            return Err(CoilPairConfigError::Exclusion(error));
        }
        *self = changed;
        Ok(())
    }

    /// Back to the state of a new pair.
    pub const fn reset(&mut self) {
        self.a.reset();
        self.b.reset();
        self.exclusion.reset();
    }

    /// The duties for the coming step; set-points and measured currents are those of coil a, then coil b.
    pub fn step(
        &mut self,
        set: (Milliamps, Milliamps),
        measured: (Milliamps, Milliamps),
        supply: Option<Millivolts>,
    ) -> (Duty, Duty) {
        let (set_a, set_b) = self.exclusion.step(set.0, set.1, measured.0, measured.1);
        (self.a.step(set_a, measured.0, supply), self.b.step(set_b, measured.1, supply))
    }

    /// One coil, to look at.
    pub const fn a(&self) -> &Coil {
        &self.a
    }

    /// The opposite coil, to look at.
    pub const fn b(&self) -> &Coil {
        &self.b
    }

    /// What both coils did since the last report, coil a first; then starts a new one.
    pub fn take_reports(&mut self) -> (super::CoilReport, super::CoilReport) {
        (self.a.take_report(), self.b.take_report())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Millis, Permille};
    use crate::valve::coil_model::*;
    use crate::valve::{CoilConditions, DitherConfig};
    use proptest::prelude::*;

    const STEP: Period = Period::from_micros(1_000).unwrap();
    const RELEASED: u16 = 50;

    fn config() -> CoilPairConfig {
        let coil = CoilConfig {
            control: tuned(6.0, 0.020),
            dither: DitherConfig { amplitude: milliamps(20), cycle: Millis::from_ticks(10) },
            averaging: Millis::from_ticks(10),
            tolerance: Permille::new(100).unwrap(),
            offset: milliamps(40),
            stray: milliamps(60),
        };
        let exclusion = PairExclusionConfig { released: milliamps(RELEASED), pause: Millis::from_ticks(3) };
        CoilPairConfig { a: coil, b: coil, exclusion }
    }

    proptest! {
        #[test]
        fn both_coils_never_carry_current_together_and_neither_is_blamed_for_waiting(
            sets in proptest::collection::vec((0u16..2, 200u16..800, 1usize..60), 1..20), supply in 9.0..15.0
        ) {
            let mut pair = CoilPair::new(config(), STEP).unwrap();
            let (mut a, mut b) = (CoilModel::new(6.0, 0.020), CoilModel::new(6.0, 0.020));
            let mut measured = (Milliamps::ZERO, Milliamps::ZERO);
            for (side, set, steps) in sets {
                let set = milliamps(set);
                let set = if side == 0 { (set, Milliamps::ZERO) } else { (Milliamps::ZERO, set) };
                for _ in 0..steps {
                    let duty = pair.step(set, measured, Some(millivolts(supply)));
                    measured = (a.run(duty.0, supply), b.run(duty.1, supply));
                    let both = a.current.min(b.current) * 1000.0;
                    prop_assert!(both <= f64::from(RELEASED), "{both} mA in both");
                }
                let (of_a, of_b) = pair.take_reports();
                prop_assert_eq!(of_a.conditions, CoilConditions::NONE);
                prop_assert_eq!(of_b.conditions, CoilConditions::NONE);
            }
        }
    }

    #[test]
    fn the_reports_are_those_of_both_coils_a_first() {
        let mut pair = CoilPair::new(config(), STEP).unwrap();
        let measured = (milliamps(20), milliamps(7));
        let duties = pair.step((milliamps(600), Milliamps::ZERO), measured, Some(millivolts(12.0)));
        let (a, b) = pair.take_reports();
        assert_eq!((a.average_current, b.average_current), measured);
        assert_eq!((a.average_duty, b.average_duty), duties);
    }

    #[test]
    fn a_reversal_takes_the_decay_and_the_pause() {
        let mut pair = CoilPair::new(config(), STEP).unwrap();
        let (mut a, mut measured) = (CoilModel::new(6.0, 0.020), (Milliamps::ZERO, Milliamps::ZERO));
        for _ in 0..200 {
            let duty = pair.step((milliamps(600), Milliamps::ZERO), measured, Some(millivolts(12.0)));
            measured.0 = a.run(duty.0, 12.0);
        }
        let mut waited = 0;
        loop {
            let duty = pair.step((Milliamps::ZERO, milliamps(600)), measured, Some(millivolts(12.0)));
            measured.0 = a.run(duty.0, 12.0);
            if duty.1 != Duty::ZERO {
                break;
            }
            waited += 1;
        }
        // L/R · ln(600 / 50) = 3.33 ms · 2.48 = 8.3 ms, then the pause of 3 ms
        assert!((10..=13).contains(&waited), "{waited} ms");
    }

    #[test]
    fn a_config_of_which_one_part_is_wrong_changes_no_part() {
        let mut pair = CoilPair::new(config(), STEP).unwrap();
        let before = std::format!("{pair:?}");
        let mut wrong = config();
        wrong.a.offset = milliamps(50);
        wrong.b.control.largest = Milliamps::ZERO;
        let error = pair.reconfigure(wrong).unwrap_err();
        assert_eq!(std::format!("{error}"), "coil b: largest current 0 mA is outside 1 to 5000 mA");
        assert_eq!(std::format!("{pair:?}"), before);
        assert!(pair.reconfigure(config()).is_ok());
    }

    /// One wrong value in each part, and what is said of it.
    fn refused() -> [(CoilPairConfig, &'static str); 3] {
        let good = config();
        let wrong = CoilConfig { offset: milliamps(0), ..good.a };
        let exclusion = PairExclusionConfig { released: milliamps(0), ..good.exclusion };
        [
            (CoilPairConfig { a: wrong, ..good }, "coil a: current offset 0 mA is outside 1 to 1000 mA"),
            (CoilPairConfig { b: wrong, ..good }, "coil b: current offset 0 mA is outside 1 to 1000 mA"),
            (CoilPairConfig { exclusion, ..good }, "released current 0 mA is outside 1 to 1000 mA"),
        ]
    }

    #[test]
    fn the_part_that_is_refused_is_named() {
        crate::four_verbs::ends_are_taken_and_what_is_beyond_refused(
            |config| CoilPair::new(config, STEP),
            &[config()],
            &refused(),
        );
    }

    type Readings = ((u16, u16), (u16, u16));

    fn readings() -> impl Strategy<Value = std::vec::Vec<Readings>> {
        let set = prop_oneof![Just((0_u16, 0_u16)), (0_u16..900, Just(0_u16)), (Just(0_u16), 0_u16..900)];
        let measured = prop_oneof![Just((0_u16, 0_u16)), (0_u16..900, 0_u16..900)];
        crate::four_verbs::lasting((set, measured))
    }

    /// All that can be seen of a pair in a step.
    fn seen(pair: &mut CoilPair, (set, measured): Readings) -> impl PartialEq + std::fmt::Debug + use<> {
        let of = |(a, b): (u16, u16)| (milliamps(a), milliamps(b));
        let duties = pair.step(of(set), of(measured), Some(millivolts(12.0)));
        assert_eq!(duties, (pair.a().duty(), pair.b().duty()));
        (duties, pair.take_reports())
    }

    proptest! {
        #[test]
        fn after_a_reset_it_is_as_new(before in readings(), after in readings()) {
            let new = |config| CoilPair::new(config, STEP);
            crate::four_verbs::reset_forgets(config(), new, |pair| pair.reset(), seen, (&before, &after))?;
        }

        #[test]
        fn a_refused_configuration_changes_nothing(before in readings(), after in readings()) {
            crate::four_verbs::refusals_change_nothing(
                (config(), &refused()), |config| CoilPair::new(config, STEP),
                |pair, config| pair.reconfigure(config), seen, (&before, &after)
            )?;
        }

        #[test]
        fn a_pair_at_rest_with_a_new_configuration_is_as_if_built_with_it(stream in readings()) {
            let coil = CoilConfig { control: tuned(7.0, 0.028), tolerance: Permille::new(300).unwrap(), ..config().a };
            let exclusion = PairExclusionConfig { released: milliamps(90), pause: Millis::from_ticks(9) };
            let other = CoilPairConfig { a: coil, b: coil, exclusion };
            let mut changed = CoilPair::new(config(), STEP).unwrap();
            changed.reconfigure(other).unwrap();
            // Loops keep what they know of their coils; a reset makes them forget.
            changed.reset();
            let mut built = CoilPair::new(other, STEP).unwrap();
            for readings in stream {
                prop_assert_eq!(seen(&mut changed, readings), seen(&mut built, readings));
            }
        }
    }
}
