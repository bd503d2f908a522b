//! What there is to show for a machine: from hazard to requirement to what was run, with the gaps.

use std::collections::{BTreeMap, BTreeSet};

use serde::Deserialize;
use trunnion_rig::campaign::CellResult;
use trunnion_rig::requirement::Verdict;
use trunnion_rig::run::Run;

use crate::bench::Bench;
use crate::hunting::Catch;
use crate::sheets::{GAP, Sheet};

/// What `campaign --json` has written, as much of it as is shown.
#[derive(Debug, Deserialize)]
pub struct CampaignFile {
    /// Every cell that was run.
    pub cells: Vec<CellResult>,
}

/// What `hunt --json` has written, as much of it as is shown.
#[derive(Debug, Deserialize)]
pub struct HuntFile {
    /// Every hunt.
    pub hunts: Vec<Catch>,
}

/// All that evidence is made of.
pub struct Sources<'a> {
    /// Name of each scenario, and what it came to.
    pub runs: &'a [(String, Run)],
    /// The campaign, if there is one.
    pub campaign: Option<&'a CampaignFile>,
    /// The hunts, if there are any.
    pub hunt: Option<&'a HuntFile>,
}

/// What a requirement came to over all runs.
#[derive(Debug, Default)]
struct Seen {
    runs: usize,
    violated: usize,
    least: Option<(f64, String, String)>,
}

/// Hazard, requirement, and what was seen of it; a hazard or requirement without evidence is a gap.
pub fn traceability<B: Bench>(sources: &Sources<'_>) -> Sheet {
    let seen = seen(sources.runs);
    let mut rows = Vec::new();
    for (hazard, text) in B::HAZARDS {
        let answered: Vec<_> =
            B::REQUIREMENTS.iter().filter(|requirement| requirement.hazard == *hazard).collect();
        if answered.is_empty() {
            let gap = format!("{GAP}: no standing requirement answers this hazard");
            rows.push(row([hazard, text, &gap, "", "", "", "", ""]));
        }
        for requirement in answered {
            let (scenarios, margin) = match seen.get(requirement.id) {
                None => (format!("{GAP}: watched in no scenario"), String::new()),
                Some(seen) if seen.violated > 0 => {
                    (format!("{GAP}: violated in {} of {} scenarios", seen.violated, seen.runs), shown(seen))
                }
                Some(seen) => (format!("held in {} scenarios", seen.runs), shown(seen)),
            };
            rows.push(row([
                hazard,
                text,
                requirement.id,
                requirement.sentence,
                &scenarios,
                &margin,
                &in_campaign(sources.campaign, requirement.id),
                &in_hunt(sources.hunt, requirement.id),
            ]));
        }
    }
    Sheet {
        title: "Traceability".into(),
        heading: vec![
            "hazard",
            "what it is",
            "requirement",
            "sentence",
            "scenarios",
            "least margin",
            "fault campaign",
            "hunt",
        ],
        rows,
    }
}

fn row(cells: [&str; 8]) -> Vec<String> {
    cells.map(str::to_owned).to_vec()
}

fn seen(runs: &[(String, Run)]) -> BTreeMap<&str, Seen> {
    let mut all: BTreeMap<&str, Seen> = BTreeMap::new();
    for (name, run) in runs {
        for result in &run.results {
            let seen = all.entry(result.id.as_str()).or_default();
            seen.runs += 1;
            seen.violated += usize::from(result.verdict != Verdict::Held);
            if let Some(margin) = result.margin
                && seen.least.as_ref().is_none_or(|(least, _, _)| margin < *least)
            {
                seen.least = Some((margin, result.unit.clone(), name.clone()));
            }
        }
    }
    all
}

fn shown(seen: &Seen) -> String {
    seen.least
        .as_ref()
        .map_or_else(|| "yes/no".to_owned(), |(margin, unit, name)| format!("{margin:.4} {unit} in {name}"))
}

fn in_campaign(campaign: Option<&CampaignFile>, id: &str) -> String {
    let Some(campaign) = campaign else { return format!("{GAP}: no campaign was given") };
    let violated =
        campaign.cells.iter().filter(|cell| cell.measured.violated.iter().any(|known| known == id));
    match violated.count() {
        0 => format!("held in {} cells", campaign.cells.len()),
        count => format!("violated in {count} of {} cells, see residual hazards", campaign.cells.len()),
    }
}

fn in_hunt(hunt: Option<&HuntFile>, id: &str) -> String {
    let Some(hunt) = hunt else { return format!("{GAP}: no hunt was given") };
    let runs: u64 = hunt.hunts.iter().map(|caught| caught.report.simulations).sum();
    let found = hunt.hunts.iter().filter(|caught| caught.requirement.as_deref() == Some(id)).count();
    if found > 0 {
        format!("{GAP}: violated by {found} of {} hunts", hunt.hunts.len())
    } else {
        format!("not violated in {runs} runs")
    }
}

