//! The verb `demo`.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::time::{Duration, Instant};

use super::arguments::DemoArguments;
use super::progress::Progress;
use super::run::{all_held, refuse_unreadable, told};
use super::selection::{self, BenchRig};
use super::streams::{Look, Tone};
use super::trouble::Trouble;
use super::verdicts::{Counts, margin, scenario, shown, shown_factor, with_help};
use super::whole_report;
use super::work::{self, Done, Firmware};
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::comparison::ComparisonError;
use crate::report::{LogLine, RunReport, svg};

/// Lines of the image's log that the summary shows.
const LOG_LINES: usize = 6;

/// Runs the demo's scenarios, compares, writes a report and a picture, and says what was seen.
pub(super) fn demo<B: Bench>(
    arguments: &DemoArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let jobs = selection::all_of::<B>(B::DEMO)?;
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    selection::refuse_unknown::<B>(&rig, &jobs)?;
    if let Some(image) = &arguments.firmware {
        refuse_unreadable(image)?;
    }
    let began = Instant::now();
    let mut summary = Summary::default();
    let mut runs = Vec::new();
    let mut trouble = None;
    let progress = Progress::new(streams.look);
    work::all::<B>(&rig, &jobs, arguments.firmware.as_deref(), &progress, |job, done| match done {
        Ok(done) => {
            summary.add(&done);
            if !all_held(&done) || matches!(done.firmware, Firmware::Failed(_)) {
                summary.failures += &scenario(job, &done, streams.look, true);
            }
            runs.push(told::<B>(job, done));
        }
        Err(complaints) => trouble = Some(complaints),
    });
    if let Some(complaints) = trouble {
        return Err(complaints.into());
    }
    let pictured = picture(&runs).map_err(whole_report::wrong_names)?;
    let comparisons = B::comparisons().map_err(|error| match error {
        ComparisonError::Scenario(complaints) => Trouble::from(complaints),
        other => Trouble::of(other),
    })?;
    let about = "The demo's scenarios against the simulated machine.";
    let report =
        whole_report::whole::<B>("Demonstration", about, runs, comparisons, arguments.firmware.as_deref());
    let (page, picture) = (arguments.out.join("report.html"), arguments.out.join("picture.svg"));
    whole_report::write(&page, &report)?;
    whole_report::write_file(&picture, &pictured)?;

    write!(streams.out, "{}", summary.told::<B>(streams.look, began.elapsed()))?;
    writeln!(streams.out, "  report        {}", page.display())?;
    writeln!(streams.out, "  picture       {}", picture.display())?;
    // The host part decides; a firmware that nothing here can run is said above, and is no failure of the demo.
    Ok(if summary.counts.failed > 0 { Outcome::Failed } else { Outcome::AllHeld })
}

/// The first group of plots of the first run.
fn picture(runs: &[RunReport]) -> Result<String, crate::report::ReportError> {
    match runs.first().and_then(|run| Some((run, run.plots.first()?))) {
        Some((run, group)) => svg::group(run, group),
        None => Ok(String::new()),
    }
}

/// What the demo says at its end.
#[derive(Default)]
struct Summary {
    counts: Counts,
    titles: Vec<String>,
    simulated: f64,
    host: Duration,
    requirements: usize,
    held: usize,
    /// The smallest margin of each unit, with a line that tells it.
    closest: BTreeMap<String, (f64, String)>,
    equal_ticks: u64,
    firmware_simulated: Duration,
    firmware_elapsed: Duration,
    firmware_trouble: Option<String>,
    log: Vec<LogLine>,
    failures: String,
}

impl Summary {
    fn add(&mut self, done: &Done) {
        self.counts.add(done.mark());
        self.titles.push(done.run.title.clone());
        self.simulated += done.simulated();
        self.host += done.host;
        for result in &done.run.results {
            self.requirements += 1;
            self.held += usize::from(result.verdict == trunnion_rig::requirement::Verdict::Held);
            let Some(by) = result.margin.filter(|by| by.is_finite()) else { continue };
            let line =
                format!("{}  {} in “{}”: {}", result.id, margin(result), done.run.title, result.sentence);
            let smallest = self.closest.entry(result.unit.clone()).or_insert_with(|| (by, line.clone()));
            if by < smallest.0 {
                *smallest = (by, line);
            }
        }
        match &done.firmware {
            Firmware::NotAsked => {}
            Firmware::Equal(run) => {
                self.equal_ticks += u64::from(run.ticks);
                self.firmware_simulated += run.simulated;
                self.firmware_elapsed += run.elapsed;
            }
            Firmware::Failed(error) | Firmware::NotAvailable(error) => {
                self.firmware_trouble.get_or_insert_with(|| with_help(error));
            }
        }
        if self.log.is_empty() {
            self.log = done.log.iter().take(LOG_LINES).cloned().collect();
        }
    }

    fn told<B: Bench>(&self, look: Look, elapsed: Duration) -> String {
        const INDENT: usize = 16;
        let mut text = format!("{}\n", look.toned(Tone::Heading, B::TITLE));
        let mut tell = |label: &str, what: &str| {
            let _ = writeln!(text, "  {label:12}  {}", look.wrapped(what, INDENT));
        };
        let count = self.titles.len();
        let seconds = shown(self.simulated);
        tell("ran", &format!("{count} scenarios, {seconds} s of machine time: {}", self.titles.join("; ")));
        tell(
            "requirements",
            &format!("{} of {} held; the closest of each unit:", self.held, self.requirements),
        );
        for (_, line) in self.closest.values() {
            tell("", line);
        }
        tell("firmware", &self.firmware_told());
        let host = self.simulated / self.host.as_secs_f64().max(1e-6);
        let mut speed = format!("host {} × real time", shown_factor(host));
        if self.equal_ticks > 0 {
            let factor =
                self.firmware_simulated.as_secs_f64() / self.firmware_elapsed.as_secs_f64().max(1e-6);
            let _ = write!(speed, ", with the firmware beside it {} × real time", shown_factor(factor));
        }
        tell("speed", &format!("{speed}; all of it took {:.1} s", elapsed.as_secs_f64()));
        for (place, line) in self.log.iter().enumerate() {
            let label = if place == 0 { "image's log" } else { "" };
            let at = line.at.map_or(String::new(), |at| format!("{at:.2} s  "));
            tell(label, &format!("{at}{}", line.text));
        }
        text += &self.failures;
        text
    }

    fn firmware_told(&self) -> String {
        match &self.firmware_trouble {
            Some(trouble) => trouble.clone(),
            None if self.equal_ticks > 0 => format!(
                "as host, bit for bit: every output and every internal point of {} ticks",
                self.equal_ticks
            ),
            None => "not compared: give its image with --firmware".to_owned(),
        }
    }
}
