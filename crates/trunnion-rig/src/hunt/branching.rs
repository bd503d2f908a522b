use std::collections::BTreeMap;
use std::sync::Arc;

use super::Strategy;
use super::field::{Field, Mark, Outcome, Start, Trial};
use super::search::Hunt;
use crate::plant::SplitMix64;

/// Runs of a round: the same on every computer.
const ROUND: usize = 8;
/// Runs that are kept as the best.
const ELITE: usize = 12;
/// Runs that are kept as the nearest to a requirement.
const NEAREST: usize = 3;
/// One in so many changes of a good run lies anywhere in it, not just before its margin was decided; where there are several
/// requirements, every other one: the margin that was decided first may be small in every run.
const ANYWHERE: (usize, usize) = (8, 2);
/// Situations that are kept: copies of whole machines take memory.
const MOST_SITUATIONS: usize = 1_500;

/// A way of making a trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    /// From the opening.
    Anew,
    /// From a situation that was seldom gone on from.
    Explore,
    /// From one of the best, a few genes drawn anew.
    Redraw,
    /// A stretch of legs drawn anew.
    Stretch,
    /// Many genes a little more or less.
    Nudge,
}

/// All ways, each with the share of trials that it has while none does better than another.
const WAYS: [(Way, f64); 5] =
    [(Way::Anew, 2.0), (Way::Explore, 3.0), (Way::Redraw, 1.0), (Way::Stretch, 1.0), (Way::Nudge, 1.0)];
/// What a trial that comes nearer than all before earns its way; one that is among the best, a quarter.
const EARNED: f64 = 8.0;
/// What is left of it after a round.
const LEFT: f64 = 0.95;

/// Branches off copies of earlier runs.
///
/// An archive keeps one copy for every situation that was ever seen, and the runs that came nearest to a violation. A
/// trial opens anew, or goes on from the copy of a situation that was seldom gone on from, or from a copy of one of the
/// best runs, with the rest of its genes changed: a few, a stretch of legs, or many of them a little. Genes are drawn from the
/// ends of their range as often as from between, and often held over several legs: an operator who provokes pushes a lever to
/// its stop and keeps it there, or holds one and moves the other. What is changed lies mostly before the leg that decided the
/// run's margin. A way that has lately brought runs among the best is taken more often, and what it has earned fades. The best
/// are those with the smallest margin, and of several requirements those that came nearest to each.
/// The archive of situations follows A. Ecoffet et al., "First return, then explore", Nature 590, 2021.
#[derive(Debug, Clone)]
pub struct Branching<R> {
    random: SplitMix64,
    situations: BTreeMap<(usize, u64), Place<R>>,
    elite: Vec<Arc<Line<R>>>,
    /// The runs that came nearest to a violation of each requirement, where there are several.
    nearest: Vec<Vec<Arc<Line<R>>>>,
    /// How well each way of making a trial has done lately.
    credit: [f64; WAYS.len()],
}

/// A copy in a situation, and how often a trial went on from it.
#[derive(Debug, Clone)]
struct Place<R> {
    genes: Vec<f64>,
    mark: Mark<R>,
    visits: u32,
}

/// A trial, and the copies along the way to where it begins.
#[derive(Debug, Clone)]
struct Branch<R> {
    trial: Trial<R>,
    behind: Vec<Mark<R>>,
}

/// A whole run with its copies.
#[derive(Debug, Clone)]
struct Line<R> {
    genes: Vec<f64>,
    margin: f64,
    /// Of each requirement.
    margins: Vec<f64>,
    marks: Vec<Mark<R>>,
    /// How many of the marks lie before the leg that decided the margin: what is changed behind it changes nothing, unless
    /// it comes nearer still.
    undecided: usize,
}

impl<R: Clone> Branching<R> {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Self {
            random: SplitMix64::for_part(seed, "branching"),
            situations: BTreeMap::new(),
            elite: Vec::new(),
            nearest: Vec::new(),
            credit: [0.0; WAYS.len()],
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

    fn anew<F: Field<Run = R>>(&mut self, field: &F) -> Trial<R> {
        // Every other one is by lot alone: ends of ranges are no good where a gene chooses among many.
        let ends = self.below(2) == 0;
        let mut draw = || if ends { self.gene() } else { self.random.next_unit() };
        let mut genes: Vec<f64> = (0..field.genes()).map(|_| draw()).collect();
        // Every other one holds what it does over several legs: one that changes its mind each leg gets nowhere far.
        if self.below(2) == 0 {
            let longest = self.below(5);
            self.hold(&mut genes, field.opening_genes(), field.leg_genes(), 1 << longest);
        }
        Trial { start: Start::Opening, genes, keep: true }
    }

