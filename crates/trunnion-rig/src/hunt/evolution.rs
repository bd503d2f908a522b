use std::sync::Mutex;

use cmaes::{CMAESOptions, DVector};

use super::Strategy;
use super::field::{Field, Outcome, Start, Trial, play};
use super::search::Hunt;
use crate::plant::SplitMix64;

/// Genes, and what they came to.
type Played<R> = (Vec<f64>, Outcome<R>);

/// Step from the middle of the cube at the start: a third of the way to a wall.
const FIRST_STEP: f64 = 0.3;
/// Generations without a better run after which the search starts anew elsewhere.
const PATIENCE: u32 = 12;
/// What a gene outside of 0 to 1 costs, a unit outside.
const OUTSIDE: f64 = 0.05;
/// The largest worth that the strategy is told; a run that only yes/no conditions decided has no finite margin.
const FAR: f64 = 2.0;

/// CMA-ES (crate `cmaes`): a normal distribution that moves towards the runs with the smallest margins and takes their
/// shape. It starts anew from a place by lot, with twice the population, when it no longer gets on.
#[derive(Debug, Clone)]
pub struct Evolution {
    random: SplitMix64,
}

impl Evolution {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Self { random: SplitMix64::for_part(seed, "evolution") }
    }

    /// One descent with a population; over when it no longer gets on.
    fn descend<F: Field>(&mut self, hunt: &mut Hunt<'_, F>, population: usize) {
        let field = hunt.field();
        let middle: Vec<f64> = (0..field.genes()).map(|_| 0.25 + 0.5 * self.random.next_unit()).collect();
        let played: Mutex<Vec<Played<F::Run>>> = Mutex::default();
        let objective = |point: &DVector<f64>| {
            let genes: Vec<f64> = point.iter().map(|gene| gene.max(0.0).min(1.0)).collect();
            let outside: f64 = point.iter().zip(&genes).map(|(one, inside)| (one - inside).abs()).sum();
            let outcome = play(field, &Trial { start: Start::Opening, genes: genes.clone(), keep: false });
            let worth = outcome.finding.margin.max(-FAR).min(FAR) + OUTSIDE * outside;
            if let Ok(mut played) = played.lock() {
                played.push((genes, outcome));
            }
            worth
        };
        let options =
            CMAESOptions::new(middle, FIRST_STEP).population_size(population).seed(self.random.next_u64());
        let Ok(mut search) = options.build(objective) else { return };
        let (mut best, mut idle) = (f64::MAX, 0);
        while !hunt.is_over() && idle < PATIENCE {
            let stuck = search.next_parallel().is_some();
            let mut generation =
                played.lock().map(|mut played| std::mem::take(&mut *played)).unwrap_or_default();
            // Threads finish in any order; the account is kept in one.
            generation
                .sort_by(|(one, _), (other, _)| one.partial_cmp(other).unwrap_or(std::cmp::Ordering::Equal));
            generation.truncate(usize::try_from(hunt.left()).unwrap_or(usize::MAX));
            let least = generation.iter().fold(f64::MAX, |least, (_, run)| least.min(run.finding.margin));
            idle = if least < best { 0 } else { idle + 1 };
            best = best.min(least);
            hunt.take(&generation);
            if stuck {
                return;
            }
        }
    }
}

impl<F: Field> Strategy<F> for Evolution {
    fn name(&self) -> &'static str {
        "evolution"
    }

    fn search(&mut self, hunt: &mut Hunt<'_, F>) {
        // Hansen's default for the population, 4 + 3 ln n.
        let mut population = 4 + (3.0 * libm::log(hunt.field().genes().max(2) as f64)) as usize;
        while !hunt.is_over() {
            self.descend(hunt, population);
            population = (2 * population).min(128);
        }
    }
}
