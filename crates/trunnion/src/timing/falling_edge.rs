//! The step in which a level became false.

use super::RisingEdge;

/// True in the step in which a level became false.
///
/// Starts as if the level had been false: a button that is not held at power-up was not let go of.
///
#[doc = include_str!("../../docs/timing-falling_edge.svg")]
///
/// ```
/// use trunnion::timing::FallingEdge;
///
/// let mut trigger_released = FallingEdge::new();
/// let levels = [false, true, false, false];
/// assert_eq!(levels.map(|level| trigger_released.step(level)), [false, false, true, false]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FallingEdge {
    not: RisingEdge,
}

impl FallingEdge {
    /// As if the level had been false.
    pub const fn new() -> Self {
        Self { not: RisingEdge::new() }
    }

    /// As if the level had been false.
    pub fn reset(&mut self) {
        self.not.reset();
    }

    /// One step.
    pub fn step(&mut self, level: bool) -> bool {
        self.not.step(!level)
    }
}

impl Default for FallingEdge {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_level_that_is_false_from_the_start_or_over_a_reset_is_no_edge() {
        let mut edge = FallingEdge::default();
        assert!(!edge.step(false));
        assert!(!edge.step(true) && edge.step(false));
        edge.step(true);
        edge.reset();
        assert!(!edge.step(false));
    }

    proptest! {
        #[test]
        fn there_is_one_edge_for_each_change_from_true_to_false(levels in proptest::collection::vec(any::<bool>(), 0..100)) {
            let mut edge = FallingEdge::new();
            let seen = levels.iter().filter(|level| edge.step(**level)).count();
            prop_assert_eq!(seen, levels.windows(2).filter(|pair| pair[0] && !pair[1]).count());
        }
    }
}
