//! The verb `campaign`.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::Instant;

use indicatif::{ProgressBar, ProgressStyle};
use rayon::ThreadPoolBuilder;
use serde::Serialize;
use trunnion_rig::campaign::{self, Campaign, CampaignError, CellResult, Charter, Order, needless_excuses};
use trunnion_rig::shard::{Part, Stamp, build_hash, merge};

use super::arguments::CampaignArguments;
use super::selection::BenchRig;
use super::trouble::Trouble;
use super::whole_report::write_file;
use super::{Look, Outcome, Streams};
use crate::bench::Bench;
use crate::report::{self, Matrix};

/// What a campaign writes as JSON: the same for one process as for merged shards.
#[derive(Debug, Serialize)]
struct Results<'a> {
    machine: &'static str,
    stamp: &'a Stamp,
    cells: &'a [CellResult],
    red: usize,
    needless: &'a [String],
}

/// Runs the cells, or merges what shards have run, and says which differ from what is expected.
pub(super) fn campaign<B: Bench>(
    arguments: &CampaignArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let Some(charter) = B::CAMPAIGN else {
        let help = "it is for machines that declare states and what they expect of each failure";
        return Err(Trouble::with_help(format!("the {} declares no campaign", B::NAME), help));
    };
    if !arguments.shards.merge.is_empty() {
        let parts = arguments.shards.merge.iter().map(|path| read(path)).collect::<Result<Vec<_>, _>>()?;
        let (stamp, cells) = merge(parts).map_err(|error| {
            Trouble::with_help(error, "give the files that --part has written, one for each shard")
        })?;
        let whole = stamp.options == options(&Order { pairs: arguments.pairs, ..Order::default() });
        return tell::<B>(&charter, &stamp, &cells, whole, arguments, streams);
    }
    let order = Order {
        pairs: arguments.pairs,
        only: arguments.only.clone(),
        cell: arguments.cell.clone(),
        sample: arguments.sample.map(|count| (count, arguments.seed)),
        shard: arguments.shards.shard,
    };
    let began = Instant::now();
    let campaign = run::<B>(&charter, &order, arguments.jobs, streams.look)?;
    if campaign.ordered == 0 {
        let help = format!("a cell is named signal:way@state; see `{} campaign --csv -`", B::NAME);
        return Err(Trouble::with_help("no cell has such a name", help));
    }
    let program = std::env::current_exe().and_then(fs::read)?;
    let stamp = Stamp {
        work: format!("campaign {}", B::NAME),
        build: build_hash(&program),
        options: options(&order),
        items: campaign.ordered,
    };
    let cells: Vec<CellResult> = campaign.results.iter().map(|(_, result)| result.clone()).collect();
    writeln!(
        streams.errors,
        "{} {} in {:.1} s",
        cells.len(),
        things(arguments.pairs),
        began.elapsed().as_secs_f64()
    )?;
    let whole = order.is_whole() && cells.len() as u64 == campaign.ordered;
    if let Some(path) = &arguments.shards.part {
        let results: BTreeMap<u64, CellResult> = campaign.results.into_iter().collect();
        let part = Part { stamp: stamp.clone(), shard: arguments.shards.shard, results };
        write_text(path, &json(&part)?, streams)?;
    }
    tell::<B>(&charter, &stamp, &cells, whole, arguments, streams)
}

/// What changes the result: neither the shard nor the number of threads.
fn options(order: &Order) -> String {
    let mut words = match &order.cell {
        Some(cell) => cell.clone(),
        None if order.only.is_empty() => format!("all {}", things(order.pairs)),
        None => format!("{} with {} in their names", things(order.pairs), order.only.join(" and ")),
    };
    if let Some((count, seed)) = order.sample {
        words += &format!(", {count} of them, drawn with seed {seed}");
    }
    words
}

/// What is counted.
const fn things(pairs: bool) -> &'static str {
    if pairs { "pairs" } else { "cells" }
}

fn tell<B: Bench>(
    charter: &Charter,
    stamp: &Stamp,
    cells: &[CellResult],
    whole: bool,
    arguments: &CampaignArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let red: Vec<&CellResult> = cells.iter().filter(|result| !result.red.is_empty()).collect();
    let needless = if whole && !arguments.pairs { needless_excuses(charter, cells) } else { Vec::new() };
    if let Some(path) = &arguments.csv {
        write_text(path, &csv(cells), streams)?;
    }
    if let Some(path) = &arguments.json {
        let results = Results { machine: B::TITLE, stamp, cells, red: red.len(), needless: &needless };
        write_text(path, &json(&results)?, streams)?;
    }
    if let Some(path) = &arguments.report {
        write_file(path, &page::<B>(charter, stamp, cells))?;
    }
    let on_out =
        [&arguments.csv, &arguments.json].into_iter().any(|path| path.as_deref() == Some(Path::new("-")));
    let out: &mut dyn std::io::Write = if on_out { &mut streams.errors } else { &mut streams.out };
    if arguments.cell.is_some() {
        for result in cells {
            tell_cell(result, out)?;
        }
    }
    for result in &red {
        tell_red::<B>(result, &arguments.out, out)?;
    }
    for line in &needless {
        writeln!(out, "{line}")?;
    }
    for (expected, count) in by_expectation(cells) {
        writeln!(out, "{count:>6}  {expected}")?;
    }
    let things = things(arguments.pairs);
    writeln!(out, "{} {things}: {} as expected, {} not", cells.len(), cells.len() - red.len(), red.len())?;
    Ok(if red.is_empty() && needless.is_empty() { Outcome::AllHeld } else { Outcome::Failed })
}

