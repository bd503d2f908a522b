//! A characteristic given by points.

use crate::declare::Field;
use crate::quantity::{product, quotient};

/// Why the points of a [`LookupTable`] were refused. Points are counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LookupTableError {
    /// The input of a point is not above that of the point before it.
    InputsDoNotAscend {
        /// Which point.
        point: u8,
    },
    /// The output of a point turns back from the way that the outputs before it went.
    OutputsTurnBack {
        /// Which point.
        point: u8,
    },
}

impl core::fmt::Display for LookupTableError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::InputsDoNotAscend { point } => {
                write!(formatter, "point {point}: its input must be above that of the point before")
            }
            Self::OutputsTurnBack { point } => {
                write!(formatter, "point {point}: outputs must all rise or all fall, and this one turns back")
            }
        }
    }
}

impl core::error::Error for LookupTableError {}

/// A monotone characteristic, straight between its points: thermistor, tank sender, pump curve.
///
/// Meets every point exactly, rises or falls all the way, and stays at the first and the last output beyond
/// the ends; in between it rounds to nearest with ties away from zero. Fewer than 2 or more than 64 points, and types whose raw
/// range is wider than 2³¹, are refused by the compiler. It costs at most one comparison a point and one
/// division.
///
#[doc = include_str!("../../docs/sense-lookup_table.svg")]
///
/// ```
/// use trunnion::quantity::{Celsius, Centiohms};
/// use trunnion::sense::LookupTable;
///
/// // Pt100 to IEC 60751: 100.00 Ω at 0 °C, 119.40 Ω at 50 °C, 138.51 Ω at 100 °C.
/// let point = |centiohms, tenths| (Centiohms::new(centiohms).unwrap(), Celsius::new(tenths).unwrap());
/// let oil = LookupTable::new([point(10_000, 0), point(11_940, 500), point(13_851, 1_000)]).unwrap();
/// assert_eq!(oil.step(Centiohms::new(11_940).unwrap()), Celsius::new(500).unwrap());
/// assert_eq!(oil.step(Centiohms::new(10_970).unwrap()), Celsius::new(250).unwrap());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LookupTable<X, Y, const POINTS: usize> {
    #[cfg_attr(
        feature = "snapshot",
        serde(
            with = "serde_big_array::BigArray",
            bound(
                serialize = "X: serde::Serialize, Y: serde::Serialize",
                deserialize = "X: serde::Deserialize<'de>, Y: serde::Deserialize<'de>"
            )
        )
    )]
    points: [(X, Y); POINTS],
}

impl<X: Field, Y: Field, const POINTS: usize> LookupTable<X, Y, POINTS> {
    /// Refuses inputs that do not ascend and outputs that turn back. Equal outputs are allowed.
    ///
    /// # Errors
    ///
    /// [`LookupTableError`]: which rule the config breaks, with its value.
    pub fn new(points: [(X, Y); POINTS]) -> Result<Self, LookupTableError> {
        const {
            assert!(POINTS >= 2 && POINTS <= 64, "a table has 2 to 64 points");
            assert!(
                X::MAX_RAW.saturating_sub(X::MIN_RAW) <= 1 << 31
                    && Y::MAX_RAW.saturating_sub(Y::MIN_RAW) <= 1 << 31,
                "a table computes in 64 bits: the raw range of its types is at most 2^31"
            )
        };
        let mut way = 0_i64;
        for (place, (before, after)) in (2_u8..=u8::MAX).zip(points.iter().zip(points.iter().skip(1))) {
            if after.0.to_raw() <= before.0.to_raw() {
                return Err(LookupTableError::InputsDoNotAscend { point: place });
            }
            let rise = after.1.to_raw().saturating_sub(before.1.to_raw()).signum();
            if rise.saturating_mul(way) < 0 {
                return Err(LookupTableError::OutputsTurnBack { point: place });
            }
            if rise != 0 {
                way = rise;
            }
        }
        Ok(Self { points })
    }

