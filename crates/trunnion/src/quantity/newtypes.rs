//! Physical quantities as integers in the unit of the trade.

use super::rounding::{fraction, signed_part};
use crate::declare::Field;

/// A value in its unit, exact: as many places as its steps need, none where it is whole.
fn shown(
    formatter: &mut core::fmt::Formatter<'_>,
    raw: i64,
    numerator: i64,
    denominator: i64,
    unit: &str,
) -> core::fmt::Result {
    let thousandths =
        raw.saturating_mul(numerator.saturating_mul(1_000)).checked_div(denominator).unwrap_or(0);
    let (magnitude, sign) = (thousandths.unsigned_abs(), if thousandths < 0 { "-" } else { "" });
    let (whole, mut rest, mut places) = (magnitude / 1_000, magnitude % 1_000, 3);
    if rest == 0 {
        return write!(formatter, "{sign}{whole} {unit}");
    }
    if rest.is_multiple_of(100) {
        (rest, places) = (rest / 100, 1);
    } else if rest.is_multiple_of(10) {
        (rest, places) = (rest / 10, 2);
    }
    write!(formatter, "{sign}{whole}.{rest:0places$} {unit}")
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident($raw:ident) in $low:literal..=$high:literal, $unit:literal, $numerator:literal / $denominator:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        pub struct $name($raw);

        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0);
            /// Smallest value.
            pub const MIN: Self = Self($low);
            /// Largest value.
            pub const MAX: Self = Self($high);

            /// From the raw integer; `None` outside the range.
            pub const fn new(raw: $raw) -> Option<Self> {
                let wide = raw as i64;
                if wide < $low || wide > $high { None } else { Some(Self(raw)) }
            }

            /// From any integer, held at the nearer end of the range when outside of it.
            pub const fn saturating(raw: i64) -> Self {
                if raw < $low { Self::MIN } else if raw > $high { Self::MAX } else { Self(raw as $raw) }
            }

            /// The raw integer.
            pub const fn raw(self) -> $raw {
                self.0
            }

            /// From a raw integer that the caller knows to be in range.
            #[allow(dead_code)] // not every quantity is made so
            pub(crate) const fn within_range(raw: $raw) -> Self {
                Self(raw)
            }

            /// Held at the nearer end of the range: 32 bits are cheaper than 64.
            const fn held(raw: i32) -> Self {
                if raw < $low { Self::MIN } else if raw > $high { Self::MAX } else { Self(raw as $raw) }
            }

            /// Sum, held in range.
            #[must_use]
            pub const fn plus(self, other: Self) -> Self {
                Self::held((self.0 as i32).wrapping_add(other.0 as i32))
            }

            /// Difference, held in range.
            #[must_use]
            pub const fn minus(self, other: Self) -> Self {
                Self::held((self.0 as i32).wrapping_sub(other.0 as i32))
            }

            /// Distance between two values, held in range.
            #[must_use]
            pub const fn distance(self, other: Self) -> Self {
                Self::held((self.0 as i32).wrapping_sub(other.0 as i32).wrapping_abs())
            }

            /// The smaller of two.
            #[must_use]
            pub const fn at_most(self, limit: Self) -> Self {
                if self.0 > limit.0 { limit } else { self }
            }

            /// The larger of two.
            #[must_use]
            pub const fn at_least(self, limit: Self) -> Self {
                if self.0 < limit.0 { limit } else { self }
            }

            /// Scaled by a ratio, rounded to nearest with ties away from zero.
            #[must_use]
            pub const fn scaled(self, by: super::Ratio) -> Self {
                Self::held(signed_part(self.0 as i32, by.to_bits()))
            }

            /// Share of `whole`, held in [-1, 1]; a whole of zero or below gives zero.
            #[must_use]
            pub const fn share_of(self, whole: Self) -> super::Ratio {
                if (whole.0 as i32) <= 0 {
                    return super::Ratio::ZERO;
                }
                let magnitude = fraction((self.0 as i32).unsigned_abs(), (whole.0 as i32).unsigned_abs());
                let magnitude = super::Ratio::within_range(magnitude as i32);
                if (self.0 as i32) < 0 { magnitude.reversed() } else { magnitude }
            }
        }

        // Sums of two are made in 32 bits, and parts are taken of magnitudes up to 2³⁰.
        const _: () = assert!($low >= -(1 << 30) && $high <= 1 << 30);

        impl core::fmt::Display for $name {
            fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                shown(formatter, self.0 as i64, $numerator, $denominator, $unit)
            }
        }

        crate::in_snapshot!($name, write_field, read_field);

        impl Field for $name {
            const BYTES: u8 = size_of::<$raw>() as u8;
            const UNIT: &'static str = $unit;
            const NUMERATOR: i64 = $numerator;
            const DENOMINATOR: i64 = $denominator;
            const MIN_RAW: i64 = $low;
            const MAX_RAW: i64 = $high;

            fn to_raw(self) -> i64 {
                self.0 as i64
            }

            fn from_raw(raw: i64) -> Option<Self> {
                ($low..=$high).contains(&raw).then(|| Self(raw as $raw))
            }

            fn held(raw: i64) -> Self {
                Self::saturating(raw)
            }
        }
    };
}

