//! A command or a share: never outside -1 to 1.

use fixed::types::I2F30;

use super::Permille;
use super::rounding::{SHARE_BITS, fraction, scale_symmetric, shift_symmetric, signed_part};

/// A share of full scale in [-1, 1], resolved to 2⁻³⁰.
///
/// Commands, intents and scale factors travel as `Ratio`. No operation leaves the range: sums saturate,
/// products cannot overflow. Every rounding is to nearest with ties away from zero, so it is symmetric
/// about zero and left never differs from right by a bit.
///
/// ```
/// use trunnion::quantity::Ratio;
///
/// let lever = Ratio::from_permille(-750).unwrap();
/// let speed_limit = Ratio::from_permille(500).unwrap();
/// assert_eq!(lever.times(speed_limit), Ratio::from_permille(-375).unwrap());
/// assert_eq!(Ratio::ONE.plus(lever), Ratio::from_permille(250).unwrap());
/// assert_eq!(Ratio::ONE.plus(Ratio::ONE), Ratio::ONE);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Ratio(I2F30);

crate::in_snapshot!(Ratio, write_field, read_field);

#[cfg(feature = "defmt")]
impl defmt::Format for Ratio {
    fn format(&self, formatter: defmt::Formatter<'_>) {
        defmt::write!(formatter, "{=i32}‰", self.to_permille().raw() as i32);
    }
}

impl Ratio {
    /// Number of steps of the resolution in 1.0.
    pub const ONE_BITS: i32 = 1 << 30;
    /// No command.
    pub const ZERO: Self = Self(I2F30::ZERO);
    /// Full scale forward, raised, right.
    pub const ONE: Self = Self(I2F30::from_bits(Self::ONE_BITS));
    /// Full scale the other way.
    pub const MINUS_ONE: Self = Self(I2F30::from_bits(-Self::ONE_BITS));

    /// From steps of 2⁻³⁰; `None` outside [-1, 1].
    pub const fn from_bits(bits: i32) -> Option<Self> {
        if bits >= -Self::ONE_BITS && bits <= Self::ONE_BITS {
            Some(Self(I2F30::from_bits(bits)))
        } else {
            None
        }
    }

    /// From steps of 2⁻³⁰, held at the nearer end of the range when outside of it.
    pub const fn saturating(bits: i64) -> Self {
        const HIGH: i64 = Ratio::ONE_BITS as i64;
        const LOW: i64 = -HIGH;
        let held = if bits > HIGH {
            HIGH
        } else if bits < LOW {
            LOW
        } else {
            bits
        };
        Self(I2F30::from_bits(held as i32))
    }

    /// From thousandths, rounded to nearest; `None` outside [-1000, 1000].
    pub const fn from_permille(permille: i32) -> Option<Self> {
        if permille < -1000 || permille > 1000 {
            return None;
        }
        Some(Self::of_thousandths(permille))
    }

    /// `numerator / denominator`, rounded to nearest with ties away from zero and held in [-1, 1].
    ///
    /// A denominator of zero or below gives zero. Magnitudes above 2³² are held there first.
    pub const fn from_quotient(numerator: i64, denominator: i64) -> Self {
        const LIMIT: i64 = 1 << 32;
        if denominator > 0 && denominator < LIMIT {
            let magnitude = numerator.unsigned_abs();
            let magnitude = if magnitude < denominator.unsigned_abs() {
                fraction(magnitude as u32, denominator as u32) as i32
            } else {
                Self::ONE_BITS
            };
            return Self(I2F30::from_bits(if numerator < 0 { magnitude.wrapping_neg() } else { magnitude }));
        }
        let numerator = if numerator > LIMIT {
            LIMIT
        } else if numerator < -LIMIT {
            -LIMIT
        } else {
            numerator
        };
        Self::saturating(scale_symmetric(numerator, Self::ONE_BITS as i64, denominator))
    }

    /// From steps of 2⁻³⁰, held at the nearer end of the range when outside of it: 32 bits are cheaper than 64.
    pub(crate) const fn held(bits: i32) -> Self {
        let held = if bits > Self::ONE_BITS {
            Self::ONE_BITS
        } else if bits < -Self::ONE_BITS {
            -Self::ONE_BITS
        } else {
            bits
        };
        Self(I2F30::from_bits(held))
    }

    /// From steps of 2⁻³⁰ that the caller knows to be in range.
    pub(crate) const fn within_range(bits: i32) -> Self {
        Self(I2F30::from_bits(bits))
    }

    /// Steps of 2⁻³⁰.
    pub const fn to_bits(self) -> i32 {
        self.0.to_bits()
    }

    /// From -1000 to 1000 thousandths, which the caller holds: rounded to nearest.
    const fn of_thousandths(thousandths: i32) -> Self {
        // 2³⁰ / 1000 is so many steps and so many thousandths of one.
        const STEPS: i32 = Ratio::ONE_BITS / 1000;
        const REST: i32 = Ratio::ONE_BITS % 1000;
        let half = if thousandths < 0 { -500 } else { 500 };
        let rest = thousandths.wrapping_mul(REST).wrapping_add(half) / 1000;
        Self(I2F30::from_bits(thousandths.wrapping_mul(STEPS).wrapping_add(rest)))
    }

