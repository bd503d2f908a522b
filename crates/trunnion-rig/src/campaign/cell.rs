//! Cells of a campaign.

use std::fmt;

use crate::run::{BreakInfo, Way};

/// One signal that fails in one way while the machine is in one state. Written `signal:way@state`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cell {
    /// Place of the signal in what the plant can break.
    pub place: u16,
    /// Its name in scenarios.
    pub signal: &'static str,
    /// How it fails.
    pub way: Way,
    /// What the machine is doing then.
    pub state: &'static str,
}

impl fmt::Display for Cell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}@{}", self.signal, self.way.name(), self.state)
    }
}

/// Every way in which everything can break, in every state: by signal, then way, then state, in the order of their
/// declarations. Places beyond 65,535 do not exist in a plant.
pub fn cells(breaks: &'static [BreakInfo], states: &[&'static str]) -> Vec<Cell> {
    let mut cells = Vec::new();
    for (place, info) in (0_u16..).zip(breaks) {
        for way in info.ways() {
            let signal = info.signal;
            cells.extend(states.iter().map(|state| Cell { place, signal, way, state }));
        }
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use trunnion::declare::Wire;

    const BREAKS: &[BreakInfo] =
        &[BreakInfo::wired("seat", "", Wire::SwitchToSupply), BreakInfo::wired("lever", "", Wire::Frame)];

    #[test]
    fn every_signal_fails_in_every_way_of_its_kind_in_every_state() {
        let cells = cells(BREAKS, &["at_rest", "driving"]);
        let ways = BREAKS.iter().map(|info| info.ways().count()).sum::<usize>();
        assert_eq!(cells.len(), 2 * ways);
        let names: BTreeSet<String> = cells.iter().map(Cell::to_string).collect();
        assert_eq!(names.len(), cells.len(), "a name belongs to one cell");
        assert!(names.contains("seat:open@driving") && names.contains("lever:duplicated@at_rest"));
        assert!(names.contains("seat:intermittent@driving") && names.contains("lever:flooding@at_rest"));
    }

    #[test]
    fn a_cell_points_at_its_signal_in_the_plant() {
        for cell in cells(BREAKS, &["at_rest"]) {
            assert_eq!(BREAKS[usize::from(cell.place)].signal, cell.signal);
        }
    }
}
