use super::Strategy;
use super::field::{Field, Start, Trial};
use super::search::Hunt;
use crate::plant::SplitMix64;

/// Runs of a round: the same on every computer.
const ROUND: usize = 16;

/// Every gene by lot: what every other strategy has to beat.
#[derive(Debug, Clone)]
pub struct Uniform {
    random: SplitMix64,
}

impl Uniform {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Self { random: SplitMix64::for_part(seed, "uniform") }
    }
}

impl<F: Field> Strategy<F> for Uniform {
    fn name(&self) -> &'static str {
        "uniform"
    }

    fn search(&mut self, hunt: &mut Hunt<'_, F>) {
        let genes = hunt.field().genes();
        while !hunt.is_over() {
            let trial = |_| Trial {
                start: Start::Opening,
                genes: (0..genes).map(|_| self.random.next_unit()).collect(),
                keep: false,
            };
            let round = (0..ROUND).map(trial).collect();
            hunt.play(round);
        }
    }
}
