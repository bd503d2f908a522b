//! What other parameters would do: the same stories and recorded drives with the set as it is and as it would be, side by side.

mod outcome;
mod recorded;
mod stopping;

use std::cmp::Reverse;
use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::Serialize;
use trunnion::machine::Machine;
use trunnion_rig::hunt::Range;
use trunnion_rig::language::Complaints;
use trunnion_rig::requirement::Verdict;
use trunnion_rig::run::{Plant, Rig, Run};
use trunnion_rig::scenario::Scenario;

use crate::bench::Bench;
use crate::scenarios::{origin, with_parameter};

pub use outcome::{DriveOutcome, Line, Preview, Stop, Varied, Worst};
pub use recorded::{NoDrive, RecordedLog};
pub use stopping::Driven;

use recorded::Drive;
use stopping::Track;

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

/// What is run with both sets.
struct Story<'a> {
    name: String,
    condition: Condition,
    /// The driver's demands come from here, not from the scenario.
    drive: Option<&'a Drive>,
    before: Scenario,
    after: Scenario,
    /// Control periods that it lasts.
    periods: u32,
}

/// What a requirement came to in a run.
struct Judged {
    id: String,
    sentence: String,
    unit: String,
    verdict: Verdict,
    margin: Option<f64>,
}

/// A story with both sets, as much of it as is kept.
struct Both {
    run: String,
    drive: Option<String>,
    condition: Condition,
    /// Each requirement before and after.
    judged: Vec<[Judged; 2]>,
    driven: Option<[Driven; 2]>,
}

/// Runs every scenario of the bench, and every recorded drive, under every condition with both sets: `present` is what a
/// machine has that is not as delivered, where a story says nothing of it, `settings` what would be written. `told` hears
/// of each pair that is done.
///
/// # Errors
/// A story makes no sense, or a log cannot be driven.
pub fn preview<B: Bench>(
    rig: &Rig<B::Machine, B::Plant>,
    logs: &[RecordedLog],
    present: &[(String, String)],
    settings: &[(String, String)],
    told: &(dyn Fn() + Sync),
) -> Result<Preview, NoDrive> {
    let drives: Result<Vec<Drive>, NoDrive> =
        logs.par_iter().map(|log| Drive::read::<B>(rig, log, present)).collect();
    let drives = drives?;
    let stories = stories::<B>(rig, &drives, present, settings)?;
    // The longest first, one after the other: at the end all threads have something short.
    let mut order: Vec<usize> = (0..stories.len()).collect();
    order.sort_by_key(|place| Reverse(stories[*place].periods));
    let run = |place: usize| {
        let both = both::<B>(rig, &stories[place])?;
        told();
        Ok((place, both))
    };
    let runs: Result<BTreeMap<usize, Both>, Complaints> = order.into_iter().par_bridge().map(run).collect();
    let runs: Vec<Both> = runs?.into_values().collect();
    Ok(Preview {
        runs: runs.len(),
        touched: runs.iter().filter(|run| run.judged.iter().any(differ)).count(),
        varied: varied::<B>(),
        lines: lines::<B>(&runs),
        stops: stops(&runs),
        drives: drives.iter().map(|drive| drive.told::<B>(driven_as_told(&runs, &drive.name))).collect(),
    })
}

/// How many pairs of runs a preview takes.
pub fn size<B: Bench>(logs: usize) -> usize {
    (B::SCENARIOS.len() + logs) * conditions::<B>().len()
}

fn conditions<B: Bench>() -> &'static [Condition] {
    if B::TERRITORY.is_some() { &Condition::ALL } else { &Condition::ALL[..1] }
}

fn stories<'a, B: Bench>(
    rig: &Rig<B::Machine, B::Plant>,
    drives: &'a [Drive],
    present: &[(String, String)],
    settings: &[(String, String)],
) -> Result<Vec<Story<'a>>, Complaints> {
    let mut sources = Vec::new();
    for drive in drives {
        sources.push((format!("drive {}", drive.name), Some(drive), drive.wires.clone()));
    }
    for (name, text) in B::SCENARIOS {
        sources.push(((*name).to_owned(), None, Scenario::parse(&origin(name), text)?));
    }
    let mut stories = Vec::new();
    for (name, drive, scenario) in sources {
        for condition in conditions::<B>() {
            let mut before = with_present(&under::<B>(&scenario, *condition)?, &scenario, present)?;
            let mut after = before.clone();
            for (parameter, value) in settings {
                after = with_parameter(&after, parameter, value)?;
            }
            if drive.is_some() {
                // What the story wishes is for its own levers.
                before.requirements.clear();
                after.requirements.clear();
            }
            let periods = match drive {
                Some(drive) => drive.demands.periods,
                None => rig.start_unrecorded(&before)?.ticks(),
            };
            stories.push(Story { name: name.clone(), condition: *condition, drive, before, after, periods });
        }
    }
    Ok(stories)
}

