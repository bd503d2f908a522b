//! What other parameters would do: the same stories with the set as it is and as it would be, side by side.

use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use trunnion_rig::hunt::Range;
use trunnion_rig::language::Complaints;
use trunnion_rig::requirement::Verdict;
use trunnion_rig::run::{Plant, Rig, Run};
use trunnion_rig::scenario::Scenario;

use crate::bench::Bench;
use crate::scenarios::{origin, with_parameter};

/// After its permission went a machine has come to rest in this time, or it has not stopped for this reason, s.
const LONGEST_STOP: f64 = 6.0;
/// A margin that differs by a smaller share is not told.
const TOLD: f64 = 0.02;
/// A stop begins at this speed or above, m/s.
const ON_ITS_WAY: f64 = 0.3;

/// Under which surroundings the stories are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    /// As the scenario has it.
    AsTold,
    /// Each of the territory's surroundings at its lower end, where the scenario does not say.
    Low,
    /// At its upper end.
    High,
}

impl Condition {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::AsTold, Self::Low, Self::High];

    /// In words.
    pub const fn name(self) -> &'static str {
        match self {
            Self::AsTold => "as told",
            Self::Low => "surroundings low",
            Self::High => "surroundings high",
        }
    }

    fn value(self, range: &Range) -> Option<f64> {
        match self {
            Self::AsTold => None,
            Self::Low => Some(range.low),
            Self::High => Some(range.high),
        }
    }
}

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
    fn take(&mut self, verdict: Verdict, margin: Option<f64>, run: &str) {
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
    /// With the set as it is.
    pub before: Worst,
    /// With the set as it would be.
    pub after: Worst,
}

impl Line {
    /// The margin differs by more than a fiftieth.
    fn moves(&self) -> bool {
        match (self.before.margin, self.after.margin) {
            (Some(before), Some(after)) => (after - before).abs() > TOLD * before.abs(),
            (before, after) => before.is_some() != after.is_some(),
        }
    }

    /// More runs violate it than before.
    pub const fn turns(&self) -> bool {
        self.after.violated > self.before.violated
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

/// What a preview came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Preview {
    /// Runs of each set.
    pub runs: usize,
    /// All requirements whose margin differs by more than a fiftieth, and those that are violated.
    pub lines: Vec<Line>,
    /// Longest stop before and after, if the machine moves in the plane.
    pub stops: Option<[Stop; 2]>,
}

impl Preview {
    /// The requirements that the set breaks.
    pub fn broken(&self) -> impl Iterator<Item = &Line> {
        self.lines.iter().filter(|line| line.turns())
    }
}

struct Told {
    name: String,
    condition: Condition,
    before: Scenario,
    after: Scenario,
}

/// Runs every scenario of the bench under every condition with both sets: `present` is what a machine has that is not as
/// delivered, where the scenario says nothing of it, `settings` what would be written. `told` hears of each pair that is
/// done.
pub fn preview<B: Bench>(
    rig: &Rig<B::Machine, B::Plant>,
    present: &[(String, String)],
    settings: &[(String, String)],
    told: &(dyn Fn() + Sync),
) -> Result<Preview, Complaints> {
    let stories = stories::<B>(present, settings)?;
    let runs: Result<Vec<(&Told, [Run; 2])>, Complaints> = stories
        .par_iter()
        .map(|story| {
            let runs = [rig.run(&story.before)?, rig.run(&story.after)?];
            told();
            Ok((story, runs))
        })
        .collect();
    let runs = runs?;
    Ok(Preview { runs: runs.len(), lines: lines::<B>(&runs), stops: stops::<B>(&runs) })
}

/// How many pairs of runs a preview takes.
pub fn size<B: Bench>() -> usize {
    B::SCENARIOS.len() * conditions::<B>().len()
}

fn conditions<B: Bench>() -> &'static [Condition] {
    if B::TERRITORY.is_some() { &Condition::ALL } else { &Condition::ALL[..1] }
}

fn stories<B: Bench>(
    present: &[(String, String)],
    settings: &[(String, String)],
) -> Result<Vec<Told>, Complaints> {
    let mut stories = Vec::new();
    for (name, text) in B::SCENARIOS {
        let scenario = Scenario::parse(&origin(name), text)?;
        for condition in conditions::<B>() {
            let mut before = under::<B>(&scenario, *condition)?;
            for (parameter, value) in present {
                // A story of a certain value stays that story.
                if !scenario.parameters.iter().any(|stated| stated.name.value == *parameter) {
                    before = with_parameter(&before, parameter, value)?;
                }
            }
            let mut after = before.clone();
            for (parameter, value) in settings {
                after = with_parameter(&after, parameter, value)?;
            }
            stories.push(Told { name: (*name).to_owned(), condition: *condition, before, after });
        }
    }
    Ok(stories)
}

