//! A lever response drawn by points.

use crate::quantity::{Divisor, Permille, Ratio, part, scale_symmetric};

/// One point of a [`ResponseCurve`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ResponsePoint {
    /// Deflection, 0 to 1000 ‰.
    pub deflection: Permille,
    /// Intent at this deflection, 0 to 1000 ‰.
    pub intent: Permille,
}

/// Why the points of a [`ResponseCurve`] were refused. Points are counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ResponseCurveError {
    /// The first point is not 0 ‰ at 0 ‰: the curve would jump at neutral.
    DoesNotBeginAtZero(ResponsePoint),
    /// The last point is not at 1000 ‰ of deflection.
    DoesNotEndAtFull(ResponsePoint),
    /// The deflection of a point is not above that of the point before it.
    DeflectionsDoNotAscend {
        /// Which point.
        point: u8,
    },
    /// The intent of a point is below that of the point before it.
    IntentFalls {
        /// Which point.
        point: u8,
    },
}

impl core::fmt::Display for ResponseCurveError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::DoesNotBeginAtZero(ResponsePoint { deflection, intent }) => write!(
                formatter,
                "the first point is {} ‰ at {} ‰; set 0 ‰ at 0 ‰",
                intent.raw(),
                deflection.raw()
            ),
            Self::DoesNotEndAtFull(ResponsePoint { deflection, .. }) => {
                write!(formatter, "the last point is at {} ‰ of deflection; set 1000 ‰", deflection.raw())
            }
            Self::DeflectionsDoNotAscend { point } => {
                write!(formatter, "point {point}: its deflection must be above that of the point before")
            }
            Self::IntentFalls { point } => {
                write!(formatter, "point {point}: its intent must not be below that of the point before")
            }
        }
    }
}

impl core::error::Error for ResponseCurveError {}

/// One span between two points: a cubic by its four control values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Piece {
    from: Ratio,
    width: Divisor,
    /// In steps of 2⁻³⁰, ascending.
    control: [u32; 4],
}

/// The response of a lever through given points, without corners and without waves.
///
/// A cubic in each span, with the slopes of Fritsch and Butland (*A method for constructing local monotone piecewise
/// cubic interpolants*, SIAM J. Sci. Stat. Comput. 5, 1984) at the points, held to 1.5 times the flatter neighbouring chord: then the control values of each cubic ascend, and the
/// curve is monotone to the last bit. It meets its points, is the same to both sides bit for bit, and rounds to
/// nearest at each of its six blends, at most 6 · 2⁻³⁰ off. Its slope is at most three times that of the
/// steepest chord. The deadband is [`Axis`](super::Axis)'s work, before it. Fewer than 2 or more than 16
/// points are refused by the compiler.
///
#[doc = include_str!("../../docs/lever-response_curve.svg")]
///
/// ```
/// use trunnion::lever::{ResponseCurve, ResponsePoint};
/// use trunnion::quantity::{Permille, Ratio};
///
/// let point = |deflection, intent| ResponsePoint {
///     deflection: Permille::new(deflection).unwrap(),
///     intent: Permille::new(intent).unwrap(),
/// };
/// let grading = ResponseCurve::new([point(0, 0), point(600, 200), point(1_000, 1_000)]).unwrap();
/// let at = |permille| grading.step(Ratio::from_permille(permille).unwrap()).to_permille().raw();
/// assert_eq!((at(600), at(-600), at(1_000)), (200, -200, 1_000));
/// assert!(at(300) > 0 && at(300) < 100); // fine near neutral
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ResponseCurve<const POINTS: usize> {
    /// One from each point to the next, and one that stays at the last.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    pieces: [Piece; POINTS],
}

impl<const POINTS: usize> ResponseCurve<POINTS> {
    /// Refuses points that do not begin at zero, end at full deflection, ascend in deflection, and rise or stay in intent.
    ///
    /// # Errors
    ///
    /// [`ResponseCurveError`]: which rule the config breaks, with its value.
    pub fn new(points: [ResponsePoint; POINTS]) -> Result<Self, ResponseCurveError> {
        const { assert!(POINTS >= 2 && POINTS <= 16, "a curve has 2 to 16 points") };
        check(&points)?;
        let end: Ratio = points.last().map_or(Ratio::ZERO, |last| last.intent.into());
        let end = end.to_bits().unsigned_abs();
        let mut pieces = [Piece { from: Ratio::ONE, width: Divisor::ONE, control: [end; 4] }; POINTS];
        let mut chords = points.iter().zip(points.iter().skip(1)).map(Chord::of);
        let (mut before, mut here) = (None, chords.next());
        for piece in &mut pieces {
            let Some(chord) = here else { break };
            let after = chords.next();
            *piece = chord.piece(before, after);
            (before, here) = (here, after);
        }
        Ok(Self { pieces })
    }

    /// Takes other points as a whole or refuses them as a whole.
    ///
    /// # Errors
    ///
    /// [`ResponseCurveError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, points: [ResponsePoint; POINTS]) -> Result<(), ResponseCurveError> {
        *self = Self::new(points)?;
        Ok(())
    }

    /// The intent at a deflection.
    pub fn step(&self, deflection: Ratio) -> Ratio {
        let magnitude = deflection.magnitude();
        let within = self.pieces.iter().take_while(|piece| piece.from <= magnitude).last();
        within.map_or(Ratio::ZERO, |piece| piece.at(magnitude)).directed_as(deflection)
    }
}