    /// Takes other points as a whole or refuses them as a whole.
    ///
    /// # Errors
    ///
    /// [`LookupTableError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, points: [(X, Y); POINTS]) -> Result<(), LookupTableError> {
        *self = Self::new(points)?;
        Ok(())
    }

    /// The output at `input`.
    pub fn step(&self, input: X) -> Y {
        let input = input.to_raw();
        let mut before: Option<&(X, Y)> = None;
        for point in &self.points {
            if input <= point.0.to_raw() {
                let raw = |(x, y): &(X, Y)| (x.to_raw(), y.to_raw());
                return before.map_or(point.1, |before| Y::held(between(raw(before), raw(point), input)));
            }
            before = Some(point);
        }
        before.map_or(Y::held(0), |last| last.1)
    }
}

/// On the line from `low` to `high`; widths are at most 2³¹, so that nothing wraps.
fn between(low: (i64, i64), high: (i64, i64), input: i64) -> i64 {
    let rise = high.1.wrapping_sub(low.1);
    let along = input.wrapping_sub(low.0) as u32;
    let width = high.0.wrapping_sub(low.0) as u32;
    let dividend = product(rise.unsigned_abs() as u32, along).wrapping_add(u64::from(width / 2));
    let risen = i64::from(quotient(dividend, width));
    low.1.wrapping_add(if rise < 0 { risen.wrapping_neg() } else { risen })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Celsius, Centiohms, Millivolts, Ratio, Rpm};
    use proptest::prelude::*;
    use std::string::ToString;

    fn celsius(tenths: f64) -> Celsius {
        Celsius::new(tenths.round() as i16).unwrap()
    }

    /// Resistance of a Pt100 above 0 °C: R = 100 Ω · (1 + A·t + B·t²) with A 3.9083e-3 and B −5.775e-7
    /// (IEC 60751, coefficients from memory; they give its published 138.51 Ω at 100 °C and 157.33 Ω at 150 °C).
    fn pt100(celsius: f64) -> f64 {
        100.0 * (1.0 + 3.9083e-3 * celsius - 5.775e-7 * celsius * celsius)
    }

    #[test]
    fn a_pt100_table_of_50_degrees_a_point_is_within_two_tenths_of_a_degree() {
        assert!((pt100(100.0) - 138.51).abs() < 0.005 && (pt100(150.0) - 157.33).abs() < 0.005);
        let point = |t: f64| (Centiohms::new((100.0 * pt100(t)).round() as u16).unwrap(), celsius(10.0 * t));
        let table = LookupTable::new([point(0.0), point(50.0), point(100.0), point(150.0)]).unwrap();
        for t in 0..=150 {
            let read = table.step(Centiohms::new((100.0 * pt100(f64::from(t))).round() as u16).unwrap());
            // A chord over 50 K is off by at most 50² / 8 · 2 B / A = 0.10 K, resistance and output round.
            assert!((read.raw() - 10 * t as i16).abs() <= 2, "{} instead of {t}0", read.raw());
        }
    }

    /// A thermistor by its beta formula, R = R25 · exp(B · (1/T − 1/298.15 K)), in a divider with its R25.
    #[test]
    fn a_thermistor_in_a_divider_falls_all_the_way_and_stays_within_a_kelvin() {
        let share = |t: f64| {
            let resistance = (3_950.0 * (1.0 / (t + 273.15) - 1.0 / 298.15)).exp();
            resistance / (1.0 + resistance)
        };
        let point = |t: i32| {
            let bits = (share(f64::from(t)) * f64::from(Ratio::ONE_BITS)).round() as i32;
            (Ratio::from_bits(bits).unwrap(), celsius(10.0 * f64::from(t)))
        };
        let table =
            LookupTable::new([120, 105, 90, 75, 60, 45, 30, 15, 0, -10, -20, -30].map(point)).unwrap();
        for t in -30..=120 {
            assert!((i32::from(table.step(point(t).0).raw()) - 10 * t).abs() <= 10, "{t} °C");
        }
    }

    #[test]
    fn points_in_disorder_are_refused_by_their_number_and_change_nothing() {
        let mut table = LookupTable::new([(0_u16, 0_i16), (10, 5), (20, 5)]).unwrap();
        let error = table.reconfigure([(0, 0), (10, 5), (10, 6)]).unwrap_err();
        assert_eq!(error.to_string(), "point 3: its input must be above that of the point before");
        let error = table.reconfigure([(0, 0), (10, -5), (20, -4)]).unwrap_err();
        assert_eq!(error.to_string(), "point 3: outputs must all rise or all fall, and this one turns back");
        assert_eq!(table.step(20), 5);
        assert!(LookupTable::new([(0_u16, 1_i16), (1, 1), (2, 0), (3, 0)]).is_ok());
    }

    #[test]
    fn the_widest_steps_of_the_widest_types_are_exact() {
        let table =
            LookupTable::new([(Ratio::MINUS_ONE, Ratio::ONE), (Ratio::ONE, Ratio::MINUS_ONE)]).unwrap();
        for bits in [-Ratio::ONE_BITS, -7, 0, 1, Ratio::ONE_BITS] {
            let ratio = Ratio::from_bits(bits).unwrap();
            assert_eq!(table.step(ratio), ratio.reversed());
        }
    }

    proptest! {
        #[test]
        fn the_table_meets_its_points_and_is_the_nearest_to_the_line_between_them(
            inputs in proptest::array::uniform5(1_u16..=5_000), rises in proptest::array::uniform5(0_i16..=200),
            falls: bool, probe: u16
        ) {
            let (mut x, mut y) = (0, 0);
            let points = [0, 1, 2, 3, 4].map(|place: usize| {
                x += inputs[place];
                y += if falls { -rises[place] } else { rises[place] };
                (Millivolts::new(x).unwrap(), Celsius::new(y).unwrap())
            });
            let table = LookupTable::new(points).unwrap();
            for (input, output) in points {
                prop_assert_eq!(table.step(input), output);
            }
            let given = i64::from(table.step(Millivolts::new(probe).unwrap()).raw());
            let place = points.iter().position(|(input, _)| probe <= input.raw());
            match place {
                None => prop_assert_eq!(given, i64::from(points[4].1.raw())),
                Some(0) => prop_assert_eq!(given, i64::from(points[0].1.raw())),
                Some(place) => {
                    let raw = |place: usize| (i64::from(points[place].0.raw()), i64::from(points[place].1.raw()));
                    let ((x0, y0), (x1, y1)) = (raw(place - 1), raw(place));
                    let error = (given - y0) * (x1 - x0) - (y1 - y0) * (i64::from(probe) - x0);
                    prop_assert!(2 * error.abs() <= x1 - x0);
                }
            }
        }

        #[test]
        fn more_input_never_turns_the_output_back(
            rises in proptest::array::uniform4(0_i32..=1_000_000), a in -10_i32..=40_000, b in -10_i32..=40_000
        ) {
            let mut y = -5;
            let points = [0, 1, 2, 3].map(|place: usize| {
                y += rises[place];
                (Rpm::new(place as i32 * 10_001).unwrap(), Ratio::from_bits(y).unwrap())
            });
            let table = LookupTable::new(points).unwrap();
            let at = |x: i32| table.step(Rpm::new(x).unwrap());
            prop_assert!(at(a.min(b)) <= at(a.max(b)));
        }
    }

    proptest! {
        #[test]
        fn a_table_that_was_exchanged_reads_as_one_built_so(raw in -600..600) {
            let of = |ends: [(i32, i32); 2]| ends.map(|(x, y)| (Rpm::new(x).unwrap(), Rpm::new(y).unwrap()));
            let (one, other) = (of([(-500, 9), (500, 90)]), of([(-100, 700), (300, -70)]));
            let mut table = LookupTable::new(one).unwrap();
            table.reconfigure(other).unwrap();
            let input = Rpm::new(raw).unwrap();
            prop_assert_eq!(table.step(input), LookupTable::new(other).unwrap().step(input));
            prop_assert!(table.reconfigure(of([(5, 0), (5, 1)])).is_err());
            prop_assert_eq!(table.step(input), LookupTable::new(other).unwrap().step(input));
        }
    }
}