    /// In thousandths, rounded to nearest with ties away from zero.
    #[must_use]
    pub const fn to_permille(self) -> Permille {
        Permille::saturating(shift_symmetric(self.to_bits() as i64, 1000, SHARE_BITS))
    }

    /// Sum, held in [-1, 1].
    #[must_use]
    pub const fn plus(self, other: Self) -> Self {
        Self::held(self.to_bits().saturating_add(other.to_bits()))
    }

    /// Difference, held in [-1, 1].
    #[must_use]
    pub const fn minus(self, other: Self) -> Self {
        Self::held(self.to_bits().saturating_sub(other.to_bits()))
    }

    /// Product: its magnitude never exceeds that of either factor.
    #[must_use]
    pub const fn times(self, other: Self) -> Self {
        Self(I2F30::from_bits(signed_part(self.to_bits(), other.to_bits())))
    }

    /// Quotient, held in [-1, 1]; a divisor of zero or below gives zero. For a divisor that stays, [`super::Divisor`]
    /// costs less.
    #[must_use]
    pub const fn divided_by(self, divisor: Self) -> Self {
        if divisor.to_bits() <= 0 {
            return Self::ZERO;
        }
        let magnitude = fraction(self.to_bits().unsigned_abs(), divisor.to_bits().unsigned_abs()) as i32;
        Self(I2F30::from_bits(if self.to_bits() < 0 { magnitude.wrapping_neg() } else { magnitude }))
    }

    /// The other direction.
    #[must_use]
    pub const fn reversed(self) -> Self {
        Self(I2F30::from_bits(self.to_bits().wrapping_neg()))
    }

    /// Without direction.
    #[must_use]
    pub const fn magnitude(self) -> Self {
        if self.to_bits() < 0 { self.reversed() } else { self }
    }

    /// This magnitude with the direction of `direction`; zero where `direction` is zero.
    #[must_use]
    pub const fn directed_as(self, direction: Self) -> Self {
        let bits = direction.to_bits();
        if bits == 0 {
            Self::ZERO
        } else if bits < 0 {
            self.magnitude().reversed()
        } else {
            self.magnitude()
        }
    }

    /// The smaller of two.
    #[must_use]
    pub const fn at_most(self, limit: Self) -> Self {
        if self.to_bits() > limit.to_bits() { limit } else { self }
    }

    /// The larger of two.
    #[must_use]
    pub const fn at_least(self, limit: Self) -> Self {
        if self.to_bits() < limit.to_bits() { limit } else { self }
    }

    /// Held in [-limit, limit]; the sign of `limit` does not matter.
    #[must_use]
    pub const fn within(self, limit: Self) -> Self {
        let limit = limit.magnitude();
        self.at_most(limit).at_least(limit.reversed())
    }

    /// True at exactly zero.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.to_bits() == 0
    }

    /// True when both point the same way and neither is zero.
    #[must_use]
    pub const fn same_direction(self, other: Self) -> bool {
        (self.to_bits() > 0 && other.to_bits() > 0) || (self.to_bits() < 0 && other.to_bits() < 0)
    }

    /// True when they point opposite ways and neither is zero.
    #[must_use]
    pub const fn opposite_direction(self, other: Self) -> bool {
        (self.to_bits() > 0 && other.to_bits() < 0) || (self.to_bits() < 0 && other.to_bits() > 0)
    }
}

/// In percent, rounded to the nearest tenth.
impl core::fmt::Display for Ratio {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let tenths = self.to_permille().raw();
        let sign = if tenths < 0 { "-" } else { "" };
        let magnitude = tenths.unsigned_abs();
        write!(formatter, "{sign}{}.{} %", magnitude / 10, magnitude % 10)
    }
}

