//! The step in which a level became true.

/// True in the step in which a level became true.
///
/// Starts as if the level had been true: a button that is held at power-up was not pressed.
///
#[doc = include_str!("../../docs/timing-rising_edge.svg")]
///
/// ```
/// use trunnion::timing::RisingEdge;
///
/// let mut enable_button = RisingEdge::new();
/// let levels = [true, false, true, true];
/// assert_eq!(levels.map(|level| enable_button.step(level)), [false, false, true, false]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RisingEdge {
    before: bool,
}

impl RisingEdge {
    /// As if the level had been true.
    pub const fn new() -> Self {
        Self { before: true }
    }

    /// As if the level had been true.
    pub fn reset(&mut self) {
        self.before = true;
    }

    /// One step.
    pub fn step(&mut self, level: bool) -> bool {
        let rose = level && !self.before;
        self.before = level;
        rose
    }
}

impl Default for RisingEdge {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_level_that_is_true_from_the_start_or_over_a_reset_is_no_edge() {
        let mut edge = RisingEdge::default();
        assert!(!edge.step(true));
        assert!(!edge.step(false) && edge.step(true));
        edge.step(false);
        edge.reset();
        assert!(!edge.step(true));
    }

    proptest! {
        #[test]
        fn there_is_one_edge_for_each_change_from_false_to_true(levels in proptest::collection::vec(any::<bool>(), 0..100)) {
            let mut edge = RisingEdge::new();
            let seen = levels.iter().filter(|level| edge.step(**level)).count();
            prop_assert_eq!(seen, levels.windows(2).filter(|pair| !pair[0] && pair[1]).count());
        }
    }
}
