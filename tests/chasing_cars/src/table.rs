//! Falsification rate and number of runs, beside what was published.

use rayon::prelude::*;
use trunnion_rig::hunt::{Budget, Hunt, Report, STRATEGIES, strategy};

use crate::{Course, Formula};

/// Runs of a search: our own choice.
pub const BUDGET: u64 = 1_500;
/// Searches of each formula and strategy.
pub const REPEATS: u64 = 10;

/// Seeds on which nothing was chosen.
pub const HELD_OUT: std::ops::Range<u64> = 401..431;

/// What one participant's own summaries of the competition say: mean runs of 10 searches, with the number of falsified ones
/// where it was not all of them.
pub const PUBLISHED: [(&str, &str); 7] = [
    ("CC1", "229 (2023), 396 (2024), 198 (2026)"),
    ("CC2", "119 (2023), 76 (2024), 38 (2026)"),
    ("CC3", "195 (2023), 122 (2024), 61 (2026)"),
    ("CC4", "1257, 4 of 10 (2024), 474 (2026)"),
    ("CC4 with G[0,5]", "see CC4: its summaries do not say which"),
    ("CC5", "–"),
    ("CCx", "0 of 10 (2024, 2026)"),
];

/// All searches of a formula with a strategy.
#[derive(Debug, Clone)]
pub struct Row {
    /// The formula.
    pub formula: Formula,
    /// The strategy.
    pub strategy: &'static str,
    /// One report a seed.
    pub reports: Vec<Report>,
}

impl Row {
    /// How many searches falsified.
    pub fn falsified(&self) -> usize {
        self.reports.iter().filter(|report| report.found.is_some()).count()
    }

    /// Mean and median runs of those that did.
    pub fn runs(&self) -> Option<(f64, u64)> {
        let mut runs: Vec<u64> = self
            .reports
            .iter()
            .filter(|report| report.found.is_some())
            .map(|report| report.simulations)
            .collect();
        runs.sort_unstable();
        let middle = *runs.get(runs.len() / 2)?;
        Some((runs.iter().sum::<u64>() as f64 / runs.len() as f64, middle))
    }

    /// Mean of the same in whole runs' worth of simulated time.
    pub fn whole_runs(&self) -> Option<f64> {
        let found = self.reports.iter().filter(|report| report.found.is_some());
        let sum: f64 = found.map(|report| report.whole_runs).sum();
        (self.falsified() > 0).then(|| sum / self.falsified() as f64)
    }
}

/// Searches side by side, each on one thread.
pub fn row(formula: Formula, name: &'static str, seeds: std::ops::Range<u64>, budget: u64) -> Row {
    let search = |seed: u64| {
        let course = Course(formula);
        let mut chosen = strategy::<Course>(name, seed)?;
        Some(Hunt::run(&course, chosen.as_mut(), Budget { simulations: budget }, &mut |_| true))
    };
    let reports = seeds.into_par_iter().filter_map(search).collect();
    Row { formula, strategy: name, reports }
}

/// The whole table as Markdown.
pub fn table() -> String {
    let mut text = String::from(
        "| formula | strategy | falsified | mean runs | median | mean whole runs | published mean runs |\n|---|---|---|---|---|---|---|\n",
    );
    for (formula, (name, published)) in Formula::ALL.into_iter().zip(PUBLISHED) {
        for strategy in STRATEGIES {
            text += &line(name, strategy, &row(formula, strategy, 1..REPEATS + 1, BUDGET), published);
        }
        text += &line(name, "branching, held out", &row(formula, "branching", HELD_OUT, BUDGET), published);
    }
    text
}

fn line(name: &str, strategy: &str, row: &Row, published: &str) -> String {
    let (mean, median) = row.runs().map_or(("–".to_owned(), "–".to_owned()), |(mean, median)| {
        (format!("{mean:.0}"), median.to_string())
    });
    format!(
        "| {name} | {strategy} | {} of {} | {mean} | {median} | {} | {published} |\n",
        row.falsified(),
        row.reports.len(),
        row.whole_runs().map_or("–".to_owned(), |runs| format!("{runs:.0}")),
    )
}