impl From<Permille> for Ratio {
    fn from(permille: Permille) -> Self {
        Self::of_thousandths(permille.raw().into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    #[test]
    fn every_permille_is_the_nearest_step_and_survives_the_round_trip() {
        for permille in -1000..=1000 {
            let bits = scale_symmetric(permille.into(), Ratio::ONE_BITS.into(), 1000);
            assert_eq!(i64::from(Ratio::from_permille(permille).unwrap().to_bits()), bits);
            assert_eq!(Ratio::from_permille(permille).unwrap().to_permille().raw() as i32, permille);
        }
        assert_eq!(Ratio::from_permille(1001), None);
        assert_eq!(Ratio::from_bits(Ratio::ONE_BITS + 1), None);
    }

    #[test]
    fn a_ratio_is_shown_in_percent() {
        let shown = |permille| std::format!("{}", Ratio::from_permille(permille).unwrap());
        assert_eq!(
            [shown(375), shown(-5), shown(0), shown(-1_000)],
            ["37.5 %", "-0.5 %", "0.0 %", "-100.0 %"]
        );
    }

    #[test]
    fn directions_and_limits_are_those_of_the_numbers() {
        let some = [-Ratio::ONE_BITS, -7, -1, 0, 1, 7, Ratio::ONE_BITS];
        for (a, b) in some.iter().flat_map(|a| some.iter().map(move |b| (*a, *b))) {
            let (one, other) = (Ratio::from_bits(a).unwrap(), Ratio::from_bits(b).unwrap());
            let product = i64::from(a) * i64::from(b);
            assert_eq!(one.same_direction(other), product > 0, "{a} and {b}");
            assert_eq!(one.opposite_direction(other), product < 0, "{a} and {b}");
            assert_eq!(one.at_most(other).to_bits(), a.min(b));
            assert_eq!(one.at_least(other).to_bits(), a.max(b));
            assert_eq!(one.within(other).to_bits(), a.clamp(-b.abs(), b.abs()));
            assert_eq!(one.directed_as(other).to_bits(), a.abs() * b.signum());
            assert_eq!((one.is_zero(), one.magnitude().to_bits()), (a == 0, a.abs()));
        }
        for permille in -1000..=1000 {
            assert_eq!(
                Some(Ratio::from(Permille::saturating(permille))),
                Ratio::from_permille(permille as i32)
            );
        }
    }

    #[test]
    fn beyond_the_range_a_number_is_held_at_the_nearer_end() {
        let end = i64::from(Ratio::ONE_BITS);
        for bits in [i64::MIN, -end - 1, -end, -end + 1, 0, end - 1, end, end + 1, i64::MAX] {
            let held = bits.clamp(-end, end) as i32;
            assert_eq!(Ratio::saturating(bits).to_bits(), held);
            let narrow = bits.clamp(i32::MIN.into(), i32::MAX.into()) as i32;
            assert_eq!(Ratio::held(narrow).to_bits(), narrow.clamp(-Ratio::ONE_BITS, Ratio::ONE_BITS));
        }
    }

    proptest! {
        #[test]
        fn no_operation_leaves_the_range_and_all_are_symmetric(a in ratio(), b in ratio()) {
            for value in [a.plus(b), a.minus(b), a.times(b), a.divided_by(b), a.within(b), a.directed_as(b)] {
                prop_assert!(value.to_bits().abs() <= Ratio::ONE_BITS);
            }
            prop_assert_eq!(a.times(b).reversed(), a.reversed().times(b));
            prop_assert_eq!(a.plus(b).reversed(), a.reversed().plus(b.reversed()));
            prop_assert_eq!(a.times(b), b.times(a));
            prop_assert!(a.times(b).magnitude() <= a.magnitude().at_most(b.magnitude()));
        }

        #[test]
        fn a_product_is_the_exact_product_rounded_to_nearest(a in ratio(), b in ratio()) {
            let exact = i128::from(a.to_bits()) * i128::from(b.to_bits());
            let error = (i128::from(a.times(b).to_bits()) << 30) - exact;
            prop_assert!(error.abs() * 2 <= 1 << 30);
        }

        #[test]
        fn a_quotient_of_any_integers_is_the_exact_one_held_in_range(
            numerator in any::<i64>(), denominator in any::<i64>(), shifts in (0u32..64, 0u32..64)
        ) {
            let (numerator, denominator) = (numerator >> shifts.0, denominator >> shifts.1);
            let held = numerator.clamp(-1 << 32, 1 << 32);
            let expected = Ratio::saturating(scale_symmetric(held, Ratio::ONE_BITS.into(), denominator));
            prop_assert_eq!(Ratio::from_quotient(numerator, denominator), expected);
        }

        #[test]
        fn a_quotient_is_the_exact_one_rounded_to_nearest(a in ratio(), b in ratio()) {
            let expected = Ratio::from_quotient(a.to_bits().into(), b.to_bits().into());
            prop_assert_eq!(a.divided_by(b), expected);
        }

        #[test]
        fn a_quotient_undoes_a_product(a in ratio(), b in 1_000..=Ratio::ONE_BITS) {
            let b = Ratio::from_bits(b).unwrap();
            let back = a.times(b).divided_by(b);
            let error = i64::from(back.to_bits()) - i64::from(a.to_bits());
            prop_assert!(error.abs() <= i64::from(Ratio::ONE_BITS) / i64::from(b.to_bits()) + 1);
        }
    }

    proptest! {
        #[test]
        fn a_quotient_beyond_its_range_rests_at_the_nearer_end(numerator: i64, denominator in 1_i64..=1 << 32) {
            let ratio = Ratio::from_quotient(numerator, denominator);
            if numerator >= denominator {
                prop_assert_eq!(ratio, Ratio::ONE);
            } else if numerator <= -denominator {
                prop_assert_eq!(ratio, Ratio::MINUS_ONE);
            }
            prop_assert_eq!(Ratio::from_quotient(numerator, -denominator), Ratio::ZERO);
        }
    }
}
