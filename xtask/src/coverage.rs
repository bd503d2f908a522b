//! Which lines and regions of the core crate its own tests reach; every other line has a written reason.
//!
//! What counts: the crate's product code, as its unit and property tests run it on the host. Test modules do not
//! count, nor do declarations without code. Of a generic function or a macro's code a line is reached when any
//! instance of it was: an instance that no test makes has no code, and therefore no line. A macro's body counts
//! where the compiler places it, in the file that defines the macro. The examples in the docs run as
//! well, in the step `doctests`, but reach nothing here: what only they reach is counted as not reached.

mod measure;
mod reasons;

use std::{collections::BTreeMap, process::ExitCode};

pub use measure::Tools;
use measure::{File, Measured};
use reasons::Reasons;

use crate::{
    Verdict,
    progress::say,
    setup::{self, Need},
    tally::Tally,
    toolchain::Toolchain,
    workspace::Workspace,
};

/// The least share of lines and of regions, in percent.
const LEAST: f64 = 98.0;

/// What the verb was asked for.
#[derive(Debug, Clone, clap::Args)]
pub struct Options {
    /// Print the figures as JSON, for a program
    #[arg(long)]
    json: bool,
    /// Name every region that is not reached, too
    #[arg(long)]
    regions: bool,
}

/// The verb.
pub fn verb(workspace: &Workspace, options: &Options) -> Verdict {
    let own = Toolchain::own()?;
    let lacks = setup::provide(workspace, &own, &[Need::Coverage]);
    if let Some(lack) = lacks.first() {
        return Err(format!("no {}: {}", lack.need.name(), lack.reason));
    }
    let measured = measure::measure(workspace, &own)?;
    let reasons = Reasons::read(workspace)?;
    if options.json {
        println!("{}", json(&measured, &reasons));
    } else {
        table(&measured);
    }
    if options.regions {
        for (path, file) in &measured.files {
            for place in &file.missed_regions {
                say(format_args!("  {path}:{place}"));
            }
        }
    }
    let mut tally = Tally::default();
    judge(&measured, &reasons, &mut tally);
    say(tally.counts());
    Ok(if tally.failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// What a run of the suite looks at.
pub fn step(workspace: &Workspace, own: &Toolchain, tally: &mut Tally) {
    let found = measure::measure(workspace, own).and_then(|it| Ok((it, Reasons::read(workspace)?)));
    match found {
        Ok((measured, reasons)) => judge(&measured, &reasons, tally),
        Err(why) => tally.fail("coverage of the core crate", why),
    }
}

fn judge(measured: &Measured, reasons: &Reasons, tally: &mut Tally) {
    let total = measured.total();
    for (what, share) in [("lines", total.lines()), ("regions", total.regions())] {
        let what = format!("at least {LEAST} % of {what} are reached");
        let told = format!("{share:.2} %");
        if share >= LEAST { tally.pass(&format!("{what}: {told}")) } else { tally.fail(&what, told) }
    }
    let found = reasons.held_against(measured);
    let what = format!("every line that is not reached has its reason in {}", reasons::PATH);
    if found.unexplained.is_empty() {
        tally.pass(&what);
    } else {
        for line in &found.unexplained {
            say(format_args!("      {line}"));
        }
        tally.fail(&what, format!("{} have none: write a test, or the reason", found.unexplained.len()));
    }
    let what = "every reason is for a line that is not reached";
    if found.stale.is_empty() {
        tally.pass(what);
    } else {
        tally.fail(what, format!("remove: {}", found.stale.join("; ")));
    }
}

fn table(measured: &Measured) {
    say(format_args!("  {:<46} {:>13} {:>8} {:>13} {:>8}", "file", "lines", "%", "regions", "%"));
    let row = |name: &str, file: &File| {
        let lines = format!("{}/{}", file.lines - file.missed_lines.len(), file.lines);
        let regions = format!("{}/{}", file.regions - file.missed_regions.len(), file.regions);
        say(format_args!(
            "  {name:<46} {lines:>13} {:>8.2} {regions:>13} {:>8.2}",
            file.lines(),
            file.regions()
        ));
    };
    for (path, file) in &measured.files {
        row(path.rsplit("src/").next().unwrap_or(path), file);
    }
    row("all", &measured.total());
}

fn json(measured: &Measured, reasons: &Reasons) -> String {
    let figures = |file: &File| {
        serde_json::json!({
            "lines": file.lines, "lines_reached": file.lines - file.missed_lines.len(),
            "regions": file.regions, "regions_reached": file.regions - file.missed_regions.len(),
            "missed_lines": file.missed_lines, "missed_regions": file.missed_regions,
        })
    };
    let files: BTreeMap<&str, _> =
        measured.files.iter().map(|(path, file)| (path.as_str(), figures(file))).collect();
    let total = measured.total();
    let found = reasons.held_against(measured);
    serde_json::json!({
        "lines_percent": total.lines(), "regions_percent": total.regions(),
        "unexplained": found.unexplained, "stale": found.stale, "files": files,
    })
    .to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn too_little_coverage_fails_and_enough_passes() {
        for (missed, failed) in [(1, 0), (3, 2)] {
            let missed: Vec<(usize, String)> = (0..missed).map(|line| (line, String::new())).collect();
            let regions = missed.iter().map(|_| String::new()).collect();
            let file = File { lines: 100, missed_lines: missed, regions: 100, missed_regions: regions };
            let measured = Measured { files: BTreeMap::from([("a.rs".to_owned(), file)]) };
            let mut tally = Tally::default();
            judge(&measured, &Reasons::default(), &mut tally);
            // The lines without a reason fail as well.
            assert_eq!(tally.failed.len(), failed + 1);
        }
    }
}