/// The page, with what it takes to run the same again.
fn page<B: Bench>(charter: &Charter, stamp: &Stamp, cells: &[CellResult]) -> String {
    report::matrix(&Matrix {
        machine: B::TITLE,
        program: B::NAME,
        states: charter.states.iter().map(|state| (state.name, state.about)).collect(),
        cells,
        provenance: vec![
            ("Work", stamp.work.clone()),
            ("Cells", stamp.options.clone()),
            ("Program, SHA-256", stamp.build.clone()),
        ],
    })
}

fn run<B: Bench>(
    charter: &Charter,
    order: &Order,
    jobs: Option<usize>,
    look: Look,
) -> Result<Campaign, Trouble> {
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let bar = bar(look);
    let pool = ThreadPoolBuilder::new().num_threads(jobs.unwrap_or(0)).build();
    let pool = pool.map_err(|error| Trouble::with_help(error, "ask for fewer --jobs"))?;
    let results = pool.install(|| {
        campaign::run(&rig, charter, order, &|result| {
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

/// All that was measured of a cell, and its story.
fn tell_cell(result: &CellResult, out: &mut dyn std::io::Write) -> Result<(), Trouble> {
    writeln!(out, "{}: expected {} (rule {})", result.cell, result.expected, result.rule)?;
    writeln!(out, "{}\n{}", json(&result.measured)?, result.replay)?;
    Ok(())
}

/// How many cells have which outcome, without the names of faults.
fn by_expectation(results: &[CellResult]) -> BTreeMap<&'static str, usize> {
    let mut counts = BTreeMap::new();
    for result in results {
        *counts.entry(report::expectation(result)).or_insert(0) += 1;
    }
    counts
}

fn csv(results: &[CellResult]) -> String {
    let mut text = String::from(
        "signal,way,state,expected,faults (ms),lost (ms),reasons (ms),off after ms,metres more,degrees more,stop metres,stop degrees,parts,violated,gained (ms),missing,hazard,red\n",
    );
    let quoted = |words: String| {
        if words.contains([',', '"', '\n']) { format!("\"{}\"", words.replace('"', "\"\"")) } else { words }
    };
    for result in results {
        let measured = &result.measured;
        let limbs: Vec<String> = measured.limbs.iter().map(|(name, by)| format!("{name} {by:.1}")).collect();
        let cells = [
            result.signal.clone(),
            result.way.clone(),
            result.state.clone(),
            result.expected.clone(),
            timed(&measured.faults),
            timed(&measured.lost),
            timed(&measured.reasons),
            measured.off_after_ms.map_or_else(String::new, |millis| millis.to_string()),
            format!("{:.3}", measured.metres_more),
            format!("{:.2}", measured.degrees_more),
            format!("{:.3}", measured.stop_metres),
            format!("{:.2}", measured.stop_degrees),
            limbs.join("; "),
            measured.violated.join("; "),
            timed(&measured.gained),
            measured.missing.join("; "),
            result.hazard.clone(),
            result.red.join("; "),
        ];
        text += &cells.map(quoted).join(",");
        text.push('\n');
    }
    text
}

fn timed(names: &[(String, u32)]) -> String {
    names.iter().map(|(name, after)| format!("{name} {after}")).collect::<Vec<_>>().join("; ")
}

fn json(what: &impl Serialize) -> Result<String, Trouble> {
    let text = serde_json::to_string_pretty(what)
        .map_err(|error| Trouble::with_help(format!("no JSON of it: {error}"), "tell its makers"))?;
    Ok(text + "\n")
}

fn read(path: &Path) -> Result<Part<CellResult>, Trouble> {
    let text = fs::read_to_string(path).map_err(|error| Trouble::unreadable(path, &error))?;
    serde_json::from_str(&text).map_err(|error| {
        let what = format!("{} is no part of a campaign: {error}", path.display());
        Trouble::with_help(what, "give files that `campaign --shard k/n --part FILE` has written")
    })
}

fn write_text(path: &Path, text: &str, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    if path == Path::new("-") {
        streams.out.write_all(text.as_bytes())?;
        return Ok(());
    }
    fs::write(path, text).map_err(|error| Trouble::unwritable(path, &error))
}
