//! A measured quantity without single outliers.

use crate::declare::Field;

/// The median of the last three values: a single outlier never comes through.
///
/// Costs one step of delay. The first value stands for all three.
///
#[doc = include_str!("../../docs/sense-median_of_three.svg")]
///
/// ```
/// use trunnion::quantity::Millivolts;
/// use trunnion::sense::MedianOfThree;
///
/// let millivolts = |raw| Millivolts::new(raw).unwrap();
/// let mut supply = MedianOfThree::new();
/// let readings = [12_600, 12_600, 300, 12_590, 12_580];
/// assert_eq!(
///     readings.map(|raw| supply.step(millivolts(raw)).raw()),
///     [12_600, 12_600, 12_600, 12_590, 12_580]
/// );
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct MedianOfThree<Q> {
    /// The two values before, the older one first; nothing before the first value.
    before: Option<(Q, Q)>,
}

impl<Q: Field + Ord> MedianOfThree<Q> {
    /// Nothing seen.
    pub const fn new() -> Self {
        Self { before: None }
    }

    /// Nothing seen.
    pub fn reset(&mut self) {
        self.before = None;
    }

    /// One step.
    pub fn step(&mut self, value: Q) -> Q {
        let (older, newer) = self.before.unwrap_or((value, value));
        self.before = Some((newer, value));
        older.min(newer).max(older.max(newer).min(value))
    }
}

impl<Q: Field + Ord> Default for MedianOfThree<Q> {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_reset_forgets_what_came_before() {
        let mut median = MedianOfThree::default();
        median.step(9_u16);
        median.reset();
        assert_eq!(median.step(3), 3);
    }

    proptest! {
        #[test]
        fn the_output_is_the_middle_of_the_last_three_sorted(values in proptest::collection::vec(any::<u16>(), 1..50)) {
            let mut median = MedianOfThree::new();
            let mut window = [values[0]; 3];
            for value in values {
                window = [window[1], window[2], value];
                let mut sorted = window;
                sorted.sort_unstable();
                prop_assert_eq!(median.step(value), sorted[1]);
            }
        }
    }
}
