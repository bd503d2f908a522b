//! Which scenarios are meant.

use std::fs;
use std::path::Path;

use trunnion_rig::run::Rig;
use trunnion_rig::scenario::Scenario;

use super::arguments::RunArguments;
use super::trouble::{Trouble, pointed};
use crate::bench::Bench;
use crate::scenarios;

/// A scenario to be run, and a short name that is its own among those of one command.
#[derive(Debug, Clone)]
pub(super) struct Job {
    pub(super) name: String,
    pub(super) scenario: Scenario,
}

/// The rig of a bench.
pub(super) type BenchRig<B> = Rig<<B as Bench>::Machine, <B as Bench>::Plant>;

/// The scenarios that a run was asked for, with its seed and parameters.
pub(super) fn selected<B: Bench>(arguments: &RunArguments) -> Result<Vec<Job>, Trouble> {
    let names: Vec<&str> = if arguments.all {
        B::SCENARIOS.iter().map(|(name, _)| *name).collect()
    } else {
        arguments.scenarios.iter().map(String::as_str).collect()
    };
    let mut jobs = all_of::<B>(&names)?;
    for setting in &arguments.parameter {
        let Some((name, value)) = setting.split_once('=') else {
            let help = "write --parameter 'NAME = VALUE' with its unit, as in a scenario";
            return Err(Trouble::with_help(format!("`{setting}` sets nothing"), help));
        };
        for job in &mut jobs {
            job.scenario = scenarios::with_parameter(&job.scenario, name.trim(), value.trim())?;
        }
    }
    if let Some(seed) = arguments.seed {
        jobs.iter_mut().for_each(|job| job.scenario.seed = seed);
    }
    Ok(jobs)
}

/// Scenarios by name or path; everything that is wrong with any of them at once.
pub(super) fn all_of<B: Bench>(names: &[&str]) -> Result<Vec<Job>, Trouble> {
    let mut jobs: Vec<Job> = Vec::new();
    let mut wrong = Vec::new();
    for name in names {
        match one::<B>(name) {
            Ok(mut job) => {
                let same = jobs.iter().filter(|known| known.name == job.name).count();
                if same > 0 {
                    job.name = format!("{}_{}", job.name, same + 1);
                }
                jobs.push(job);
            }
            Err(Trouble::Told(more)) => wrong.extend(more),
            Err(other) => return Err(other),
        }
    }
    if wrong.is_empty() { Ok(jobs) } else { Err(Trouble::Told(wrong)) }
}

fn one<B: Bench>(name: &str) -> Result<Job, Trouble> {
    if let Ok(scenario) = scenarios::built_in::<B>(name) {
        return Ok(Job { name: name.to_owned(), scenario: scenario? });
    }
    let path = Path::new(name);
    if !path.exists() {
        let what =
            format!("there is no scenario and no file called `{name}`; {}", scenarios::nearest::<B>(name));
        return Err(Trouble::with_help(what, format!("see `{} list scenarios`", B::NAME)));
    }
    let scenario = read(path)?;
    let stem = path.file_stem().map_or_else(|| name.to_owned(), |stem| stem.to_string_lossy().into_owned());
    Ok(Job { name: stem, scenario })
}

/// Reads a scenario file.
pub(super) fn read(path: &Path) -> Result<Scenario, Trouble> {
    let text = fs::read_to_string(path).map_err(|error| Trouble::unreadable(path, &error))?;
    Ok(Scenario::parse(&path.display().to_string(), &text)?)
}

/// Refuses names and values that the machine does not have, in all scenarios at once, before any is run.
pub(super) fn refuse_unknown<B: Bench>(rig: &BenchRig<B>, jobs: &[Job]) -> Result<(), Trouble> {
    let complaints = jobs.iter().filter_map(|job| rig.start(&job.scenario).err());
    let wrong: Vec<miette::Report> = complaints.flat_map(|complaints| pointed(&complaints)).collect();
    if wrong.is_empty() { Ok(()) } else { Err(Trouble::Told(wrong)) }
}
