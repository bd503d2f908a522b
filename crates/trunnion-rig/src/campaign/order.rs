//! Which cells are run.

use sha2::{Digest, Sha256};

use super::{Cell, Expectations, Rule};
use crate::shard::Shard;

/// Which cells are run: all of them by default.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Only those of which the whole name, `signal:way@state`, contains each of these.
    pub only: Vec<String>,
    /// Only the one of this name.
    pub cell: Option<String>,
    /// Of these, so many that the seed draws.
    pub sample: Option<(usize, u64)>,
    /// Only those that this part of the work does.
    pub shard: Shard,
}

impl Default for Order {
    fn default() -> Self {
        Self { only: Vec::new(), cell: None, sample: None, shard: Shard::WHOLE }
    }
}

impl Order {
    /// Every cell of the machine is run, if perhaps by several processes.
    pub fn is_whole(&self) -> bool {
        self.only.is_empty() && self.cell.is_none() && self.sample.is_none()
    }

    fn takes(&self, cell: &Cell) -> bool {
        let name = cell.to_string();
        self.only.iter().all(|part| name.contains(part.as_str()))
            && self.cell.as_ref().is_none_or(|wanted| *wanted == name)
    }

    /// The cells of all parts of the work, in the order of their declaration.
    pub(super) fn choose<'a>(&self, expectations: &'a Expectations) -> Vec<&'a (Cell, Rule)> {
        let mut ordered: Vec<&(Cell, Rule)> =
            expectations.iter().filter(|(cell, _)| self.takes(cell)).collect();
        if let Some((count, seed)) = self.sample {
            // The draw of a cell depends on nothing but the seed and its name, so it stays when others come and go.
            let draw = |cell: &Cell| Sha256::digest(format!("{seed} {cell}"));
            let mut drawn: Vec<_> =
                (0_usize..).zip(&ordered).map(|(at, (cell, _))| (draw(cell), at)).collect();
            drawn.sort();
            let mut places: Vec<usize> = drawn.into_iter().take(count).map(|(_, at)| at).collect();
            places.sort_unstable();
            ordered = places.into_iter().map(|at| ordered[at]).collect();
        }
        ordered
    }
}
