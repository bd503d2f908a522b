//! How many planted mistakes of the control program each strategy of the hunt finds, and after how many runs.
//!
//! `cargo xtask defects` builds and runs it. With no defect the hunt must find nothing for the same budget. A story counts
//! for a defect only when the program without it keeps the requirement in the same story; else it is told as a violation of
//! the program as it is, and the run fails.

use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use clap::{Parser, builder::PossibleValuesParser};
use loader::desk::{LoaderBench, campaigned};
use loader::planted::{Defect, choose};
use trunnion_desk::hunting::{Catch, HuntError, Order, hunt};
use trunnion_desk::rehearsal;
use trunnion_rig::hunt::STRATEGIES;
use trunnion_rig::requirement::Verdict;

/// Plants one mistake after the other in the loader's control program and hunts each.
#[derive(Debug, Parser)]
#[command(name = "loader-defects")]
struct Options {
    /// A strategy of the hunt; may be given several times [default: all]
    #[arg(long = "strategy", value_name = "NAME", value_parser = PossibleValuesParser::new(STRATEGIES))]
    strategies: Vec<String>,
    /// Runs for each defect and strategy
    #[arg(long, value_name = "NUMBER", default_value_t = 5_000)]
    simulations: u64,
    /// Seed of every hunt
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    /// Exit with 1 if fewer defects are found by all strategies together [default: all of them]
    #[arg(long, value_name = "NUMBER")]
    least: Option<usize>,
    /// Begin no hunt after this time; what is left counts as not found
    #[arg(long, value_name = "SECONDS")]
    seconds: Option<u64>,
    /// Hunt this defect only; may be given several times
    #[arg(long, value_name = "ID", value_parser = PossibleValuesParser::new(Defect::ALL.iter().map(|defect| defect.id())))]
    only: Vec<String>,
    /// Leave out the hunts without a defect
    #[arg(long)]
    without_control: bool,
    /// Write the table as Markdown
    #[arg(long, value_name = "FILE")]
    table: Option<PathBuf>,
    /// Break a wire with each of some defects in the program, instead of hunting: the campaign must notice
    #[arg(long)]
    campaign: bool,
    /// List the defects, and which requirement should catch each
    #[arg(long)]
    list: bool,
}

/// What the strategies made of a defect, in their order; `None` was not hunted for want of time.
struct Row {
    defect: Option<Defect>,
    catches: Vec<Option<Catch>>,
    /// Stories that violate a requirement without the defect, too.
    genuine: Vec<String>,
}