fn check(points: &[ResponsePoint]) -> Result<(), ResponseCurveError> {
    use ResponseCurveError::*;
    if let Some(first) = points.first()
        && (first.deflection != Permille::ZERO || first.intent != Permille::ZERO)
    {
        return Err(DoesNotBeginAtZero(*first));
    }
    for (place, (before, after)) in (2_u8..=u8::MAX).zip(points.iter().zip(points.iter().skip(1))) {
        if after.deflection <= before.deflection {
            return Err(DeflectionsDoNotAscend { point: place });
        }
        if after.intent < before.intent {
            return Err(IntentFalls { point: place });
        }
    }
    match points.last() {
        Some(last) if last.deflection != Permille::MAX => Err(DoesNotEndAtFull(*last)),
        _ => Ok(()),
    }
}

impl Piece {
    /// By repeated blending, which keeps ascending control values in order whatever the rounding.
    fn at(&self, magnitude: Ratio) -> Ratio {
        let along = self.width.fraction(magnitude.minus(self.from).to_bits().unsigned_abs());
        let blend = |low: u32, high: u32| low.saturating_add(part(high.saturating_sub(low), along));
        let [a, b, c, d] = self.control;
        let (ab, bc, cd) = (blend(a, b), blend(b, c), blend(c, d));
        Ratio::held(blend(blend(ab, bc), blend(bc, cd)) as i32)
    }
}

/// The straight line between two points, in thousandths.
#[derive(Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Chord {
    from: i64,
    base: i64,
    width: i64,
    rise: i64,
}

impl Chord {
    fn of((low, high): (&ResponsePoint, &ResponsePoint)) -> Self {
        Self {
            from: i64::from(low.deflection.raw()),
            base: i64::from(low.intent.raw()),
            width: i64::from(high.deflection.raw()).saturating_sub(i64::from(low.deflection.raw())),
            rise: i64::from(high.intent.raw()).saturating_sub(i64::from(low.intent.raw())),
        }
    }

    /// A third of the slope at the point between `self` and `next`, times `width`: the distance of a control value, in
    /// steps of 2⁻³⁰.
    fn inner(self, next: Self, width: i64) -> i64 {
        // Weighted harmonic mean of both slopes: (3 (h0 + h1)) / ((2 h1 + h0) / s0 + (h1 + 2 h0) / s1), with s = rise / h.
        let sum = self.width.saturating_add(next.width);
        let heavy = next.width.saturating_add(sum).saturating_mul(self.width).saturating_mul(next.rise);
        let light = self.width.saturating_add(sum).saturating_mul(next.width).saturating_mul(self.rise);
        let rises = self.rise.saturating_mul(next.rise).saturating_mul(sum);
        // At most 2³¹ · 2³⁰, then a third of a slope of 1000 at most, 2⁴⁰, times 1000.
        let third_of_slope = full_scale(rises, heavy.saturating_add(light));
        let distance = scale_symmetric(third_of_slope, width, 1000);
        self.held(next.held(distance, width), width)
    }

    /// The same at the end of this chord that has no neighbour, by the parabola through three points.
    fn outer(self, next: Option<Self>) -> i64 {
        let Some(next) = next else { return full_scale(self.rise, 3000) };
        // (2 h0 + h1) s0 − h0 s1, over h0 + h1; a third of it, times h0.
        let sum = self.width.saturating_add(next.width);
        let steep = self.width.saturating_add(sum).saturating_mul(self.rise).saturating_mul(next.width);
        let flat = self.width.saturating_mul(self.width).saturating_mul(next.rise);
        let divisor = sum.saturating_mul(next.width).saturating_mul(3000);
        self.held(full_scale(steep.saturating_sub(flat).max(0), divisor), self.width)
    }

    /// At most half of what this chord rises over `width`.
    fn held(self, distance: i64, width: i64) -> i64 {
        distance.min(full_scale(self.rise.saturating_mul(width), self.width.saturating_mul(2000)))
    }

    fn piece(self, before: Option<Self>, after: Option<Self>) -> Piece {
        let low = full_scale(self.base, 1000);
        let high = full_scale(self.base.saturating_add(self.rise), 1000);
        let leaving = before.map_or_else(|| self.outer(after), |before| before.inner(self, self.width));
        let arriving = after.map_or_else(|| self.outer(before), |after| self.inner(after, self.width));
        let second = low.saturating_add(leaving);
        let third = high.saturating_sub(arriving).max(second);
        let from = full_scale(self.from, 1000);
        let to = full_scale(self.from.saturating_add(self.width), 1000);
        Piece {
            from: Ratio::saturating(from),
            width: Divisor::of(Ratio::saturating(to.saturating_sub(from)).to_bits().unsigned_abs()),
            control: [low, second, third, high].map(|bits| Ratio::saturating(bits).to_bits().unsigned_abs()),
        }
    }
}

/// A quotient in steps of 2⁻³⁰.
fn full_scale(numerator: i64, denominator: i64) -> i64 {
    scale_symmetric(numerator, i64::from(Ratio::ONE_BITS), denominator)
}

#[cfg(test)]
mod tests;
