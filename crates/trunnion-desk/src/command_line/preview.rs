//! The verb `preview`.

use std::fs;
use std::path::Path;
use std::time::Instant;

use indicatif::{ProgressBar, ProgressStyle};
use rayon::ThreadPoolBuilder;
use serde::Serialize;
use trunnion::declare::{Access, ParameterSet};
use trunnion::machine::Machine;
use trunnion_rig::shard::build_hash;

use super::arguments::PreviewArguments;
use super::selection::BenchRig;
use super::trouble::Trouble;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::previewing::{self, Line, Preview, Worst};

/// What is kept with a set.
#[derive(Debug, Serialize)]
struct Stored<'a> {
    machine: &'static str,
    version: &'static str,
    /// Hash of the program that made the preview.
    program: String,
    /// As typed.
    set: &'a [(String, String)],
    /// The higher level is needed.
    needs_safety_level: bool,
    /// A requirement would be violated that is not now.
    refused: bool,
    preview: &'a Preview,
    cautions: &'static str,
}

const CAUTIONS: &str = "simulated: models with stated equations and invented numbers. No safety certification is claimed; the \
                        machine's risk assessment (ISO 12100, ISO 13849, ISO 19014), local codes and licensed practice decide";

/// Shows what a set would do, and refuses one that breaks a requirement.
pub(super) fn preview<B: Bench>(
    arguments: &PreviewArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let settings = arguments.settings.iter().map(|text| setting(text)).collect::<Result<Vec<_>, _>>()?;
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let bar = bar(streams, previewing::size::<B>());
    let began = Instant::now();
    let pool = ThreadPoolBuilder::new().num_threads(arguments.jobs.unwrap_or(0)).build();
    let pool = pool.map_err(|error| Trouble::with_help(error, "ask for fewer --jobs"))?;
    let preview = pool.install(|| previewing::preview::<B>(&rig, &settings, &|| bar.inc(1)));
    bar.finish_and_clear();
    let preview = preview?;
    let safety = needs_safety::<B>(&settings);
    let broken = preview.broken().count();
    for line in &preview.lines {
        writeln!(streams.out, "{}", shown(line))?;
    }
    if let Some([before, after]) = &preview.stops {
        writeln!(
            streams.out,
            "longest stop: {:.2} m ({}) before, {:.2} m ({}) after",
            before.metres, before.run, after.metres, after.run
        )?;
    }
    writeln!(
        streams.out,
        "{} runs with each set in {:.1} s; {}",
        preview.runs,
        began.elapsed().as_secs_f64(),
        verdict(broken, safety)
    )?;
    if let Some(path) = &arguments.store {
        let stored = Stored {
            machine: B::TITLE,
            version: B::VERSION,
            program: build_hash(&std::env::current_exe().and_then(fs::read)?),
            set: &settings,
            needs_safety_level: safety || broken > 0,
            refused: broken > 0,
            preview: &preview,
            cautions: CAUTIONS,
        };
        store(path, &stored)?;
    }
    Ok(if broken > 0 { Outcome::Failed } else { Outcome::AllHeld })
}

fn setting(text: &str) -> Result<(String, String), Trouble> {
    let (name, value) = text.split_once('=').ok_or_else(|| {
        Trouble::with_help(
            format!("`{text}` sets nothing"),
            "write 'NAME = VALUE' with its unit, as in a scenario",
        )
    })?;
    Ok((name.trim().to_owned(), value.trim().to_owned()))
}

fn needs_safety<B: Bench>(settings: &[(String, String)]) -> bool {
    type Set<B> = <<B as Bench>::Machine as Machine>::Parameters;
    let rows = Set::<B>::RULES.iter().zip(Set::<B>::INFO);
    let mut safety = rows.filter(|(rule, _)| rule.access == Access::Safety);
    safety.any(|(_, info)| settings.iter().any(|(name, _)| name == info.name))
}

fn verdict(broken: usize, safety: bool) -> String {
    match (broken, safety) {
        (0, false) => "nothing gets worse than it may".to_owned(),
        (0, true) => "nothing gets worse than it may; the set needs the safety level".to_owned(),
        (1, _) => "a requirement would be violated: refused below the safety level".to_owned(),
        (more, _) => format!("{more} requirements would be violated: refused below the safety level"),
    }
}

fn shown(line: &Line) -> String {
    let worst = |worst: &Worst| {
        let margin =
            worst.margin.map_or_else(|| "yes/no".to_owned(), |margin| format!("{margin:.4} {}", line.unit));
        if worst.violated > 0 { format!("{margin}, violated {} times", worst.violated) } else { margin }
    };
    let mark = if line.turns() { "BREAKS" } else { "      " };
    let place = if line.after.run.is_empty() { String::new() } else { format!(" in {}", line.after.run) };
    format!(
        "{mark} {}: {} → {}{place}\n         {}",
        line.id,
        worst(&line.before),
        worst(&line.after),
        line.sentence
    )
}

fn bar(streams: &Streams<'_>, runs: usize) -> ProgressBar {
    if !streams.look.progress {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(runs as u64);
    let style = ProgressStyle::with_template("{bar:32} {pos} of {len} stories, twice each, {elapsed}");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    bar
}

fn store(path: &Path, stored: &Stored<'_>) -> Result<(), Trouble> {
    let text =
        serde_json::to_string_pretty(stored).map_err(|error| Trouble::with_help(error, "tell its makers"))?;
    fs::write(path, text + "\n").map_err(|error| Trouble::unwritable(path, &error))
}