/// The scenario with the surroundings that it does not speak of at one end of their range.
fn under<B: Bench>(scenario: &Scenario, condition: Condition) -> Result<Scenario, Complaints> {
    let surroundings = B::TERRITORY.map_or(&[][..], |territory| territory.surroundings);
    let mut text = format!("{}\n", scenario.text.trim_end());
    for range in surroundings {
        let spoken_of = scenario.text.contains(range.name);
        let action = <B::Plant as Plant<B::Machine>>::ACTIONS.iter().find(|action| action.name == range.name);
        if let (Some(value), Some(action), false) = (condition.value(range), action, spoken_of) {
            text += &format!("set {} = {value} {}\n", range.name, action.unit);
        }
    }
    let varied = Scenario::parse(&scenario.origin, &text)?;
    Ok(Scenario { seed: scenario.seed, ..varied })
}

fn lines<B: Bench>(runs: &[(&Told, [Run; 2])]) -> Vec<Line> {
    let mut lines: BTreeMap<String, Line> = BTreeMap::new();
    for (story, runs) in runs {
        let run_name = format!("{}, {}", story.name, story.condition.name());
        for (after, run) in runs.iter().enumerate() {
            for result in &run.results {
                let of_machine = B::REQUIREMENTS.iter().any(|requirement| requirement.id == result.id);
                // A scenario's own wishes are for its own surroundings.
                if !of_machine && story.condition != Condition::AsTold {
                    continue;
                }
                let id = if of_machine { result.id.clone() } else { format!("{} {}", story.name, result.id) };
                let line = lines.entry(id.clone()).or_insert_with(|| Line {
                    id,
                    sentence: result.sentence.clone(),
                    unit: result.unit.clone(),
                    before: Worst::default(),
                    after: Worst::default(),
                });
                let worst = if after == 1 { &mut line.after } else { &mut line.before };
                worst.take(result.verdict, result.margin, &run_name);
            }
        }
    }
    lines.into_values().filter(|line| line.turns() || line.after.violated > 0 || line.moves()).collect()
}

fn stops<B: Bench>(runs: &[(&Told, [Run; 2])]) -> Option<[Stop; 2]> {
    let (path, group) = (B::PATH?, B::GROUPS.first()?);
    let mut stops = [Stop::default(), Stop::default()];
    for (story, pair) in runs {
        for (stop, run) in stops.iter_mut().zip(pair) {
            let values = |name| run.trace.column(name).map(|column| column.values.as_slice());
            let (Some(x), Some(y), Some(permission)) =
                (values(path.x), values(path.y), values(group.permission))
            else {
                continue;
            };
            let metres = longest_stop(x, y, permission, run.trace.period);
            if metres > stop.metres {
                *stop = Stop { metres, run: format!("{}, {}", story.name, story.condition.name()) };
            }
        }
    }
    Some(stops)
}

/// The longest way from a row in which permission went to rest, of a machine that was on its way.
fn longest_stop(x: &[f64], y: &[f64], permission: &[f64], period: f64) -> f64 {
    let steps: Vec<f64> =
        x.windows(2).zip(y.windows(2)).map(|(x, y)| (x[1] - x[0]).hypot(y[1] - y[0])).collect();
    let window = (LONGEST_STOP / period) as usize;
    let falls = permission.windows(2).enumerate().filter(|(_, pair)| pair[0] != 0.0 && pair[1] == 0.0);
    falls
        .filter(|(row, _)| steps.get(*row).is_some_and(|step| *step >= ON_ITS_WAY * period))
        .map(|(row, _)| {
            let lost = steps[row..].iter().zip(&permission[row + 1..]);
            lost.take(window).take_while(|(_, permitted)| **permitted == 0.0).map(|(step, _)| step).sum()
        })
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stop_is_measured_from_the_loss_of_permission_to_the_next_one() {
        // 1 m/s, permission lost behind row 2, at rest from row 4 on.
        let x = [0.0, 0.1, 0.2, 0.3, 0.35, 0.35, 0.35];
        let y = [0.0; 7];
        let permission = [1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0];
        assert!((longest_stop(&x, &y, &permission, 0.1) - 0.15).abs() < 1e-12);
        assert_eq!(longest_stop(&x, &y, &[1.0; 7], 0.1), 0.0, "never lost");
        let standing = [0.0; 7];
        assert_eq!(longest_stop(&standing, &y, &permission, 0.1), 0.0, "lost at rest");
    }

    #[test]
    fn the_worst_of_all_runs_is_kept_and_violations_are_counted() {
        let mut worst = Worst::default();
        worst.take(Verdict::Held, Some(2.0), "a");
        worst.take(Verdict::Violated, Some(-1.0), "b");
        worst.take(Verdict::Held, None, "c");
        assert_eq!((worst.violated, worst.margin, worst.run.as_str()), (1, Some(-1.0), "b"));
    }
}
