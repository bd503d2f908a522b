//! The step in which a level became true.

/// True in the step in which a level became true.
///
/// Starts as if the level had been true: a button that is held at power-up was not pressed.
///
/// ```
/// use trunnion::timing::RisingEdge;
///
/// let mut enable_button = RisingEdge::new();
/// let levels = [true, false, true, true];
/// assert_eq!(levels.map(|level| enable_button.step(level)), [false, false, true, false]);
/// ```
#[derive(Debug, Clone, Copy)]
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
