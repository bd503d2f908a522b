//! The verb `evidence`.

use std::fs;
use std::path::Path;

use serde::de::DeserializeOwned;
use trunnion_rig::run::Run;
use trunnion_rig::shard::build_hash;

use super::arguments::EvidenceArguments;
use super::progress::Progress;
use super::run::refuse_unreadable;
use super::selection::{self, BenchRig};
use super::streams::Tone;
use super::trouble::Trouble;
use super::work::{self, Mark};
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::evidence::{self, CampaignFile, HuntFile, Sources};
use crate::sheets::{Format, GAP, Sheet, Subject, printable};

/// What holds for the evidence of every machine.
const STANDING: &[&str] = &[
    "No safety certification is claimed. The machine's own risk assessment (ISO 12100, ISO 13849, ISO 19014), local codes \
     and licensed practice decide.",
    "What held in simulation held in simulation: the plant is a model with stated equations and invented numbers, inside the \
     limits below.",
    "What was not run is not shown to hold: gaps are named in red. Whoever doubts a line runs it again by its command.",
    "Test on the machine with the drive wheels off the ground and an emergency stop in reach.",
];

/// Runs all scenarios and puts them together with a campaign and hunts.
pub(super) fn evidence<B: Bench>(
    arguments: &EvidenceArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    if let Some(image) = &arguments.firmware {
        refuse_unreadable(image)?;
    }
    let campaign: Option<CampaignFile> = read(arguments.campaign.as_deref(), "campaign --json FILE")?;
    let hunt: Option<HuntFile> = read(arguments.hunt.as_deref(), "hunt --json FILE")?;
    let (runs, image_held) = all_runs::<B>(arguments, streams)?;
    let sources = Sources { runs: &runs, campaign: campaign.as_ref(), hunt: hunt.as_ref() };
    let program = build_hash(&std::env::current_exe().and_then(fs::read)?);
    let image = match &arguments.firmware {
        Some(path) if image_held => Some(build_hash(&fs::read(path)?)),
        _ => None,
    };
    let sheets = [
        ("traceability", evidence::traceability::<B>(&sources)),
        ("scenarios", evidence::scenarios::<B>(&runs)),
        ("residual_hazards", evidence::residual::<B>(campaign.as_ref())),
        ("builds_and_limits", evidence::limits::<B>(&sources, &program, image.as_deref())),
    ];
    write::<B>(arguments, &sheets, streams)?;
    let all: Vec<Sheet> = sheets.into_iter().map(|(_, sheet)| sheet).collect();
    let gaps = evidence::gaps(&all);
    let line = if gaps == 0 { "no gap".to_owned() } else { format!("{gaps} gaps, named `{GAP}`") };
    writeln!(streams.out, "{line}")?;
    let held = image_held && runs.iter().all(|(_, run)| run.passed());
    Ok(if held { Outcome::AllHeld } else { Outcome::Failed })
}

type Runs = Vec<(String, Run)>;

/// Every scenario of the bench; whether the image, if asked, agreed in all of them.
fn all_runs<B: Bench>(arguments: &EvidenceArguments, streams: &Streams<'_>) -> Result<(Runs, bool), Trouble> {
    let names: Vec<&str> = B::SCENARIOS.iter().map(|(name, _)| *name).collect();
    let jobs = selection::all_of::<B>(&names)?;
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let mut runs = Vec::new();
    let (mut wrong, mut agreed) = (None, true);
    let progress = Progress::new(streams.look);
    work::all::<B>(&rig, &jobs, arguments.firmware.as_deref(), &progress, |job, done| match done {
        Ok(done) => {
            agreed &= done.mark() != Mark::Skipped && (done.mark() == Mark::Passed || !done.run.passed());
            runs.push((job.name.clone(), done.run));
        }
        Err(complaints) => wrong = Some(complaints),
    });
    match wrong {
        Some(complaints) => Err(complaints.into()),
        None => Ok((runs, agreed)),
    }
}

fn read<T: DeserializeOwned>(path: Option<&Path>, made_by: &str) -> Result<Option<T>, Trouble> {
    let Some(path) = path else { return Ok(None) };
    let text = fs::read_to_string(path).map_err(|error| Trouble::unreadable(path, &error))?;
    serde_json::from_str(&text).map(Some).map_err(|error| {
        let what = format!("{} cannot be understood: {error}", path.display());
        Trouble::with_help(what, format!("give a file that `{made_by}` has written"))
    })
}

fn write<B: Bench>(
    arguments: &EvidenceArguments,
    sheets: &[(&str, Sheet)],
    streams: &mut Streams<'_>,
) -> Result<(), Trouble> {
    let subject = Subject {
        kind: "Evidence of what was run",
        standing: STANDING,
        title: B::TITLE,
        about: B::ABOUT,
        version: B::VERSION,
        cautions: B::CAUTIONS,
    };
    let plain: Vec<Sheet> = sheets.iter().map(|(_, sheet)| sheet.clone()).collect();
    let mut files = vec![("evidence.html".to_owned(), printable(&subject, &plain))];
    for (name, sheet) in sheets {
        files.push((format!("{name}.csv"), sheet.write(Format::Csv)));
        files.push((format!("{name}.md"), sheet.write(Format::Markdown)));
    }
    fs::create_dir_all(&arguments.out).map_err(|error| Trouble::unwritable(&arguments.out, &error))?;
    for (name, text) in &files {
        let path = arguments.out.join(name);
        fs::write(&path, text).map_err(|error| Trouble::unwritable(&path, &error))?;
        writeln!(streams.out, "{}", streams.look.toned(Tone::Quiet, path.display().to_string()))?;
    }
    Ok(())
}
