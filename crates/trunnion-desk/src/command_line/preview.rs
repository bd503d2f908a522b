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
use super::replay;
use super::selection::BenchRig;
use super::trouble::Trouble;
use super::{Look, Outcome, Streams};
use crate::bench::Bench;
use crate::previewing::{self, DriveOutcome, Line, NoDrive, Preview, RecordedLog, Varied, Worst};

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
    let drives = arguments.drives.logs::<B>()?;
    let stored = stored::<B>(&drives, Vec::new(), settings, arguments.jobs, streams.look)?;
    tell(&stored, &mut streams.out)?;
    if let Some(path) = &arguments.store {
        store(path, &stored)?;
    }
    Ok(if stored.refused { Outcome::Failed } else { Outcome::AllHeld })
}

/// Runs the stories with both sets.
pub(super) fn stored<B: Bench>(
    drives: &[RecordedLog],
    present: Typed,
    set: Typed,
    jobs: Option<usize>,
    look: Look,
) -> Result<Stored, Trouble> {
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let bar = bar(look, previewing::size::<B>(drives.len()));
    let began = Instant::now();
    let pool = ThreadPoolBuilder::new().num_threads(jobs.unwrap_or(0)).build();
    let pool = pool.map_err(|error| Trouble::with_help(error, "ask for fewer --jobs"))?;
    let preview = pool.install(|| previewing::preview::<B>(&rig, drives, &present, &set, &|| bar.inc(1)));
    bar.finish_and_clear();
    let preview = preview.map_err(|reason| match reason {
        NoDrive::Story(complaints) => complaints.into(),
        NoDrive::Log { name, reason } => replay::refusal(reason, Path::new(&name)),
    })?;
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

/// What the file holds, if this very program made it of this very set and these very drives.
pub(super) fn fresh<B: Bench>(
    path: &Path,
    drives: &[RecordedLog],
    present: &Typed,
    set: &Typed,
) -> Result<Option<Stored>, Trouble> {
    let Ok(text) = fs::read_to_string(path) else { return Ok(None) };
    let Ok(stored) = serde_json::from_str::<Stored>(&text) else { return Ok(None) };
    let same = stored.machine == B::TITLE
        && stored.version == B::VERSION
        && stored.present == *present
        && stored.set == *set
        && stored.preview.drives.iter().map(|drive| &drive.hash).eq(drives.iter().map(|drive| &drive.hash))
        && stored.program == program()?;
    Ok(same.then_some(stored))
}

fn program() -> Result<String, Trouble> {
    Ok(build_hash(&std::env::current_exe().and_then(fs::read)?))
}

/// Margins and stops of both sets, side by side: what is affected first, the rest in numbers.
pub(super) fn tell(stored: &Stored, out: &mut dyn std::io::Write) -> Result<(), Trouble> {
    let preview = &stored.preview;
    for line in preview.lines.iter().filter(|line| line.is_told()) {
        writeln!(out, "{}", shown(line))?;
    }
    let hardly = preview.lines.iter().filter(|line| !line.is_told() && !line.is_unaffected());
    let hardly: Vec<&str> = hardly.map(|line| line.id.as_str()).collect();
    if !hardly.is_empty() {
        writeln!(out, "affected, smallest margin within a fiftieth: {}", hardly.join(", "))?;
    }
    writeln!(
        out,
        "{} of {} requirements unaffected: the same verdict and margin in each run, to the last bit",
        preview.unaffected(),
        preview.lines.len()
    )?;
    for drive in &preview.drives {
        writeln!(out, "{}", drive_shown(drive))?;
    }
    if let Some([before, after]) = &preview.stops {
        writeln!(
            out,
            "longest stop: {:.2} m ({}) before, {:.2} m ({}) after",
            before.metres, before.run, after.metres, after.run
        )?;
    }
    if !preview.varied.is_empty() {
        let varied: Vec<String> = preview.varied.iter().map(varied_shown).collect();
        writeln!(
            out,
            "plant variation, where a story does not say: all low, then all high: {}",
            varied.join(", ")
        )?;
    }
    let verdict = verdict(preview.broken().count(), stored.needs_safety_level);
    Ok(writeln!(
        out,
        "{} runs with each set, {} of them affected, in {:.1} s; {verdict}",
        preview.runs, preview.touched, stored.seconds
    )?)
}

/// `slope 0 -8/+8 deg`: as told, and how far below and above.
fn varied_shown(varied: &Varied) -> String {
    let Varied { name, unit, rest, low, high } = varied;
    format!("{name} {rest} {:+}/{:+} {unit}", low - rest, high - rest)
}

fn drive_shown(drive: &DriveOutcome) -> String {
    let went = match &drive.driven {
        None => String::new(),
        Some([before, after]) => format!(
            "; way {:.2} → {:.2} m, longest stop {:.2} → {:.2} m, permitted {:.1} → {:.1} s",
            before.way, after.way, before.longest_stop, after.longest_stop, before.permitted, after.permitted
        ),
    };
    let idle = match &drive.driven {
        Some([before, _]) if before.permitted == 0.0 => {
            "\n         never permitted: this drive shows nothing; see whether its story turns the key and the switches"
        }
        _ => "",
    };
    format!(
        "drive {}: {:.1} s, {} frames of the levers{went}\n         wires from {}; left out: {} frames of the \
         controller, {} of engine and others, {} before its start{idle}",
        drive.name,
        drive.seconds,
        drive.given,
        drive.wires,
        drive.of_controller,
        drive.of_others,
        drive.before_start
    )
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
    let mark = match (line.turns(), line.after.violated) {
        (true, _) => "BREAKS",
        (false, 0) => "      ",
        (false, _) => "BROKEN",
    };
    let worst_run = Some(&line.after.run).filter(|run| !run.is_empty());
    let place = worst_run.or(line.broken.first()).map_or_else(String::new, |run| format!(" in {run}"));
    format!(
        "{mark} {}: {} → {}{place}; affected in {} of {} runs\n         {}",
        line.id,
        worst(&line.before),
        worst(&line.after),
        line.affected,
        line.runs,
        line.sentence
    )
}

fn bar(look: Look, runs: usize) -> ProgressBar {
    if !look.progress {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(runs as u64);
    let style =
        ProgressStyle::with_template("{bar:32} {pos} of {len} stories and drives, with both sets, {elapsed}");
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
