//! Median of three.

use trunnion::quantity::Rpm;
use trunnion::sense::MedianOfThree;

use super::entry;
use crate::proof::Proof;
use crate::walk::{Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules;

impl Walked for Rules {
    /// The last two values and the block: a newtype's own state has no hash of its own.
    type Block = Median;
    type Input = i32;
    type Output = i32;
    /// The two values before, the older one first.
    type Memory = Option<(i32, i32)>;

    fn block(&self) -> Median {
        Median { block: MedianOfThree::new(), seen: None }
    }

    fn inputs(&self) -> Vec<i32> {
        vec![Rpm::MIN.raw(), -1, 0, 1, Rpm::MAX.raw()]
    }

    fn step(median: &mut Median, raw: i32) -> i32 {
        median.seen = Some((median.seen.map_or(raw, |seen| seen.1), raw));
        median.block.step(Rpm::saturating(raw.into())).raw()
    }

    fn remember(&self, memory: &mut Option<(i32, i32)>, raw: i32, _: i32) {
        *memory = Some((memory.map_or(raw, |before| before.1), raw));
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it is the middle one of the last three, sorted", |now| {
                let (older, newer) = now.before.unwrap_or((now.input, now.input));
                let mut three = [older, newer, now.input];
                three.sort_unstable();
                now.output == three[1]
            }),
            always("a single outlier never comes through", |now| {
                now.before.is_none_or(|(older, newer)| older != newer || now.output == newer)
            }),
            sometimes("the newest comes through", |now| now.output == now.input && now.before.is_some()),
            planted("it is the newest", |now| now.output == now.input),
        ]
    }
}

/// The block, with what it holds written beside it.
#[derive(Debug, Clone)]
struct Median {
    block: MedianOfThree<Rpm>,
    seen: Option<(i32, i32)>,
}

impl PartialEq for Median {
    fn eq(&self, other: &Self) -> bool {
        self.seen == other.seen
    }
}

impl std::hash::Hash for Median {
    fn hash<H: std::hash::Hasher>(&self, hasher: &mut H) {
        self.seen.hash(hasher);
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("median", "sense/median", "the only one, with values at and near the ends", |bench| {
        family(bench, "median", &[Rules])
    })
}
