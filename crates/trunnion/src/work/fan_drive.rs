//! The cooler's fan, no faster than it must be.

use core::fmt;

use crate::quantity::{Celsius, Divisor, Millis, Period, Permille, Ratio};
use crate::sense::Reading;

/// What one medium asks of the fan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CooledMedium {
    /// Up to this temperature it needs the least.
    pub cool: Celsius,
    /// From this temperature on it needs all; at least 1 °C above `cool`.
    pub hot: Celsius,
}

/// Rules of a [`FanDrive`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FanDriveConfig<const MEDIA: usize> {
    /// Coolant, hydraulic oil, charge air …, 1 to 8 of them.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    pub media: [CooledMedium; MEDIA],
    /// What the fan always does, 0 to 1000 ‰.
    pub least: Permille,
    /// Time from standstill to full, 100 ms to 60 s.
    pub rise: Millis,
    /// Time from full to standstill, 100 ms to 60 s.
    pub fall: Millis,
}

/// Why a [`FanDriveConfig`] was refused. Media are counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FanDriveConfigError {
    /// A medium is not hotter when it is hot.
    Medium {
        /// Which one.
        medium: u8,
        /// What was asked for.
        given: CooledMedium,
    },
    /// The least is below 0 ‰.
    Least(Permille),
    /// A time is outside 100 ms to 60 s.
    Time(Millis),
}

impl fmt::Display for FanDriveConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Medium { medium, given } => write!(
                formatter,
                "medium {medium} cool at {} and hot at {} tenths of a degree: set hot 10 tenths or more above cool",
                given.cool.raw(),
                given.hot.raw()
            ),
            Self::Least(given) => write!(formatter, "{} ‰ at least: set 0 ‰ to 1000 ‰", given.raw()),
            Self::Time(given) => {
                write!(formatter, "from end to end in {given}: set {SHORTEST} to {LONGEST}")
            }
        }
    }
}

impl core::error::Error for FanDriveConfigError {}

const SHORTEST: Millis = Millis::millis(100);
const LONGEST: Millis = Millis::millis(60_000);

/// Turns a hydraulic or electric fan as fast as the hottest medium needs it.
///
/// Each medium asks for `least` up to its `cool` temperature, for all from its `hot` temperature on, and for what lies on
/// the straight line between; the highest wins. A medium without a valid reading asks for all: an engine that is cooled
/// too much costs fuel, one that is not costs an engine. The fan moves at most from end to end in `rise` and `fall`, which
/// spares its motor and the operator's ears, and never passes what is asked. Gives 0 to 1, rounded to nearest with ties
/// away from zero; which current that is, and whether none of it is full speed, is the valve's.
///
#[doc = include_str!("../../docs/work-fan_drive.svg")]
///
/// ```
/// use trunnion::quantity::{Celsius, Millis, Period, Permille};
/// use trunnion::sense::{Flaw, Reading};
/// use trunnion::work::{CooledMedium, FanDrive, FanDriveConfig};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let celsius = |degrees: i16| Celsius::new(degrees * 10).unwrap();
/// let coolant = CooledMedium { cool: celsius(80), hot: celsius(100) };
/// let oil = CooledMedium { cool: celsius(50), hot: celsius(90) };
/// let mut fan = FanDrive::new(
///     FanDriveConfig {
///         media: [coolant, oil],
///         least: Permille::new(200).unwrap(),
///         rise: Millis::millis(5_000),
///         fall: Millis::millis(10_000),
///     },
///     TICK,
/// )
/// .unwrap();
/// for _ in 0..1_000 {
///     fan.step([Reading::Valid(celsius(85)), Reading::Valid(celsius(70))]);
/// }
/// assert_eq!(fan.output().to_permille().raw(), 600); // the oil is half way: 200 ‰ + half of 800 ‰
/// for _ in 0..1_000 {
///     fan.step([Reading::Faulted(Flaw::WireBreak), Reading::Valid(celsius(70))]);
/// }
/// assert_eq!(fan.output().to_permille().raw(), 1_000);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FanDrive<const MEDIA: usize> {
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    media: [Medium; MEDIA],
    least: Ratio,
    rise: Ratio,
    fall: Ratio,
    period: Period,
    output: Ratio,
}