/// The story on a machine that has these parameters; one of a certain value stays that story.
fn with_present(
    scenario: &Scenario,
    written: &Scenario,
    present: &[(String, String)],
) -> Result<Scenario, Complaints> {
    let mut with = scenario.clone();
    for (parameter, value) in present {
        if !written.parameters.iter().any(|stated| stated.name.value == *parameter) {
            with = with_parameter(&with, parameter, value)?;
        }
    }
    Ok(with)
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

/// The ends of the surroundings, as the conditions have them.
fn varied<B: Bench>() -> Vec<Varied> {
    let surroundings = B::TERRITORY.map_or(&[][..], |territory| territory.surroundings);
    let row = |range: &Range| {
        let actions = <B::Plant as Plant<B::Machine>>::ACTIONS;
        let action = actions.iter().find(|action| action.name == range.name)?;
        let (name, unit) = (range.name.to_owned(), action.unit.to_owned());
        Some(Varied { name, unit, rest: action.rest, low: range.low, high: range.high })
    };
    surroundings.iter().filter_map(row).collect()
}

fn both<B: Bench>(rig: &Rig<B::Machine, B::Plant>, story: &Story<'_>) -> Result<Both, Complaints> {
    let mut tracks = Track::of::<B>(rig.columns()).map(|track| [track.clone(), track]);
    let mut told = |rows: [&[f64]; 2]| {
        let tracks = tracks.iter_mut().flatten().zip(rows);
        tracks.for_each(|(track, row)| track.take(row));
    };
    let runs = match story.drive {
        Some(drive) => drive.demands.drive_unrecorded::<B>(rig, &story.before, &story.after, &mut told)?,
        None => rig.run_twins_unrecorded(&story.before, &story.after, &mut told)?,
    };
    let period = f64::from(B::Machine::PERIOD.micros()) / 1e6;
    let driven = tracks.map(|tracks| tracks.map(|track| track.driven(period)));
    let [before, after] = runs.map(|run: Run| {
        run.results.into_iter().map(|result| Judged {
            id: result.id,
            sentence: result.sentence,
            unit: result.unit,
            verdict: result.verdict,
            margin: result.margin,
        })
    });
    Ok(Both {
        run: format!("{}, {}", story.name, story.condition.name()),
        drive: story.drive.map(|drive| drive.name.clone()),
        condition: story.condition,
        judged: before.zip(after).map(<[Judged; 2]>::from).collect(),
        driven,
    })
}

/// Whether the set changed anything of what a requirement came to, to the last bit.
fn differ([before, after]: &[Judged; 2]) -> bool {
    before.verdict != after.verdict || before.margin.map(f64::to_bits) != after.margin.map(f64::to_bits)
}

fn lines<B: Bench>(runs: &[Both]) -> Vec<Line> {
    let mut lines: BTreeMap<String, Line> = BTreeMap::new();
    for both in runs {
        for pair in &both.judged {
            let [before, after] = pair;
            let of_machine = B::REQUIREMENTS.iter().any(|requirement| requirement.id == before.id);
            // A scenario's own wishes are for its own surroundings.
            if !of_machine && both.condition != Condition::AsTold {
                continue;
            }
            let story = both.run.split(',').next().unwrap_or_default();
            let id = if of_machine { before.id.clone() } else { format!("{story} {}", before.id) };
            let line = lines.entry(id).or_insert_with_key(|id| Line::new(id, &before.sentence, &before.unit));
            line.runs += 1;
            line.affected += usize::from(differ(pair));
            if before.verdict != Verdict::Violated && after.verdict == Verdict::Violated {
                line.broken.push(both.run.clone());
            }
            line.before.take(before.verdict, before.margin, &both.run);
            line.after.take(after.verdict, after.margin, &both.run);
            if line.unit.is_empty() {
                line.unit.clone_from(&after.unit);
            }
        }
    }
    let mut lines: Vec<Line> = lines.into_values().collect();
    lines.sort_by_key(Line::rank);
    lines
}

/// The longest stop of all runs, before and after.
fn stops(runs: &[Both]) -> Option<[Stop; 2]> {
    let mut stops: Option<[Stop; 2]> = None;
    for both in runs {
        let Some(driven) = &both.driven else { continue };
        for (stop, driven) in stops.get_or_insert_default().iter_mut().zip(driven) {
            if driven.longest_stop > stop.metres {
                *stop = Stop { metres: driven.longest_stop, run: both.run.clone() };
            }
        }
    }
    stops
}

fn driven_as_told(runs: &[Both], drive: &str) -> Option<[Driven; 2]> {
    let as_told = |both: &&Both| both.drive.as_deref() == Some(drive) && both.condition == Condition::AsTold;
    runs.iter().find(as_told)?.driven.clone()
}
