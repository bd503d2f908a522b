//! The verb `run`.

use std::fs::{self, File};
use std::io::Write;
use std::path::Path;

use trunnion_rig::requirement::Verdict;

use super::arguments::RunArguments;
use super::json::{self, Results};
use super::progress::Progress;
use super::selection::{self, BenchRig, Job};
use super::trouble::Trouble;
use super::verdicts::{self, Counts};
use super::whole_report;
use super::work::{self, Done};
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::gateway::log;
use crate::replaying;
use crate::report::RunReport;
use crate::rig_report::run_report;
use crate::trace_file;

/// Runs scenarios and says what they came to.
pub(super) fn run<B: Bench>(arguments: &RunArguments, streams: &mut Streams<'_>) -> Result<Outcome, Trouble> {
    let jobs = selection::selected::<B>(arguments)?;
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    selection::refuse_unknown::<B>(&rig, &jobs)?;
    if let Some(image) = &arguments.firmware {
        refuse_unreadable(image)?;
    }
    for folder in [&arguments.csv, &arguments.log].into_iter().flatten() {
        fs::create_dir_all(folder).map_err(|error| Trouble::unwritable(folder, &error))?;
    }
    let json_on_out = arguments.json.as_deref() == Some(Path::new("-"));
    let mut gathered = Gathered { results: Results::of::<B>(), ..Gathered::default() };
    let mut trouble = None;
    let progress = Progress::new(streams.look);
    work::all::<B>(&rig, &jobs, arguments.firmware.as_deref(), &progress, |job, done| {
        if trouble.is_some() {
            return;
        }
        let told = done.map_err(Trouble::from).and_then(|done| {
            let text = verdicts::scenario(job, &done, streams.look, arguments.quiet);
            let stream = if json_on_out { &mut streams.errors } else { &mut streams.out };
            stream.write_all(text.as_bytes())?;
            if !arguments.quiet {
                stream.write_all(b"\n")?;
            }
            gathered.take::<B>(job, done, arguments)
        });
        trouble = told.err();
    });
    if let Some(trouble) = trouble {
        return Err(trouble);
    }
    gathered.write::<B>(arguments, streams)?;
    let stream = if json_on_out { &mut streams.errors } else { &mut streams.out };
    writeln!(stream, "{}", gathered.counts.line())?;
    Ok(gathered.counts.outcome())
}

/// Refuses an image that cannot be read, before anything is run.
pub(super) fn refuse_unreadable(image: &Path) -> Result<(), Trouble> {
    File::open(image).map(drop).map_err(|error| {
        let help = "build it with `cargo xtask firmware`, which says where it is";
        Trouble::with_help(format!("the image {} cannot be read: {error}", image.display()), help)
    })
}

/// What is kept of the runs until the last is over.
#[derive(Default)]
struct Gathered {
    counts: Counts,
    results: Results,
    reports: Vec<RunReport>,
}

impl Gathered {
    fn take<B: Bench>(&mut self, job: &Job, done: Done, arguments: &RunArguments) -> Result<(), Trouble> {
        self.counts.add(done.mark());
        self.results.add(job, &done);
        if let Some(folder) = &arguments.csv {
            let path = folder.join(format!("{}.csv", job.name));
            let written = File::create(&path).and_then(|file| trace_file::write_csv(&done.run.trace, file));
            written.map_err(|error| Trouble::unwritable(&path, &error))?;
        }
        if let Some(folder) = &arguments.log {
            write_log::<B>(job, &folder.join(format!("{}.log", job.name)))?;
        }
        if arguments.report.is_some() {
            self.reports.push(told::<B>(job, done));
        }
        Ok(())
    }

    fn write<B: Bench>(
        &mut self,
        arguments: &RunArguments,
        streams: &mut Streams<'_>,
    ) -> Result<(), Trouble> {
        if let Some(path) = &arguments.report {
            let runs = std::mem::take(&mut self.reports);
            let held = format!("{} of {} scenarios passed.", self.counts.passed, runs.len());
            let report =
                whole_report::whole::<B>("Runs", &held, runs, Vec::new(), arguments.firmware.as_deref());
            whole_report::write(path, &report)?;
        }
        if let Some(path) = &arguments.json {
            let counts = self.counts;
            json::write(path, &mut self.results, counts, streams)?;
        }
        Ok(())
    }
}

impl Counts {
    /// The exit code of runs.
    pub(super) fn outcome(self) -> Outcome {
        if self.failed > 0 {
            Outcome::Failed
        } else if self.skipped > 0 {
            Outcome::Refused
        } else {
            Outcome::AllHeld
        }
    }
}

/// What a scenario has on the bus; it is run once more for that.
fn write_log<B: Bench>(job: &Job, path: &Path) -> Result<(), Trouble> {
    let rig = BenchRig::<B>::new(&[])?;
    let frames = replaying::recorded::<B>(&rig, &job.scenario)?;
    let lines = frames.iter().map(|frame| log::written(frame, super::serve::INTERFACE) + "\n");
    fs::write(path, lines.collect::<String>()).map_err(|error| Trouble::unwritable(path, &error))
}

/// A run as the report shows it, with what the firmware has logged.
pub(super) fn told<B: Bench>(job: &Job, done: Done) -> RunReport {
    let parity = done.firmware.parity();
    let mut report = run_report::<B>(done.run, &job.scenario, parity);
    report.log.extend(done.log);
    report.log.sort_by(|one, other| one.at.unwrap_or(0.0).total_cmp(&other.at.unwrap_or(0.0)));
    report
}

/// True when every requirement of a run held.
pub(super) fn all_held(done: &Done) -> bool {
    done.run.results.iter().all(|result| result.verdict == Verdict::Held)
}