/// A [`CooledMedium`] with the width between its corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Medium {
    cool: Celsius,
    width: Divisor,
}

impl<const MEDIA: usize> FanDrive<MEDIA> {
    /// Standing. Refuses media that are hot before they are cool and values outside their range; none or more than 8 media
    /// are refused by the compiler.
    ///
    /// # Errors
    ///
    /// [`FanDriveConfigError`]: which rule the config breaks, with its value.
    pub fn new(config: FanDriveConfig<MEDIA>, period: Period) -> Result<Self, FanDriveConfigError> {
        const { assert!(MEDIA >= 1 && MEDIA <= 8, "a fan cools 1 to 8 media") };
        for (medium, given) in (1_u8..).zip(config.media) {
            if given.hot.raw().saturating_sub(given.cool.raw()) < 10 {
                return Err(FanDriveConfigError::Medium { medium, given });
            }
        }
        if config.least < Permille::ZERO {
            return Err(FanDriveConfigError::Least(config.least));
        }
        for time in [config.rise, config.fall] {
            if time < SHORTEST || time > LONGEST {
                return Err(FanDriveConfigError::Time(time));
            }
        }
        Ok(Self {
            media: config.media.map(|medium| {
                let width = medium.hot.raw().abs_diff(medium.cool.raw());
                Medium { cool: medium.cool, width: Divisor::of(width.into()) }
            }),
            least: config.least.into(),
            rise: period.share_of(config.rise),
            fall: period.share_of(config.fall),
            period,
            output: Ratio::ZERO,
        })
    }

