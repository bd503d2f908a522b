//! Bringing a number into a range.

/// Like `clamp`, but total: whatever a scenario brings, not-a-number included, a finite number comes out.
pub(crate) trait Within {
    /// The value if it lies in `low..=high`, else the nearer bound; not-a-number counts as zero.
    fn within(self, low: f64, high: f64) -> f64;
}

impl Within for f64 {
    fn within(self, low: f64, high: f64) -> f64 {
        let value = if self.is_nan() { 0.0 } else { self };
        // In this order a crossed pair of bounds gives the upper one instead of a panic.
        let raised = if value < low { low } else { value };
        if raised > high { high } else { raised }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_come_to_the_nearer_bound_and_not_a_number_to_zero() {
        assert_eq!([-2.0, 0.3, 7.0].map(|value: f64| value.within(-1.0, 1.0)), [-1.0, 0.3, 1.0]);
        assert_eq!(f64::NAN.within(-1.0, 1.0), 0.0);
        assert_eq!(f64::NAN.within(2.0, 3.0), 2.0);
        assert_eq!(f64::INFINITY.within(0.0, 1.0), 1.0);
        assert_eq!(0.5.within(1.0, 0.0), 0.0);
    }
}