    /// Repeats legs in stretches of up to so many: all that a leg does, or each gene for itself.
    fn hold(&mut self, genes: &mut [f64], opening: usize, leg: usize, longest: usize) {
        let legs = genes.get_mut(opening..).unwrap_or_default();
        if self.below(2) == 0 {
            self.hold_genes(legs, leg, 0..leg, longest);
        } else {
            for gene in 0..leg {
                self.hold_genes(legs, leg, gene..gene + 1, longest);
            }
        }
    }

    fn hold_genes(&mut self, legs: &mut [f64], leg: usize, which: std::ops::Range<usize>, longest: usize) {
        let count = legs.len() / leg.max(1);
        let mut first = 0;
        while first < count {
            let end = (first + 1 + self.below(longest)).min(count);
            for place in first + 1..end {
                for gene in which.clone() {
                    legs[place * leg + gene] = legs[first * leg + gene];
                }
            }
            first = end;
        }
    }

    /// From the least visited of a few situations by lot.
    fn explore(&mut self, opening: usize, leg: usize) -> Option<Branch<R>> {
        let count = self.situations.len();
        let drawn: Vec<usize> = (0..4).map(|_| self.below(count)).collect();
        let keys = drawn.into_iter().filter_map(|place| self.situations.iter().nth(place));
        let (key, _) = keys.min_by_key(|(_, place)| place.visits)?;
        let key = *key;
        let place = self.situations.get_mut(&key)?;
        place.visits += 1;
        let start = Start::Copy { run: place.mark.run.clone(), legs: place.mark.legs };
        let legs = place.mark.legs;
        let behind = vec![place.mark.clone()];
        let mut changed = place.genes.clone();
        for gene in changed.iter_mut().skip(opening + legs * leg) {
            *gene = self.random.next_unit();
        }
        Some(Branch { trial: Trial { start, genes: changed, keep: true }, behind })
    }

    /// One of the best runs, the better the more often; every other one for any requirement by lot: one that is near to its
    /// limit in every run would hide the others.
    fn good_one(&mut self) -> Option<Arc<Line<R>>> {
        let of_one = if self.nearest.len() > 1 && self.below(2) == 0 {
            let which = self.below(self.nearest.len());
            self.nearest.get(which).filter(|lines| !lines.is_empty()).cloned()
        } else {
            None
        };
        let count = of_one.as_ref().unwrap_or(&self.elite).len();
        let place = self.below(count).min(self.below(count));
        of_one.as_ref().unwrap_or(&self.elite).get(place).cloned()
    }

    /// From a copy of one of the best runs, with what follows changed here and there.
    fn refine(&mut self, way: Way, opening: usize, leg: usize) -> Option<Branch<R>> {
        let line = self.good_one()?;
        let one_in = if line.margins.len() > 1 { ANYWHERE.1 } else { ANYWHERE.0 };
        let count = if self.below(one_in) == 0 { line.marks.len() } else { line.undecided };
        let from = self.below(count + 1);
        let (start, begin) = match from.checked_sub(1).and_then(|from| line.marks.get(from)) {
            Some(mark) => (Start::Copy { run: mark.run.clone(), legs: mark.legs }, opening + mark.legs * leg),
            None => (Start::Opening, 0),
        };
        let mut genes = line.genes.clone();
        let end = match line.marks.get(count) {
            Some(mark) => opening + mark.legs * leg,
            None => genes.len(),
        };
        let open = end.saturating_sub(begin).max(1);
        match way {
            Way::Nudge => self.nudge(&mut genes, begin),
            Way::Stretch => self.redraw_stretch(&mut genes, begin, open, leg),
            _ => self.redraw(&mut genes, begin, open),
        }
        let behind = line.marks.iter().take(from).cloned().collect();
        Some(Branch { trial: Trial { start, genes, keep: true }, behind })
    }

    /// A few genes anew.
    fn redraw(&mut self, genes: &mut [f64], begin: usize, open: usize) {
        let changes = 1 + self.below(3);
        for _ in 0..changes {
            let which = begin + self.below(open);
            let drawn = self.gene();
            if let Some(gene) = genes.get_mut(which) {
                *gene = drawn;
            }
        }
    }

