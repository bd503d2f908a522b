use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::Strategy;
use super::field::{Field, Outcome, Trial, play};

/// How much may be tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Budget {
    /// Number of runs. A run that begins at a copy of another counts as a whole one.
    pub simulations: u64,
}

/// A violation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Found {
    /// Which run it was, counted from 1.
    pub simulation: u64,
    /// The genes of the run.
    pub genes: Vec<f64>,
    /// Place of the violated requirement.
    pub requirement: usize,
}

/// What a hunt came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// Name of the strategy.
    pub strategy: String,
    /// Number of runs until the first violation, or of all runs.
    pub simulations: u64,
    /// The same in whole runs' worth of legs: what branching off copies really cost.
    pub whole_runs: f64,
    /// Smallest margin seen, as a share of what its signal spans.
    pub margin: f64,
    /// The first violation.
    pub found: Option<Found>,
}

/// A hunt under way: plays trials on all threads of the current pool and keeps the account.
pub struct Hunt<'a, F: Field> {
    field: &'a F,
    budget: Budget,
    simulations: u64,
    legs: u64,
    margin: f64,
    found: Option<Found>,
    stopped: bool,
    watch: &'a mut (dyn FnMut(&Progress) -> bool + Send),
}

/// How far a hunt has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Runs so far.
    pub simulations: u64,
    /// Smallest margin so far.
    pub margin: f64,
    /// Whether a violation was found.
    pub found: bool,
}

impl<'a, F: Field> Hunt<'a, F> {
    /// Hunts with a strategy. `watch` is shown the progress after each round and ends the hunt by saying `false`:
    /// by time, for instance, which makes the result depend on the computer.
    pub fn run(
        field: &'a F,
        strategy: &mut dyn Strategy<F>,
        budget: Budget,
        watch: &'a mut (dyn FnMut(&Progress) -> bool + Send),
    ) -> Report {
        let mut hunt = Self {
            field,
            budget,
            simulations: 0,
            legs: 0,
            margin: f64::MAX,
            found: None,
            stopped: false,
            watch,
        };
        strategy.search(&mut hunt);
        Report {
            strategy: strategy.name().to_owned(),
            simulations: hunt.found.as_ref().map_or(hunt.simulations, |found| found.simulation),
            whole_runs: hunt.legs as f64 / field.legs().max(1) as f64,
            margin: hunt.margin,
            found: hunt.found,
        }
    }

    /// What is hunted in.
    pub fn field(&self) -> &'a F {
        self.field
    }

    /// Something was found, the budget is spent, or whoever watches has had enough.
    pub fn is_over(&self) -> bool {
        self.stopped || self.found.is_some() || self.simulations >= self.budget.simulations
    }

    /// Runs that are left in the budget.
    pub fn left(&self) -> u64 {
        self.budget.simulations.saturating_sub(self.simulations)
    }

    /// Plays a round of trials side by side. Those behind the end of the budget are left out.
    pub fn play(&mut self, mut trials: Vec<Trial<F::Run>>) -> Vec<Outcome<F::Run>> {
        trials.truncate(usize::try_from(self.left()).unwrap_or(usize::MAX));
        let field = self.field;
        let outcomes: Vec<Outcome<F::Run>> = trials.par_iter().map(|trial| play(field, trial)).collect();
        for (trial, outcome) in trials.iter().zip(&outcomes) {
            self.count(&trial.genes, outcome);
        }
        self.tell();
        outcomes
    }

    /// Takes runs that a strategy has played by itself, in an order that does not depend on the threads.
    pub(super) fn take(&mut self, runs: &[(Vec<f64>, Outcome<F::Run>)]) {
        for (genes, outcome) in runs {
            self.count(genes, outcome);
        }
        self.tell();
    }

    fn count(&mut self, genes: &[f64], outcome: &Outcome<F::Run>) {
        // What the same round played behind the first violation would not have been played one by one.
        if self.found.is_some() {
            return;
        }
        self.simulations += 1;
        self.legs += outcome.played as u64;
        self.margin = self.margin.min(outcome.finding.margin);
        if let Some(requirement) = outcome.finding.violated {
            self.found = Some(Found { simulation: self.simulations, genes: genes.to_vec(), requirement });
        }
    }

    fn tell(&mut self) {
        let progress =
            Progress { simulations: self.simulations, margin: self.margin, found: self.found.is_some() };
        self.stopped |= !(self.watch)(&progress);
    }
}
