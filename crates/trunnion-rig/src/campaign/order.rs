//! Which cells or pairs are run.

use sha2::{Digest, Sha256};

use crate::shard::Shard;

/// Which cells are run, or which pairs: all cells by default.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Two failures at once, instead of one.
    pub pairs: bool,
    /// Only those of which the whole name, `signal:way@state` or `signal:way+signal:way@state`, contains each of these.
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
        Self { pairs: false, only: Vec::new(), cell: None, sample: None, shard: Shard::WHOLE }
    }
}

impl Order {
    /// Every cell of the machine, or every pair, is run, if perhaps by several processes.
    pub fn is_whole(&self) -> bool {
        self.only.is_empty() && self.cell.is_none() && self.sample.is_none()
    }

    fn takes(&self, name: &str) -> bool {
        self.only.iter().all(|part| name.contains(part.as_str()))
            && self.cell.as_ref().is_none_or(|wanted| wanted == name)
    }

    /// The places of the items of all parts of the work, of so many that have names, in their order.
    pub(super) fn choose(&self, items: usize, name: impl Fn(usize) -> String) -> Vec<usize> {
        let everything = self.only.is_empty() && self.cell.is_none();
        let mut ordered: Vec<usize> = (0..items).filter(|at| everything || self.takes(&name(*at))).collect();
        if let Some((count, seed)) = self.sample {
            // The draw of an item depends on nothing but the seed and its name, so it stays when others come and go.
            let draw = |at: usize| Sha256::digest(format!("{seed} {}", name(at)));
            let mut drawn: Vec<_> = ordered.iter().map(|at| (draw(*at), *at)).collect();
            drawn.sort();
            ordered = drawn.into_iter().take(count).map(|(_, at)| at).collect();
            ordered.sort_unstable();
        }
        ordered
    }
}