/// Every scenario with what it came to, and how to run it again.
pub fn scenarios<B: Bench>(runs: &[(String, Run)]) -> Sheet {
    let rows = runs.iter().map(|(name, run)| {
        let own =
            run.results.iter().filter(|result| !B::REQUIREMENTS.iter().any(|known| known.id == result.id));
        let failed: Vec<&str> = run
            .results
            .iter()
            .filter(|result| result.verdict != Verdict::Held)
            .map(|result| result.id.as_str())
            .collect();
        vec![
            name.clone(),
            run.title.clone(),
            run.seed.to_string(),
            if failed.is_empty() {
                "passed".to_owned()
            } else {
                format!("{GAP}: {} not held", failed.join(", "))
            },
            own.count().to_string(),
            run.hash.to_string(),
            format!("{} run {name}", B::NAME),
        ]
    });
    Sheet {
        title: "Scenarios".into(),
        heading: vec![
            "scenario",
            "title",
            "seed",
            "came to",
            "own requirements",
            "trace hash",
            "run it again",
        ],
        rows: rows.collect(),
    }
}

/// Failures that the machine cannot detect, with what can happen then, and cells that were not as expected.
pub fn residual<B: Bench>(campaign: Option<&CampaignFile>) -> Sheet {
    let mut rows = Vec::new();
    match campaign {
        None => rows.push(vec![
            format!("{GAP}: no campaign was given"),
            String::new(),
            String::new(),
            format!("{} campaign --json cells.json", B::NAME),
        ]),
        Some(campaign) => {
            let mut hazards: BTreeMap<(&str, &str, &str), BTreeSet<&str>> = BTreeMap::new();
            for cell in &campaign.cells {
                if !cell.hazard.is_empty() {
                    let key = (cell.signal.as_str(), cell.way.as_str(), cell.hazard.as_str());
                    hazards.entry(key).or_default().insert(cell.state.as_str());
                }
                if !cell.red.is_empty() {
                    rows.push(vec![
                        cell.signal.clone(),
                        cell.way.clone(),
                        format!("{GAP}: {} in {}", cell.red.join("; "), cell.state),
                        format!("{} campaign --only {}", B::NAME, cell.cell),
                    ]);
                }
            }
            rows.extend(hazards.into_iter().map(|((signal, way, hazard), states)| {
                let states: Vec<&str> = states.into_iter().collect();
                vec![
                    signal.to_owned(),
                    way.to_owned(),
                    format!("{hazard} ({})", states.join(", ")),
                    format!("{} campaign --only {signal}:{way}", B::NAME),
                ]
            }));
        }
    }
    Sheet {
        title: "Residual hazards".into(),
        heading: vec!["signal", "way to fail", "what can happen", "run it again"],
        rows,
    }
}

/// Builds, budgets and the limits of what was simulated.
pub fn limits<B: Bench>(sources: &Sources<'_>, program: &str, image: Option<&str>) -> Sheet {
    let mut rows = vec![
        vec!["program".to_owned(), format!("{} {}, SHA-256 {program}", B::NAME, B::VERSION)],
        vec![
            "firmware image".to_owned(),
            image.map_or_else(
                || format!("{GAP}: no image was given; the scenarios ran on the host alone"),
                |image| format!("SHA-256 {image}, bit for bit as the host in every scenario"),
            ),
        ],
        vec!["scenarios".to_owned(), format!("{}, seeds beside each", sources.runs.len())],
    ];
    if let Some(campaign) = sources.campaign {
        let states: BTreeSet<&str> = campaign.cells.iter().map(|cell| cell.state.as_str()).collect();
        let states: Vec<&str> = states.into_iter().collect();
        rows.push(vec![
            "fault campaign".to_owned(),
            format!("{} cells, one failure at a time; states: {}", campaign.cells.len(), states.join(", ")),
        ]);
    }
    for caught in sources.hunt.map_or(&[][..], |hunt| &hunt.hunts) {
        rows.push(vec![
            "hunt".to_owned(),
            format!("{}, seed {}, {} runs", caught.report.strategy, caught.seed, caught.report.simulations),
        ]);
    }
    if B::LIMITS.is_empty() {
        rows.push(vec!["limits of the plant".to_owned(), format!("{GAP}: the machine does not tell them")]);
    }
    rows.extend(B::LIMITS.iter().map(|limit| vec!["limits of the plant".to_owned(), (*limit).to_owned()]));
    Sheet { title: "Builds and limits".into(), heading: vec!["what", "which"], rows }
}

/// How many cells say what is missing.
pub fn gaps(sheets: &[Sheet]) -> usize {
    sheets.iter().flat_map(|sheet| &sheet.rows).flatten().filter(|cell| cell.starts_with(GAP)).count()
}
