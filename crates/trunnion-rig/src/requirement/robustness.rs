use std::cmp::Ordering;

/// Which condition decided a value, and at which tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Cause {
    pub(crate) atom: u16,
    pub(crate) tick: u32,
}

/// Truth of a formula at a tick with its distance to the other truth.
///
/// The truth stands beside the margin because a margin of exactly zero says nothing: `x <= 5` holds at 5,
/// `x < 5` does not. A yes/no condition is infinitely far from its opposite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Robustness {
    pub(crate) margin: f64,
    pub(crate) holds: bool,
    pub(crate) cause: Option<Cause>,
}

impl Robustness {
    pub(crate) const TRUE: Self = Self { margin: f64::INFINITY, holds: true, cause: None };
    pub(crate) const FALSE: Self = Self { margin: f64::NEG_INFINITY, holds: false, cause: None };

    pub(crate) const fn certain(holds: bool) -> Self {
        if holds { Self::TRUE } else { Self::FALSE }
    }

    /// From worse to better; margins are never NaN (a condition on a NaN is as false as can be).
    fn order(&self, other: &Self) -> Ordering {
        let margins = self.margin.partial_cmp(&other.margin).unwrap_or(Ordering::Equal);
        margins.then(self.holds.cmp(&other.holds))
    }

    /// The worse of two; the first when equal.
    pub(crate) fn worse(self, other: Self) -> Self {
        if other.order(&self).is_lt() { other } else { self }
    }

    /// The better of two; the first when equal.
    pub(crate) fn better(self, other: Self) -> Self {
        if other.order(&self).is_gt() { other } else { self }
    }

    /// `worse` when `least`, else `better`.
    pub(crate) fn pick(self, other: Self, least: bool) -> Self {
        if least { self.worse(other) } else { self.better(other) }
    }

    /// True when `self` is at least as extreme as `other` in the direction of `pick`.
    pub(crate) fn outlasts(&self, other: &Self, least: bool) -> bool {
        if least { self.order(other).is_le() } else { self.order(other).is_ge() }
    }
}
