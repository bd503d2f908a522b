//! The verb `campaign`.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::Instant;

use indicatif::{ProgressBar, ProgressStyle};
use rayon::ThreadPoolBuilder;
use serde::Serialize;
use trunnion_rig::campaign::{self, CampaignError, CellResult, Charter, Order};

use super::arguments::CampaignArguments;
use super::selection::BenchRig;
use super::trouble::Trouble;
use super::{Look, Outcome, Streams};
use crate::bench::Bench;

/// What a campaign writes as JSON.
#[derive(Debug, Serialize)]
struct Results<'a> {
    machine: &'static str,
    cells: &'a [CellResult],
    red: usize,
}

/// Runs the cells and says which differ from what is expected.
pub(super) fn campaign<B: Bench>(
    arguments: &CampaignArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let Some(charter) = B::CAMPAIGN else {
        let help = "it is for machines that declare states and what they expect of each failure";
        return Err(Trouble::with_help(format!("the {} declares no campaign", B::NAME), help));
    };
    let began = Instant::now();
    let results = run::<B>(&charter, arguments, streams.look)?;
    if results.is_empty() {
        let help = format!("a cell is named signal:way@state; see `{} campaign --csv -`", B::NAME);
        return Err(Trouble::with_help("no cell has such a name", help));
    }
    let red: Vec<&CellResult> = results.iter().filter(|result| !result.red.is_empty()).collect();
    if let Some(path) = &arguments.csv {
        write_text(path, &csv(&results), streams)?;
    }
    if let Some(path) = &arguments.json {
        let whole = Results { machine: B::TITLE, cells: &results, red: red.len() };
        let text = serde_json::to_string_pretty(&whole)
            .map_err(|error| Trouble::with_help(error, "tell its makers"))?;
        write_text(path, &(text + "\n"), streams)?;
    }
    let quiet_out =
        [&arguments.csv, &arguments.json].into_iter().any(|path| path.as_deref() == Some(Path::new("-")));
    let out: &mut dyn std::io::Write = if quiet_out { &mut streams.errors } else { &mut streams.out };
    for result in &red {
        tell_red::<B>(result, &arguments.out, out)?;
    }
    for (expected, count) in by_expectation(&results) {
        writeln!(out, "{count:>6}  {expected}")?;
    }
    writeln!(
        out,
        "{} cells in {:.1} s: {} as expected, {} not",
        results.len(),
        began.elapsed().as_secs_f64(),
        results.len() - red.len(),
        red.len()
    )?;
    Ok(if red.is_empty() { Outcome::AllHeld } else { Outcome::Failed })
}

fn run<B: Bench>(
    charter: &Charter,
    arguments: &CampaignArguments,
    look: Look,
) -> Result<Vec<CellResult>, Trouble> {
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let order = Order { only: arguments.only.clone() };
    let bar = bar(look);
    let pool = ThreadPoolBuilder::new().num_threads(arguments.jobs.unwrap_or(0)).build();
    let pool = pool.map_err(|error| Trouble::with_help(error, "ask for fewer --jobs"))?;
    let results = pool.install(|| {
        campaign::run(&rig, charter, &order, &|result| {
            bar.inc(1);
            bar.set_message(result.cell.clone());
        })
    });
    bar.finish_and_clear();
    results.map_err(|error| match error {
        CampaignError::Story(complaints) => complaints.into(),
        other => Trouble::with_help(other, "correct the machine's declaration of its campaign"),
    })
}

fn bar(look: Look) -> ProgressBar {
    if !look.progress {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new_spinner();
    let style = ProgressStyle::with_template("{spinner} {pos} cells, {per_sec}, {elapsed}, {msg}");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_spinner()));
    bar
}

fn tell_red<B: Bench>(
    result: &CellResult,
    folder: &Path,
    out: &mut dyn std::io::Write,
) -> Result<(), Trouble> {
    fs::create_dir_all(folder).map_err(|error| Trouble::unwritable(folder, &error))?;
    let path = folder.join(format!("{}_{}_{}.scenario", result.signal, result.way, result.state));
    fs::write(&path, &result.replay).map_err(|error| Trouble::unwritable(&path, &error))?;
    writeln!(out, "{}: expected {}", result.cell, result.expected)?;
    for red in &result.red {
        writeln!(out, "    {red}")?;
    }
    writeln!(out, "    replay: {} run {}", B::NAME, path.display())?;
    Ok(())
}

/// How many cells have which outcome, without the names of faults.
fn by_expectation(results: &[CellResult]) -> BTreeMap<&'static str, usize> {
    let mut counts = BTreeMap::new();
    for result in results {
        let kind = match result.expected.as_str() {
            "tolerated" => "tolerated",
            "undetectable by design" => "undetectable by design",
            _ => "detected",
        };
        *counts.entry(kind).or_insert(0) += 1;
    }
    counts
}

fn csv(results: &[CellResult]) -> String {
    let mut text = String::from(
        "signal,way,state,expected,faults (ms),off after ms,metres more,degrees off,violated,regained,hazard,red\n",
    );
    let quoted = |words: String| {
        if words.contains([',', '"', '\n']) { format!("\"{}\"", words.replace('"', "\"\"")) } else { words }
    };
    for result in results {
        let measured = &result.measured;
        let faults: Vec<String> =
            measured.faults.iter().map(|(name, after)| format!("{name} {after}")).collect();
        let cells = [
            result.signal.clone(),
            result.way.clone(),
            result.state.clone(),
            result.expected.clone(),
            faults.join("; "),
            measured.off_after_ms.map_or_else(String::new, |millis| millis.to_string()),
            format!("{:.3}", measured.metres_more),
            format!("{:.2}", measured.degrees_off),
            measured.violated.join("; "),
            measured.regained.join("; "),
            result.hazard.clone(),
            result.red.join("; "),
        ];
        text += &cells.map(quoted).join(",");
        text.push('\n');
    }
    text
}

fn write_text(path: &Path, text: &str, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    if path == Path::new("-") {
        streams.out.write_all(text.as_bytes())?;
        return Ok(());
    }
    fs::write(path, text).map_err(|error| Trouble::unwritable(path, &error))
}