    /// A stretch of legs anew; every other one is one that holds what it does.
    fn redraw_stretch(&mut self, genes: &mut [f64], begin: usize, open: usize, leg: usize) {
        let length = leg * (1 + self.below(4));
        let first = begin + self.below(open) / leg.max(1) * leg;
        let end = (first + length).min(genes.len());
        let Some(stretch) = genes.get_mut(first..end) else { return };
        for gene in stretch.iter_mut() {
            *gene = self.gene();
        }
        if self.below(2) == 0 {
            let legs = stretch.len() / leg.max(1);
            self.hold(stretch, 0, leg, legs.max(1));
        }
    }

    /// Some genes a little more or less: where a margin hangs on little, a gene drawn anew passes it by.
    fn nudge(&mut self, genes: &mut [f64], begin: usize) {
        let reach = [0.3, 0.1, 0.03, 0.01][self.below(4)];
        let one_in = 1 + self.below(6);
        for gene in genes.iter_mut().skip(begin) {
            if self.below(one_in) == 0 {
                *gene = (*gene + reach * (2.0 * self.random.next_unit() - 1.0)).clamp(0.0, 1.0);
            }
        }
    }

    /// By lot, each way with its share and what it has earned.
    fn way(&mut self) -> Way {
        if self.situations.is_empty() && self.elite.is_empty() {
            return Way::Anew;
        }
        let weights = WAYS.iter().zip(self.credit).map(|((_, share), credit)| share + credit);
        let mut left = self.random.next_unit() * weights.clone().sum::<f64>();
        for ((way, _), weight) in WAYS.iter().zip(weights) {
            left -= weight;
            if left < 0.0 {
                return *way;
            }
        }
        Way::Anew
    }

    fn next<F: Field<Run = R>>(&mut self, field: &F) -> (Way, Branch<R>) {
        let way = self.way();
        let branch = match way {
            Way::Anew => None,
            Way::Explore => self.explore(field.opening_genes(), field.leg_genes()),
            way => self.refine(way, field.opening_genes(), field.leg_genes()),
        };
        (way, branch.unwrap_or_else(|| Branch { trial: self.anew(field), behind: Vec::new() }))
    }

    /// Keeps what a trial has shown.
    fn learn(&mut self, way: Way, branch: Branch<R>, outcome: Outcome<R>) {
        let Branch { trial, behind } = branch;
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
        let Outcome { finding, margins, marks: after, .. } = outcome;
        let mut marks = behind;
        marks.extend(after);
        let undecided =
            marks.iter().rposition(|mark| mark.finding.margin != finding.margin).map_or(0, |place| place + 1);
        let line =
            Arc::new(Line { genes: trial.genes.clone(), margin: finding.margin, margins, marks, undecided });
        let place = self.elite.partition_point(|known| known.margin <= line.margin);
        if place < ELITE {
            let earned = if place == 0 { EARNED } else { EARNED / 4.0 };
            let ways = WAYS.iter().zip(&mut self.credit);
            ways.filter(|((own, _), _)| *own == way).for_each(|(_, credit)| *credit += earned);
            self.elite.insert(place, Arc::clone(&line));
            self.elite.truncate(ELITE);
        }
        if line.margins.len() > 1 {
            self.nearest.resize(line.margins.len(), Vec::new());
            for (which, (nearest, margin)) in self.nearest.iter_mut().zip(&line.margins).enumerate() {
                let known =
                    |known: &Arc<Line<R>>| known.margins.get(which).is_some_and(|known| known <= margin);
                let place = nearest.partition_point(known);
                if place < NEAREST && margin.is_finite() {
                    nearest.insert(place, Arc::clone(&line));
                    nearest.truncate(NEAREST);
                }
            }
        }
    }
}

impl<F: Field> Strategy<F> for Branching<F::Run> {
    fn name(&self) -> &'static str {
        "branching"
    }

    fn search(&mut self, hunt: &mut Hunt<'_, F>) {
        while !hunt.is_over() {
            let round: Vec<(Way, Branch<F::Run>)> = (0..ROUND).map(|_| self.next(hunt.field())).collect();
            let outcomes = hunt.play(round.iter().map(|(_, branch)| branch.trial.clone()).collect());
            self.credit.iter_mut().for_each(|credit| *credit *= LEFT);
            for ((way, branch), outcome) in round.into_iter().zip(outcomes) {
                self.learn(way, branch, outcome);
            }
        }
    }
}