quantity! {
    /// Thousandths of full scale, as parameters and displays show a share.
    Permille(i16) in -1000..=1000, "‰", 1 / 1
}
quantity! {
    /// Rotational speed in eighths of a revolution a minute (the resolution of SAE J1939-71 engine speed).
    ///
    /// ```
    /// use trunnion::quantity::Rpm;
    /// assert_eq!(Rpm::from_whole(2200).raw(), 17_600);
    /// ```
    Rpm(i32) in -524_288..=524_287, "rpm", 1 / 8
}
quantity! {
    /// Coil current.
    Milliamps(u16) in 0..=65_535, "mA", 1 / 1
}
quantity! {
    /// Current of a transmitter, where the limits of NAMUR NE 43 need tenths of a milliamp.
    Microamps(u16) in 0..=65_535, "mA", 1 / 1_000
}
quantity! {
    /// Voltage at a pin or a supply.
    Millivolts(u16) in 0..=65_535, "mV", 1 / 1
}
quantity! {
    /// Pressure above ambient.
    Kilopascals(i32) in -100_000..=100_000, "kPa", 1 / 1
}
quantity! {
    /// Temperature in tenths of a degree.
    Celsius(i16) in -2_732..=10_000, "°C", 1 / 10
}
quantity! {
    /// Share of a PWM period that a coil is switched on, in hundredths of a percent.
    Duty(u16) in 0..=10_000, "%", 1 / 100
}
quantity! {
    /// Resistance of a coil in hundredths of an ohm.
    Centiohms(u16) in 0..=65_535, "Ω", 1 / 100
}
quantity! {
    /// Frequency of a signal: pickup pulses, dither, PWM. Thousandths of a hertz, up to 1 MHz.
    Hertz(u32) in 0..=1_000_000_000, "Hz", 1 / 1_000
}
quantity! {
    /// Time from one edge of a signal to the next like it, as capture hardware gives it. Tenths of a microsecond, up to
    /// 100 s.
    SignalPeriod(u32) in 0..=1_000_000_000, "µs", 1 / 10
}

impl Rpm {
    /// From whole revolutions a minute, held in range.
    pub const fn from_whole(rpm: i32) -> Self {
        Self::saturating((rpm as i64).wrapping_mul(8))
    }

    /// Without direction.
    #[must_use]
    pub const fn magnitude(self) -> Self {
        if self.raw() < 0 { Self::saturating((self.raw() as i64).wrapping_neg()) } else { self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Ratio, scale_symmetric};
    use proptest::prelude::*;

    #[test]
    fn values_outside_the_range_are_refused_or_held() {
        assert_eq!(Permille::new(1001), None);
        assert_eq!(Permille::saturating(70_000), Permille::MAX);
        assert_eq!(Duty::saturating(-3), Duty::ZERO);
        assert_eq!(Duty::from_raw(10_001), None);
        assert_eq!(Milliamps::ZERO.minus(Milliamps::MAX), Milliamps::ZERO);
    }

    #[test]
    fn a_quantity_is_shown_in_its_unit_with_the_places_that_it_needs() {
        use std::string::ToString;
        assert_eq!(Rpm::new(-17_601).unwrap().to_string(), "-2200.125 rpm");
        assert_eq!(Rpm::from_whole(900).to_string(), "900 rpm");
        assert_eq!(Rpm::ZERO.to_string(), "0 rpm");
        assert_eq!(Celsius::new(-5).unwrap().to_string(), "-0.5 °C");
        assert_eq!(Duty::new(4_005).unwrap().to_string(), "40.05 %");
        assert_eq!(Hertz::new(1).unwrap().to_string(), "0.001 Hz");
        assert_eq!(Microamps::new(20_500).unwrap().to_string(), "20.5 mA");
        assert_eq!(Milliamps::MAX.to_string(), "65535 mA");
        assert_eq!(Rpm::MIN.to_string(), "-65536 rpm");
    }

    #[test]
    fn scaling_rounds_to_nearest_and_a_share_undoes_it() {
        let end = Milliamps::new(701).unwrap();
        assert_eq!(end.scaled(Ratio::from_permille(500).unwrap()).raw(), 351);
        assert_eq!(end.scaled(Ratio::ONE), end);
        assert_eq!(end.share_of(end), Ratio::ONE);
        assert_eq!(end.share_of(Milliamps::ZERO), Ratio::ZERO);
    }

    #[test]
    fn opposite_speeds_have_the_same_magnitude() {
        assert_eq!(Rpm::from_whole(-900).magnitude(), Rpm::from_whole(900));
        assert_eq!(Rpm::MIN.magnitude(), Rpm::MAX);
    }

    proptest! {
        #[test]
        fn sums_parts_and_shares_are_the_exact_ones_held_in_range(a in -524_288i32..524_288, b in -524_288i32..524_288, by in -Ratio::ONE_BITS..=Ratio::ONE_BITS) {
            let (first, second) = (Rpm::new(a).unwrap(), Rpm::new(b).unwrap());
            let held = |exact: i64| Rpm::saturating(exact);
            let (a, b) = (i64::from(a), i64::from(b));
            prop_assert_eq!(first.plus(second), held(a + b));
            prop_assert_eq!(first.minus(second), held(a - b));
            prop_assert_eq!(first.distance(second), held((a - b).abs()));
            let ratio = Ratio::from_bits(by).unwrap();
            prop_assert_eq!(first.scaled(ratio), held(scale_symmetric(a, by.into(), Ratio::ONE_BITS.into())));
            prop_assert_eq!(first.share_of(second), Ratio::from_quotient(a, b));
        }
    }
}