fn main() -> ExitCode {
    let mut options = Options::parse();
    if options.strategies.is_empty() {
        options.strategies = STRATEGIES.map(str::to_owned).to_vec();
    }
    if options.list {
        for defect in Defect::ALL {
            println!("{:32} {}  {}", defect.id(), defect.requirement(), defect.sentence());
        }
        return ExitCode::SUCCESS;
    }
    if options.campaign {
        return match campaigned::all_told() {
            Ok(true) => ExitCode::SUCCESS,
            Ok(false) => ExitCode::FAILURE,
            Err(error) => {
                eprintln!("{error}");
                ExitCode::from(2)
            }
        };
    }
    match report(&options) {
        Ok(code) => code,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn report(options: &Options) -> Result<ExitCode, HuntError> {
    let began = Instant::now();
    let chosen =
        |defect: &&Defect| options.only.is_empty() || options.only.iter().any(|id| id == defect.id());
    let mut planted: Vec<Option<Defect>> = Defect::ALL.iter().filter(chosen).copied().map(Some).collect();
    let defects = planted.len();
    if !options.without_control {
        planted.insert(0, None);
    }
    let mut rows = Vec::new();
    for defect in planted {
        rows.push(row(options, defect, began)?);
    }
    choose(None);
    let found = rows.iter().filter(|row| row.defect.is_some() && row.is_found()).count();
    let control = rows.iter().filter(|row| row.defect.is_none() && row.is_found()).count();
    let genuine: Vec<&String> = rows.iter().flat_map(|row| &row.genuine).collect();
    let false_alarms = control + genuine.len();
    for story in &genuine {
        println!("\nViolated without a defect, too:\n\n{story}");
    }
    let table = table(options, &rows);
    println!("\n{table}");
    if let Some(path) = &options.table
        && let Err(error) = std::fs::write(path, &table)
    {
        eprintln!("{} cannot be written: {error}", path.display());
        return Ok(ExitCode::from(2));
    }
    let least = options.least.unwrap_or(defects);
    println!(
        "{found} of {defects} defects found, {false_alarms} violations without a defect, {:.0} s",
        began.elapsed().as_secs_f64()
    );
    Ok(if found >= least && false_alarms == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn row(options: &Options, defect: Option<Defect>, began: Instant) -> Result<Row, HuntError> {
    choose(defect);
    let (mut catches, mut genuine) = (Vec::new(), Vec::new());
    for strategy in &options.strategies {
        let over = options.seconds.is_some_and(|limit| began.elapsed() >= Duration::from_secs(limit));
        let order = Order {
            strategy: strategy.clone(),
            seed: options.seed,
            simulations: options.simulations,
            only: Vec::new(),
            shrink: defect.is_none(),
        };
        let mut caught = if over { None } else { Some(hunt::<LoaderBench>(&order, &mut |_| true)?) };
        if let (Some(_), Some(one)) = (defect, &mut caught)
            && breaks_without_defect(one, defect)
        {
            genuine.extend(one.story.clone());
            one.requirement = None;
        }
        let word = match &caught {
            None => "no time".to_owned(),
            Some(Catch { requirement: None, report, .. }) => format!("nothing in {}", report.simulations),
            Some(Catch { requirement: Some(id), report, .. }) => {
                format!("{id} in run {}", report.simulations)
            }
        };
        println!("{:32} {strategy:10} {word}", defect.map_or("(no defect)", Defect::id));
        let _ = std::io::stdout().flush();
        if let (None, Some(story)) = (defect, caught.as_ref().and_then(|caught| caught.story.as_ref())) {
            println!("\n{story}");
        }
        catches.push(caught);
    }
    Ok(Row { defect, catches, genuine })
}

/// Whether the program without its defect violates the same requirement in the same story.
fn breaks_without_defect(caught: &Catch, defect: Option<Defect>) -> bool {
    let (Some(requirement), Some(story)) = (&caught.requirement, &caught.story) else { return false };
    choose(None);
    let run = rehearsal::run::<LoaderBench>(&rehearsal::rig::<LoaderBench>(), "hunt", story);
    choose(defect);
    run.results.iter().any(|result| result.id == *requirement && result.verdict == Verdict::Violated)
}

impl Row {
    fn is_found(&self) -> bool {
        self.catches.iter().flatten().any(|caught| caught.requirement.is_some())
    }
}

fn table(options: &Options, rows: &[Row]) -> String {
    let mut text =
        format!("| defect | what is wrong | should be caught by | {} |\n", options.strategies.join(" | "));
    text += &format!("|---|---|---|{}\n", "---|".repeat(options.strategies.len()));
    for row in rows {
        let (id, sentence, requirement) = match row.defect {
            Some(defect) => (defect.id(), defect.sentence(), defect.requirement()),
            None => ("(none)", "The control program as it is", "–"),
        };
        let cells: Vec<String> = row.catches.iter().map(cell).collect();
        text += &format!("| `{id}` | {sentence} | {requirement} | {} |\n", cells.join(" | "));
    }
    let counts: Vec<String> = (0..options.strategies.len()).map(|place| sum(rows, place)).collect();
    text + &format!("| found | | | {} |\n", counts.join(" | "))
}

fn cell(caught: &Option<Catch>) -> String {
    match caught {
        None => "not hunted".to_owned(),
        Some(Catch { requirement: Some(id), report, .. }) => format!("{} ({id})", report.simulations),
        Some(caught) => format!("not in {}", caught.report.simulations),
    }
}

/// How many a strategy found, and after how many runs in the middle.
fn sum(rows: &[Row], place: usize) -> String {
    let planted = rows.iter().filter(|row| row.defect.is_some());
    let catches: Vec<&Catch> = planted.filter_map(|row| row.catches.get(place)?.as_ref()).collect();
    let mut runs: Vec<u64> = catches
        .iter()
        .filter(|caught| caught.requirement.is_some())
        .map(|caught| caught.report.simulations)
        .collect();
    runs.sort_unstable();
    let middle = runs.get(runs.len() / 2).map_or("–".to_owned(), u64::to_string);
    format!("{} of {}, median run {middle}", runs.len(), catches.len())
}
