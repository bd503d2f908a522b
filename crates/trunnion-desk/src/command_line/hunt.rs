//! The verb `hunt`.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};
use rayon::ThreadPoolBuilder;
use serde::Serialize;
use trunnion_rig::hunt::Progress;
use trunnion_rig::shard::{Part, Stamp, build_hash, merge};

use super::arguments::HuntArguments;
use super::trouble::Trouble;
use super::{Look, Outcome, Streams};
use crate::bench::Bench;
use crate::hunting::{self, Catch, Order};

/// What a hunt writes as JSON: the same for one process as for merged shards.
#[derive(Debug, Serialize)]
struct Results<'a> {
    machine: &'static str,
    stamp: &'a Stamp,
    hunts: &'a [Catch],
    found: usize,
}

/// Hunts, or merges what shards have found.
pub(super) fn hunt<B: Bench>(
    arguments: &HuntArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    if !arguments.shards.merge.is_empty() {
        let parts = arguments.shards.merge.iter().map(|path| read(path)).collect::<Result<Vec<_>, _>>()?;
        let (stamp, hunts) = merge(parts).map_err(|error| {
            Trouble::with_help(error, "give the files that --part has written, one for each shard")
        })?;
        return tell::<B>(&stamp, &hunts, arguments, streams);
    }
    let stamp = stamp::<B>(arguments)?;
    let began = Instant::now();
    let mut results = BTreeMap::new();
    for item in (0..stamp.items).filter(|item| arguments.shards.shard.does(*item)) {
        results.insert(item, one::<B>(arguments, item, began, streams.look)?);
    }
    let hunts: Vec<Catch> = results.values().cloned().collect();
    if let Some(path) = &arguments.shards.part {
        let part = Part { stamp: stamp.clone(), shard: arguments.shards.shard, results };
        write(path, &part)?;
    }
    tell::<B>(&stamp, &hunts, arguments, streams)
}

fn stamp<B: Bench>(arguments: &HuntArguments) -> Result<Stamp, Trouble> {
    let program = std::env::current_exe().and_then(fs::read)?;
    Ok(Stamp {
        work: format!("hunt {}", B::NAME),
        build: build_hash(&program),
        options: format!(
            "strategy {}, seed {}, simulations {}, only {:?}, time {:?}",
            arguments.strategy, arguments.seed, arguments.simulations, arguments.only, arguments.time
        ),
        items: arguments.hunts,
    })
}

/// One hunt with a seed of its own.
fn one<B: Bench>(arguments: &HuntArguments, item: u64, began: Instant, look: Look) -> Result<Catch, Trouble> {
    let order = Order {
        strategy: arguments.strategy.clone(),
        seed: arguments.seed + item,
        simulations: arguments.simulations,
        only: arguments.only.clone(),
        shrink: true,
    };
    let bar = bar(look, &order);
    let limit = arguments.time.map(Duration::from_secs);
    let mut watch = |progress: &Progress| {
        bar.set_position(progress.simulations);
        let state = if progress.found { "found, shrinking".to_owned() } else { smallest(progress.margin) };
        bar.set_message(state);
        limit.is_none_or(|limit| began.elapsed() < limit)
    };
    let pool = ThreadPoolBuilder::new().num_threads(arguments.jobs.unwrap_or(0)).build();
    let pool = pool.map_err(|error| Trouble::with_help(error, "ask for fewer --jobs"))?;
    let caught = pool.install(|| hunting::hunt::<B>(&order, &mut watch));
    bar.finish_and_clear();
    caught.map_err(|error| Trouble::with_help(error, format!("see `{} list`", B::NAME)))
}

fn smallest(margin: f64) -> String {
    format!("smallest margin {:.1} % of its span", 100.0 * margin)
}

fn bar(look: Look, order: &Order) -> ProgressBar {
    if !look.progress {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(order.simulations);
    let style = ProgressStyle::with_template("{prefix} {bar:24} {pos} of {len} runs, {per_sec}, {msg}");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    bar.set_prefix(format!("{} seed {}", order.strategy, order.seed));
    bar
}

fn tell<B: Bench>(
    stamp: &Stamp,
    hunts: &[Catch],
    arguments: &HuntArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let json_on_out = arguments.json.as_deref() == Some(Path::new("-"));
    for caught in hunts {
        let line = line::<B>(caught, &arguments.out)?;
        let stream = if json_on_out { &mut streams.errors } else { &mut streams.out };
        writeln!(stream, "{line}")?;
    }
    let found = hunts.iter().filter(|caught| caught.requirement.is_some()).count();
    if let Some(path) = &arguments.json {
        let results = Results { machine: B::TITLE, stamp, hunts, found };
        if json_on_out {
            let text = serde_json::to_string_pretty(&results).map_err(|error| unwritable(path, &error))?;
            writeln!(streams.out, "{text}")?;
        } else {
            write(path, &results)?;
        }
    }
    Ok(if found > 0 { Outcome::Found } else { Outcome::AllHeld })
}

/// What a hunt came to, with the file of its story.
fn line<B: Bench>(caught: &Catch, folder: &Path) -> Result<String, Trouble> {
    let report = &caught.report;
    let (Some(requirement), Some(story)) = (&caught.requirement, &caught.story) else {
        return Ok(format!(
            "{} seed {}: nothing found in {} runs; {}",
            report.strategy,
            caught.seed,
            report.simulations,
            smallest(report.margin)
        ));
    };
    fs::create_dir_all(folder).map_err(|error| Trouble::unwritable(folder, &error))?;
    let name = format!("{}_{}_{}.scenario", requirement.to_lowercase(), report.strategy, caught.seed);
    let path: PathBuf = folder.join(name);
    fs::write(&path, story).map_err(|error| Trouble::unwritable(&path, &error))?;
    Ok(format!(
        "{} seed {}: {requirement} is violated in run {} ({}); shrunk in {} runs:\n\n{story}\nReplay: {} run {}\n",
        report.strategy,
        caught.seed,
        report.simulations,
        caught.sentence,
        caught.shrinking,
        B::NAME,
        path.display()
    ))
}

fn read(path: &Path) -> Result<Part<Catch>, Trouble> {
    let text = fs::read_to_string(path).map_err(|error| Trouble::unreadable(path, &error))?;
    serde_json::from_str(&text).map_err(|error| {
        let what = format!("{} is no part of a hunt: {error}", path.display());
        Trouble::with_help(what, "give files that `hunt --shard k/n --part FILE` has written")
    })
}

fn write(path: &Path, what: &impl Serialize) -> Result<(), Trouble> {
    let text = serde_json::to_string_pretty(what).map_err(|error| unwritable(path, &error))?;
    fs::write(path, text + "\n").map_err(|error| Trouble::unwritable(path, &error))
}

fn unwritable(path: &Path, error: &serde_json::Error) -> Trouble {
    Trouble::with_help(format!("{} cannot be written as JSON: {error}", path.display()), "tell its makers")
}
