use std::collections::BTreeMap;

use super::Strategy;
use super::field::{Field, Mark, Outcome, Start, Trial};
use super::search::Hunt;
use crate::plant::SplitMix64;

/// Runs of a round: the same on every computer.
const ROUND: usize = 8;
/// Runs that are kept as the best.
const ELITE: usize = 12;
/// Situations that are kept: copies of whole machines take memory.
const MOST_SITUATIONS: usize = 1_500;

/// Branches off copies of earlier runs.
///
/// An archive keeps one copy for every situation that was ever seen, and the runs that came nearest to a violation. A
/// trial opens anew, or goes on from the copy of a situation that was seldom gone on from, or from a copy of one of the
/// best runs, with the rest of its genes changed here and there. Genes are drawn from the ends of their range as often as
/// from between: an operator who provokes pushes a lever to its stop. The archive of situations follows A. Ecoffet et al.,
/// "First return, then explore", Nature 590, 2021.
#[derive(Debug, Clone)]
pub struct Branching<R> {
    random: SplitMix64,
    situations: BTreeMap<(usize, u64), Place<R>>,
    elite: Vec<Line<R>>,
}

/// A copy in a situation, and how often a trial went on from it.
#[derive(Debug, Clone)]
struct Place<R> {
    genes: Vec<f64>,
    mark: Mark<R>,
    visits: u32,
}

/// A whole run with its copies.
#[derive(Debug, Clone)]
struct Line<R> {
    genes: Vec<f64>,
    margin: f64,
    marks: Vec<Mark<R>>,
}

impl<R: Clone> Branching<R> {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Self {
            random: SplitMix64::for_part(seed, "branching"),
            situations: BTreeMap::new(),
            elite: Vec::new(),
        }
    }

    fn below(&mut self, count: usize) -> usize {
        (self.random.next_unit() * count as f64) as usize
    }

    /// A gene: at an end of its range, or anywhere.
    fn gene(&mut self) -> f64 {
        match self.below(4) {
            0 => 0.0,
            1 => 1.0,
            _ => self.random.next_unit(),
        }
    }

    fn anew(&mut self, genes: usize) -> Trial<R> {
        // Every other one is by lot alone: ends of ranges are no good where a gene chooses among many.
        let ends = self.below(2) == 0;
        let mut draw = || if ends { self.gene() } else { self.random.next_unit() };
        Trial { start: Start::Opening, genes: (0..genes).map(|_| draw()).collect(), keep: true }
    }

    /// From the least visited of a few situations by lot.
    fn explore(&mut self, opening: usize, leg: usize) -> Option<Trial<R>> {
        let count = self.situations.len();
        let drawn: Vec<usize> = (0..4).map(|_| self.below(count)).collect();
        let keys = drawn.into_iter().filter_map(|place| self.situations.iter().nth(place));
        let (key, _) = keys.min_by_key(|(_, place)| place.visits)?;
        let key = *key;
        let place = self.situations.get_mut(&key)?;
        place.visits += 1;
        let start = Start::Copy { run: place.mark.run.clone(), legs: place.mark.legs };
        let legs = place.mark.legs;
        let mut changed = place.genes.clone();
        for gene in changed.iter_mut().skip(opening + legs * leg) {
            *gene = self.random.next_unit();
        }
        Some(Trial { start, genes: changed, keep: true })
    }

    /// From a copy of one of the best runs, with what follows changed here and there.
    fn refine(&mut self, opening: usize, leg: usize) -> Option<Trial<R>> {
        // The better, the more often.
        let count = self.elite.len();
        let place = self.below(count).min(self.below(count));
        let line = self.elite.get(place)?.clone();
        let from = self.below(line.marks.len() + 1);
        let (start, begin) = match from.checked_sub(1).and_then(|from| line.marks.get(from)) {
            Some(mark) => (Start::Copy { run: mark.run.clone(), legs: mark.legs }, opening + mark.legs * leg),
            None => (Start::Opening, 0),
        };
        let mut genes = line.genes;
        let open = genes.len().saturating_sub(begin).max(1);
        // A few genes, or a stretch of them.
        if self.below(2) == 0 {
            let changes = 1 + self.below(3);
            for _ in 0..changes {
                let which = begin + self.below(open);
                let drawn = self.gene();
                if let Some(gene) = genes.get_mut(which) {
                    *gene = drawn;
                }
            }
        } else {
            let length = leg * (1 + self.below(4));
            let first = begin + self.below(open) / leg.max(1) * leg;
            for which in first..(first + length).min(genes.len()) {
                let drawn = self.gene();
                if let Some(gene) = genes.get_mut(which) {
                    *gene = drawn;
                }
            }
        }
        Some(Trial { start, genes, keep: true })
    }

    fn next<F: Field<Run = R>>(&mut self, field: &F) -> Trial<R> {
        let fresh = self.situations.is_empty() && self.elite.is_empty();
        let drawn = if fresh { 0 } else { self.below(8) };
        let branch = match drawn {
            0 | 1 => None,
            2..=4 => self.explore(field.opening_genes(), field.leg_genes()),
            _ => self.refine(field.opening_genes(), field.leg_genes()),
        };
        branch.unwrap_or_else(|| self.anew(field.genes()))
    }

    /// Keeps what a trial has shown.
    fn learn(&mut self, trial: &Trial<R>, outcome: Outcome<R>) {
        for mark in &outcome.marks {
            let key = (mark.legs, mark.finding.situation);
            if self.situations.len() >= MOST_SITUATIONS && !self.situations.contains_key(&key) {
                continue;
            }
            let place = Place { genes: trial.genes.clone(), mark: mark.clone(), visits: 0 };
            let known = self.situations.entry(key).or_insert(place);
            if mark.finding.margin < known.mark.finding.margin {
                known.genes = trial.genes.clone();
                known.mark = mark.clone();
            }
        }
        let margin = outcome.finding.margin;
        let place = self.elite.partition_point(|line| line.margin <= margin);
        if place < ELITE {
            self.elite.insert(place, Line { genes: trial.genes.clone(), margin, marks: outcome.marks });
            self.elite.truncate(ELITE);
        }
    }
}

impl<F: Field> Strategy<F> for Branching<F::Run> {
    fn name(&self) -> &'static str {
        "branching"
    }

    fn search(&mut self, hunt: &mut Hunt<'_, F>) {
        while !hunt.is_over() {
            let round: Vec<Trial<F::Run>> = (0..ROUND).map(|_| self.next(hunt.field())).collect();
            let outcomes = hunt.play(round.clone());
            for (trial, outcome) in round.iter().zip(outcomes) {
                self.learn(trial, outcome);
            }
        }
    }
}
