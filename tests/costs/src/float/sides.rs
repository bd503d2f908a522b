//! Left and right, forward positive, in `f32`.

/// A command of both sides.
#[derive(Clone, Copy)]
pub struct Sides {
    pub(crate) left: f32,
    pub(crate) right: f32,
}

impl Sides {
    pub(crate) const ZERO: Self = Self { left: 0.0, right: 0.0 };

    pub(crate) fn sum(self) -> f32 {
        self.left + self.right
    }

    pub(crate) fn difference(self) -> f32 {
        self.left - self.right
    }

    pub(crate) fn is_zero(self) -> bool {
        self.left == 0.0 && self.right == 0.0
    }

    pub(crate) fn scaled(self, share: f32) -> Self {
        Self { left: self.left * share, right: self.right * share }
    }
}
