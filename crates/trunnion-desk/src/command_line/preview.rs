//! The verb `preview`.

use std::fs;
use std::path::Path;
use std::time::Instant;

use indicatif::{ProgressBar, ProgressStyle};
use rayon::ThreadPoolBuilder;
use serde::{Deserialize, Serialize};
use trunnion::declare::{Access, ParameterSet};
use trunnion::machine::Machine;
use trunnion_rig::shard::build_hash;

use super::arguments::PreviewArguments;
use super::selection::BenchRig;
use super::trouble::Trouble;
use super::{Look, Outcome, Streams};
use crate::bench::Bench;
use crate::previewing::{self, Line, Preview, Worst};

/// Names and values, as in a scenario.
pub(super) type Typed = Vec<(String, String)>;

/// What is kept with a set.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Stored {
    machine: String,
    version: String,
    /// Hash of the program that made the preview.
    program: String,
    /// What the controller has that is not as delivered.
    present: Typed,
    /// As typed.
    set: Typed,
    /// The higher level is needed.
    needs_safety_level: bool,
    /// A requirement would be violated that is not now.
    refused: bool,
    /// Seconds that it took.
    seconds: f64,
    pub(super) preview: Preview,
    cautions: String,
}

const CAUTIONS: &str = "simulated: models with stated equations and invented numbers. No safety certification is claimed; the \
                        machine's risk assessment (ISO 12100, ISO 13849, ISO 19014), local codes and licensed practice decide";

/// Shows what a set would do, and refuses one that breaks a requirement.
pub(super) fn preview<B: Bench>(
    arguments: &PreviewArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let settings = arguments.settings.iter().map(|text| setting(text)).collect::<Result<Vec<_>, _>>()?;
    let stored = stored::<B>(Vec::new(), settings, arguments.jobs, streams.look)?;
    tell(&stored, &mut streams.out)?;
    if let Some(path) = &arguments.store {
        store(path, &stored)?;
    }
    Ok(if stored.refused { Outcome::Failed } else { Outcome::AllHeld })
}

/// Runs the stories with both sets.
pub(super) fn stored<B: Bench>(
    present: Typed,
    set: Typed,
    jobs: Option<usize>,
    look: Look,
) -> Result<Stored, Trouble> {
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let bar = bar(look, previewing::size::<B>());
    let began = Instant::now();
    let pool = ThreadPoolBuilder::new().num_threads(jobs.unwrap_or(0)).build();
    let pool = pool.map_err(|error| Trouble::with_help(error, "ask for fewer --jobs"))?;
    let preview = pool.install(|| previewing::preview::<B>(&rig, &present, &set, &|| bar.inc(1)));
    bar.finish_and_clear();
    let preview = preview?;
    let broken = preview.broken().count() > 0;
    Ok(Stored {
        machine: B::TITLE.to_owned(),
        version: B::VERSION.to_owned(),
        program: program()?,
        needs_safety_level: broken || needs_safety::<B>(&set),
        present,
        set,
        refused: broken,
        seconds: began.elapsed().as_secs_f64(),
        preview,
        cautions: CAUTIONS.to_owned(),
    })
}

/// What the file holds, if this very program made it of this very set.
pub(super) fn fresh<B: Bench>(path: &Path, present: &Typed, set: &Typed) -> Result<Option<Stored>, Trouble> {
    let Ok(text) = fs::read_to_string(path) else { return Ok(None) };
    let Ok(stored) = serde_json::from_str::<Stored>(&text) else { return Ok(None) };
    let same = stored.machine == B::TITLE
        && stored.version == B::VERSION
        && stored.present == *present
        && stored.set == *set
        && stored.program == program()?;
    Ok(same.then_some(stored))
}

fn program() -> Result<String, Trouble> {
    Ok(build_hash(&std::env::current_exe().and_then(fs::read)?))
}

/// Margins and stops of both sets, side by side.
pub(super) fn tell(stored: &Stored, out: &mut dyn std::io::Write) -> Result<(), Trouble> {
    let preview = &stored.preview;
    for line in &preview.lines {
        writeln!(out, "{}", shown(line))?;
    }
    if let Some([before, after]) = &preview.stops {
        writeln!(
            out,
            "longest stop: {:.2} m ({}) before, {:.2} m ({}) after",
            before.metres, before.run, after.metres, after.run
        )?;
    }
    let verdict = verdict(preview.broken().count(), stored.needs_safety_level);
    Ok(writeln!(out, "{} runs with each set in {:.1} s; {verdict}", preview.runs, stored.seconds)?)
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

fn bar(look: Look, runs: usize) -> ProgressBar {
    if !look.progress {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(runs as u64);
    let style = ProgressStyle::with_template("{bar:32} {pos} of {len} stories, twice each, {elapsed}");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    bar
}

/// Keeps it in a file, in a folder that may not be there yet.
pub(super) fn store(path: &Path, stored: &Stored) -> Result<(), Trouble> {
    let text =
        serde_json::to_string_pretty(stored).map_err(|error| Trouble::with_help(error, "tell its makers"))?;
    let folder = path.parent().map_or(Ok(()), fs::create_dir_all);
    folder.and_then(|()| fs::write(path, text + "\n")).map_err(|error| Trouble::unwritable(path, &error))
}
