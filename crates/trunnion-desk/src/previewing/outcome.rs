//! What a preview came to.

use serde::{Deserialize, Serialize};
use trunnion_rig::requirement::Verdict;

use super::stopping::Driven;

/// A worst margin that differs by a smaller share is told by its name only.
const TOLD: f64 = 0.02;

/// The worst that a requirement came to.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Worst {
    /// Runs in which it was violated.
    pub violated: usize,
    /// Smallest margin of any run that has one.
    pub margin: Option<f64>,
    /// In which run.
    pub run: String,
}

impl Worst {
    pub(super) fn take(&mut self, verdict: Verdict, margin: Option<f64>, run: &str) {
        self.violated += usize::from(verdict == Verdict::Violated);
        let smaller = margin.is_some_and(|margin| self.margin.is_none_or(|least| margin < least));
        if smaller {
            self.margin = margin;
            run.clone_into(&mut self.run);
        }
    }
}

/// A requirement before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Its short name; with the scenario's for a scenario's own.
    pub id: String,
    /// What it asks.
    pub sentence: String,
    /// Unit of the margins.
    pub unit: String,
    /// Runs of each set in which it was watched.
    pub runs: usize,
    /// Those in which verdict or margin are not the same to the last bit with both sets.
    pub affected: usize,
    /// Those in which it is violated with the set as it would be, and not with the set as it is.
    pub broken: Vec<String>,
    /// With the set as it is.
    pub before: Worst,
    /// With the set as it would be.
    pub after: Worst,
}

impl Line {
    pub(super) fn new(id: &str, sentence: &str, unit: &str) -> Self {
        Self {
            id: id.to_owned(),
            sentence: sentence.to_owned(),
            unit: unit.to_owned(),
            runs: 0,
            affected: 0,
            broken: Vec::new(),
            before: Worst::default(),
            after: Worst::default(),
        }
    }

    /// A run violates it that did not before.
    pub const fn turns(&self) -> bool {
        !self.broken.is_empty()
    }

    /// What it came to differs in no run.
    pub const fn is_unaffected(&self) -> bool {
        self.affected == 0
    }

    /// It is shown with its margins: it is violated, or its worst margin differs by more than a fiftieth.
    pub fn is_told(&self) -> bool {
        self.turns() || self.after.violated > 0 || self.before.violated > 0 || self.moves()
    }

    fn moves(&self) -> bool {
        match (self.before.margin, self.after.margin) {
            (Some(before), Some(after)) => (after - before).abs() > TOLD * before.abs(),
            (before, after) => before.is_some() != after.is_some(),
        }
    }

    /// What breaks comes first, then what is violated, then what moves, then what is affected at all.
    pub(super) fn rank(&self) -> (bool, bool, bool, bool) {
        (!self.turns(), self.after.violated == 0, !self.moves(), self.is_unaffected())
    }
}

/// The longest way to rest after the first group's permission went.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Stop {
    /// Metres.
    pub metres: f64,
    /// In which run.
    pub run: String,
}

/// What of the plant is varied: all together at their lower ends, all together at their upper ends, where a story does not
/// say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Varied {
    /// Name of the action in scenarios.
    pub name: String,
    /// Unit of the values.
    pub unit: String,
    /// As told, where a story does not say.
    pub rest: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A recorded drive in the simulated machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DriveOutcome {
    /// What it is called.
    pub name: String,
    /// What told the wires.
    pub wires: String,
    /// Hash of the log and the scenario of its wires.
    pub hash: String,
    /// Seconds from the controller's start to the log's end.
    pub seconds: f64,
    /// Frames that drove the machine: those of the units with which a person asks.
    pub given: usize,
    /// Frames of the recorded controller, which are left out.
    pub of_controller: usize,
    /// Frames of the engine, other units and tools, which are left out.
    pub of_others: usize,
    /// Frames before the controller's start, which are left out.
    pub before_start: usize,
    /// How it went as told, with the set as it is and as it would be, if the machine moves in the plane.
    pub driven: Option<[Driven; 2]>,
}

/// What a preview came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Preview {
    /// Runs of each set.
    pub runs: usize,
    /// Those in which any requirement came to something else.
    pub touched: usize,
    /// How the plant was varied.
    pub varied: Vec<Varied>,
    /// All requirements: what breaks first, then what is violated, then what is affected, then the others.
    pub lines: Vec<Line>,
    /// Longest stop before and after, if the machine moves in the plane.
    pub stops: Option<[Stop; 2]>,
    /// Each recorded drive.
    pub drives: Vec<DriveOutcome>,
}

impl Preview {
    /// The requirements that the set breaks.
    pub fn broken(&self) -> impl Iterator<Item = &Line> {
        self.lines.iter().filter(|line| line.turns())
    }

    /// How many requirements came to the same in every run, to the last bit.
    pub fn unaffected(&self) -> usize {
        self.lines.iter().filter(|line| line.is_unaffected()).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(before: (usize, f64), after: (usize, f64), broken: usize) -> Line {
        let worst = |(violated, margin)| Worst { violated, margin: Some(margin), run: "a".to_owned() };
        Line {
            runs: 3,
            affected: usize::from(before != after),
            broken: vec!["b".to_owned(); broken],
            before: worst(before),
            after: worst(after),
            ..Line::new("R-01", "it holds", "m")
        }
    }

    #[test]
    fn the_worst_of_all_runs_is_kept_and_violations_are_counted() {
        let mut worst = Worst::default();
        worst.take(Verdict::Held, Some(2.0), "a");
        worst.take(Verdict::Violated, Some(-1.0), "b");
        worst.take(Verdict::Held, None, "c");
        assert_eq!((worst.violated, worst.margin, worst.run.as_str()), (1, Some(-1.0), "b"));
    }

    #[test]
    fn what_is_violated_is_always_told_and_comes_before_what_only_moves() {
        let breaks = line((0, 1.0), (1, -1.0), 1);
        // One story was mended and another broken: as many violations as before.
        let swaps = line((1, -1.0), (1, -1.0), 1);
        let (stays, mended) = (line((1, -1.0), (1, -1.0), 0), line((1, -1.0), (0, 1.0), 0));
        let (moves, hardly, unaffected) =
            (line((0, 1.0), (0, 0.9), 0), line((0, 1.0), (0, 0.99), 0), line((0, 1.0), (0, 1.0), 0));
        for told in [&breaks, &swaps, &stays, &mended, &moves] {
            assert!(told.is_told(), "{told:?}");
        }
        assert!(!hardly.is_told() && !unaffected.is_told());
        assert!(breaks.turns() && swaps.turns() && !stays.turns());
        let ranks = [&breaks, &stays, &moves, &hardly, &unaffected].map(Line::rank);
        assert!(ranks.is_sorted(), "{ranks:?}");
        assert!(unaffected.is_unaffected() && !hardly.is_unaffected());
    }
}
