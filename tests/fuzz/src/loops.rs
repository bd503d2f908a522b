//! The loop: mutate, run, keep what reaches something new.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

use crate::coverage::Seen;
use crate::mutate::{Random, mutated};
use crate::targets::Target;

/// When a loop ends.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// After so many inputs.
    pub executions: u64,
    /// After so long.
    pub time: Duration,
}

/// What a loop came to.
#[derive(Debug, Clone, Default)]
pub struct Came {
    /// Inputs that were run.
    pub executions: u64,
    /// How long it took.
    pub took: Duration,
    /// Edges passed, and edges that the program has.
    pub edges: (usize, usize),
    /// Inputs that reached something new, those of the given corpus that did among them.
    pub kept: Vec<Vec<u8>>,
    /// The input for which something did not hold.
    pub broken: Option<Vec<u8>>,
}

/// True when everything holds for an input.
pub fn holds(target: &Target, input: &[u8]) -> bool {
    catch_unwind(AssertUnwindSafe(|| (target.run)(input))).is_ok()
}

/// Runs a target on a corpus and on what follows from it; `tell` hears of it from time to time.
pub fn run(
    target: &Target,
    corpus: &[Vec<u8>],
    seed: u64,
    limits: Limits,
    mut tell: impl FnMut(&Came),
) -> Came {
    let began = Instant::now();
    let mut seen = Seen::new();
    let mut random = Random::new(seed);
    let mut came = Came { edges: (0, seen.possible()), ..Came::default() };
    let mut waiting: Vec<Vec<u8>> = corpus.to_vec();
    waiting.push(Vec::new());
    while came.executions < limits.executions {
        let input = waiting.pop().unwrap_or_else(|| {
            let one = random.below(came.kept.len());
            let other = random.below(came.kept.len());
            let pick = |place: usize| came.kept.get(place).map_or(&[][..], Vec::as_slice);
            mutated(&mut random, pick(one), pick(other))
        });
        seen.reset();
        came.executions += 1;
        if !holds(target, &input) {
            came.broken = Some(shortened(target, input));
            break;
        }
        // Without counters the given corpus is all that is mutated.
        if seen.is_news() || (seen.possible() == 0 && came.kept.len() <= corpus.len()) {
            came.edges.0 = seen.edges();
            came.kept.push(input);
        }
        if came.executions.is_multiple_of(4096) {
            came.took = began.elapsed();
            tell(&came);
            if came.took >= limits.time {
                break;
            }
        }
    }
    came.took = began.elapsed();
    came
}

/// The same failure with fewer bytes, as far as taking parts out goes.
fn shortened(target: &Target, mut input: Vec<u8>) -> Vec<u8> {
    let mut size = input.len() / 2;
    while size > 0 {
        let mut at = 0;
        while at + size <= input.len() {
            let mut shorter = input.clone();
            shorter.drain(at..at + size);
            if holds(target, &shorter) {
                at += size;
            } else {
                input = shorter;
            }
        }
        size /= 2;
    }
    input
}
