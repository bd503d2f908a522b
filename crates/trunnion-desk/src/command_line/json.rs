//! Results for scripts.

use std::fs;
use std::path::Path;

use serde::Serialize;
use trunnion_rig::run::{EventRecord, RequirementResult};

use super::Streams;
use super::selection::Job;
use super::trouble::Trouble;
use super::verdicts::Counts;
use super::work::{Done, Firmware, Mark};
use crate::bench::Bench;

/// Everything but the traces. The same runs give the same bytes: no clock goes into it.
#[derive(Debug, Default, Serialize)]
pub(super) struct Results {
    machine: &'static str,
    program: &'static str,
    version: &'static str,
    scenarios: Vec<ScenarioResult>,
    passed: usize,
    failed: usize,
    skipped: usize,
}

#[derive(Debug, Serialize)]
struct ScenarioResult {
    name: String,
    origin: String,
    title: String,
    seed: u64,
    seconds: f64,
    result: &'static str,
    trace_hash: String,
    requirements: Vec<RequirementResult>,
    events: Vec<EventRecord>,
    firmware: FirmwareResult,
}

#[derive(Debug, Serialize)]
#[serde(tag = "compared", rename_all = "snake_case")]
enum FirmwareResult {
    NotAsked,
    Equal { ticks: u32 },
    Different { first: String },
    NotAvailable { why: String },
}

impl Results {
    pub(super) fn of<B: Bench>() -> Self {
        Self { machine: B::TITLE, program: B::NAME, version: B::VERSION, ..Self::default() }
    }

    pub(super) fn add(&mut self, job: &Job, done: &Done) {
        let run = &done.run;
        self.scenarios.push(ScenarioResult {
            name: job.name.clone(),
            origin: run.origin.clone(),
            title: run.title.clone(),
            seed: run.seed,
            seconds: done.simulated(),
            result: match done.mark() {
                Mark::Passed => "passed",
                Mark::Failed => "failed",
                Mark::Skipped => "skipped",
            },
            trace_hash: run.hash.to_string(),
            requirements: run.results.clone(),
            events: run.events.clone(),
            firmware: match &done.firmware {
                Firmware::NotAsked => FirmwareResult::NotAsked,
                Firmware::Equal(run) => FirmwareResult::Equal { ticks: run.ticks },
                Firmware::Failed(error) => FirmwareResult::Different { first: error.to_string() },
                Firmware::NotAvailable(error) => FirmwareResult::NotAvailable { why: error.to_string() },
            },
        });
    }
}

/// Writes the results to a file, or to the standard output for `-`.
pub(super) fn write(
    path: &Path,
    results: &mut Results,
    counts: Counts,
    streams: &mut Streams<'_>,
) -> Result<(), Trouble> {
    (results.passed, results.failed, results.skipped) = (counts.passed, counts.failed, counts.skipped);
    let mut text = serde_json::to_string_pretty(results).map_err(|error| {
        Trouble::with_help(format!("the results cannot be written as JSON: {error}"), "tell its makers")
    })?;
    text.push('\n');
    if path == Path::new("-") {
        return Ok(streams.out.write_all(text.as_bytes())?);
    }
    fs::write(path, text).map_err(|error| Trouble::unwritable(path, &error))
}