    /// Other rules as a whole, or none; the fan goes on from where it is.
    ///
    /// # Errors
    ///
    /// [`FanDriveConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: FanDriveConfig<MEDIA>) -> Result<(), FanDriveConfigError> {
        let output = self.output;
        *self = Self { output, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// Standing.
    pub fn reset(&mut self) {
        self.output = Ratio::ZERO;
    }

    /// One period, with the temperatures in the order of the media.
    pub fn step(&mut self, temperatures: [Reading<Celsius>; MEDIA]) -> Ratio {
        let asked = self.media.iter().zip(temperatures).fold(self.least, |highest, (medium, temperature)| {
            highest.at_least(self.asked(medium, temperature))
        });
        self.output = if asked > self.output {
            self.output.plus(self.rise).at_most(asked)
        } else {
            self.output.minus(self.fall).at_least(asked)
        };
        self.output
    }

    /// What the last step gave.
    pub const fn output(&self) -> Ratio {
        self.output
    }

    fn asked(&self, medium: &Medium, temperature: Reading<Celsius>) -> Ratio {
        let Reading::Valid(temperature) = temperature else {
            return Ratio::ONE;
        };
        if temperature <= medium.cool {
            return self.least;
        }
        let above = temperature.raw().abs_diff(medium.cool.raw());
        let along = Ratio::within_range(medium.width.fraction(above.into()) as i32);
        self.least.plus(Ratio::ONE.minus(self.least).times(along))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn celsius(tenths: i16) -> Celsius {
        Celsius::new(tenths).unwrap()
    }

    fn config(least: i16) -> FanDriveConfig<2> {
        FanDriveConfig {
            media: [
                CooledMedium { cool: celsius(800), hot: celsius(1_000) },
                CooledMedium { cool: celsius(500), hot: celsius(900) },
            ],
            least: Permille::new(least).unwrap(),
            rise: Millis::millis(1_000),
            fall: Millis::millis(2_000),
        }
    }

    fn temperature() -> impl Strategy<Value = Reading<Celsius>> {
        prop_oneof![6 => (-400_i16..1_500).prop_map(|raw| Reading::Valid(celsius(raw))), 1 => Just(Reading::Faulted(Flaw::WireBreak))]
    }

    /// From the words of the docs, in floating point.
    fn asked(least: i16, temperatures: [Reading<Celsius>; 2]) -> f64 {
        let least = f64::from(least) / 1000.0;
        let one = |cool: f64, hot: f64, reading: Reading<Celsius>| match reading.valid() {
            None => 1.0,
            Some(value) => {
                least + (1.0 - least) * ((f64::from(value.raw()) - cool) / (hot - cool)).clamp(0.0, 1.0)
            }
        };
        one(800.0, 1_000.0, temperatures[0]).max(one(500.0, 900.0, temperatures[1]))
    }

    proptest! {
        #[test]
        fn the_hottest_medium_decides_and_the_fan_comes_to_rest_there(
            least in 0_i16..=1_000, before in proptest::array::uniform2(temperature()), now in proptest::array::uniform2(temperature())
        ) {
            let mut fan = FanDrive::new(config(least), TICK).unwrap();
            for temperatures in [before, now] {
                for _ in 0..201 {
                    fan.step(temperatures);
                }
                let found = f64::from(fan.output().to_bits()) / f64::from(Ratio::ONE_BITS);
                prop_assert!((found - asked(least, temperatures)).abs() < 1e-8, "{}", found);
            }
        }

        #[test]
        fn the_fan_keeps_its_pace_and_its_range_whatever_it_is_told(
            least in 0_i16..=1_000, stream in proptest::collection::vec(proptest::array::uniform2(temperature()), 1..100)
        ) {
            let mut fan = FanDrive::new(config(least), TICK).unwrap();
            let mut before = Ratio::ZERO;
            for temperatures in stream {
                let now = fan.step(temperatures);
                prop_assert!(now >= Ratio::ZERO && now <= Ratio::ONE);
                let change = f64::from(now.to_bits() - before.to_bits()) / f64::from(Ratio::ONE_BITS);
                prop_assert!(change <= 0.01 + 1e-8 && -change <= 0.005 + 1e-8);
                before = now;
            }
        }

        #[test]
        fn hotter_never_asks_for_less(least in 0_i16..=1_000, one in -400_i16..1_500, other in -400_i16..1_500) {
            let at = |raw: i16| {
                let mut fan = FanDrive::new(config(least), TICK).unwrap();
                for _ in 0..101 {
                    fan.step([Reading::Valid(celsius(raw)), Reading::Valid(celsius(0))]);
                }
                fan.output()
            };
            prop_assert!(at(one.min(other)) <= at(one.max(other)));
        }
    }

    #[test]
    fn each_broken_rule_is_refused_with_what_to_do_and_changes_nothing() {
        let mut fan = FanDrive::new(config(200), TICK).unwrap();
        fan.step([Reading::Faulted(Flaw::Silent); 2]);
        let mut lukewarm = config(200);
        lukewarm.media[1].hot = celsius(509);
        let refusals = [
            (
                lukewarm,
                "medium 2 cool at 500 and hot at 509 tenths of a degree: set hot 10 tenths or more above cool",
            ),
            (
                FanDriveConfig { least: Permille::new(-1).unwrap(), ..config(0) },
                "-1 ‰ at least: set 0 ‰ to 1000 ‰",
            ),
            (
                FanDriveConfig { rise: Millis::millis(99), ..config(0) },
                "from end to end in 99 ms: set 100 ms to 60000 ms",
            ),
            (
                FanDriveConfig { fall: Millis::millis(60_001), ..config(0) },
                "from end to end in 60001 ms: set 100 ms to 60000 ms",
            ),
        ];
        for (bad, message) in refusals {
            assert_eq!(std::format!("{}", fan.reconfigure(bad).unwrap_err()), message);
        }
        assert_eq!(fan.output().to_permille().raw(), 10);
        fan.reconfigure(config(1_000)).unwrap();
        assert_eq!(fan.output().to_permille().raw(), 10, "it goes on from where it is");
        fan.reset();
        assert_eq!(fan.output(), Ratio::ZERO);
    }
}
