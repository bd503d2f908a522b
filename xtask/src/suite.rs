//! The whole suite: what must hold before a change lands. `.ci/run` runs this and nothing else.

mod harnesses;
mod steps;

use std::{
    cell::OnceCell,
    process::ExitCode,
    time::{Duration, Instant},
};

use crate::{
    Verdict,
    programs::Programs,
    progress::{elapsed, say},
    setup::{self, Lack, Need},
    tally::Tally,
    toolchain::Toolchain,
    workspace::Workspace,
};
use steps::STEPS;

/// One step of the suite.
pub struct Step {
    name: &'static str,
    about: &'static str,
    needs: &'static [Need],
    run: fn(&Bench, &mut Tally),
}

/// What every step may use.
pub struct Bench<'a> {
    workspace: &'a Workspace,
    own: Toolchain,
    lacks: Vec<Lack>,
    programs: OnceCell<Result<Programs<'a>, String>>,
}

impl Bench<'_> {
    /// The workspace's programs, built when the first step asks for them; where they do not build, the check has failed.
    fn programs(&self, what: &str, tally: &mut Tally) -> Option<&Programs<'_>> {
        let built = self.programs.get_or_init(|| Programs::build(self.workspace, &self.own));
        built.as_ref().map_err(|why| tally.fail(what, why.clone())).ok()
    }

    /// Whether all `needs` of a check are there; if not, the check is counted as what it is: skipped where nobody
    /// lets us install, failed where the attempt failed.
    fn ready(&self, needs: &[Need], what: &str, tally: &mut Tally) -> bool {
        let Some(lack) = self.lacks.iter().find(|lack| needs.contains(&lack.need)) else {
            return true;
        };
        let why = format!("no {} ({}; see `cargo xtask setup --check`)", lack.need.name(), lack.reason);
        if lack.forbidden {
            tally.skip(what, why)
        } else {
            tally.fail(what, why)
        }
        false
    }
}

/// Steps that run only when they are named: the ledger of mutants is not complete yet, and coverage has not run on a
/// computer on which everything must be installed first.
const BY_NAME: &[&str] = &["coverage", "mutants"];

/// Prints the steps.
pub fn list() -> Verdict {
    for step in STEPS {
        let when = if BY_NAME.contains(&step.name) { " (only when named)" } else { "" };
        say(format_args!("  {:<16} {}{when}", step.name, step.about));
    }
    Ok(ExitCode::SUCCESS)
}

/// The verb: runs all steps, or those named, to the end, whatever fails on the way.
pub fn verb(workspace: &Workspace, only: &[String]) -> Verdict {
    let steps = chosen(only)?;
    let began = Instant::now();
    let own = Toolchain::own()?;
    let needs: Vec<Need> = setup::FOR_TEST
        .iter()
        .copied()
        .filter(|need| steps.iter().any(|step| step.needs.contains(need)))
        .collect();
    let lacks = setup::provide(workspace, &own, &needs);
    let bench = Bench { workspace, own, lacks, programs: OnceCell::new() };
    let mut results = Vec::new();
    for (index, step) in steps.iter().enumerate() {
        say(format_args!("\n[{}/{}] {}: {}", index + 1, steps.len(), step.name, step.about));
        let started = Instant::now();
        let mut tally = Tally::default();
        (step.run)(&bench, &mut tally);
        say(format_args!("    {} in {}", tally.counts(), elapsed(started.elapsed())));
        results.push((step.name, tally, started.elapsed()));
    }
    let total = conclude(results, began.elapsed());
    say(total.counts());
    Ok(if total.failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn chosen(only: &[String]) -> Result<Vec<&'static Step>, String> {
    if only.is_empty() {
        return Ok(STEPS.iter().filter(|step| !BY_NAME.contains(&step.name)).collect());
    }
    let find = |name: &String| {
        STEPS.iter().find(|step| step.name == name).ok_or_else(|| {
            let names: Vec<&str> = STEPS.iter().map(|step| step.name).collect();
            format!("no step `{name}`; the steps are {}", names.join(", "))
        })
    };
    only.iter().map(find).collect()
}

fn conclude(results: Vec<(&str, Tally, Duration)>, took: Duration) -> Tally {
    let mut total = Tally::default();
    let (mut failed, mut skipped) = (Vec::new(), Vec::new());
    say(format_args!("\n{:<16} {:>7} {:>7} {:>8}   time", "step", "passed", "failed", "skipped"));
    for (name, tally, time) in results {
        let (bad, left) = (tally.failed.len(), tally.skipped.len());
        say(format_args!("{name:<16} {:>7} {bad:>7} {left:>8}   {}", tally.passed, elapsed(time)));
        failed.extend(tally.failed.iter().map(|(what, why)| format!("  {name}: {what}: {why}")));
        skipped.extend(tally.skipped.iter().map(|(what, why)| format!("  {name}: {what}: {why}")));
        total.add(tally);
    }
    say(format_args!("{:<42} {}", "", elapsed(took)));
    for (title, lines) in [("Failed", failed), ("Skipped, and why", skipped)] {
        if !lines.is_empty() {
            say(format_args!("\n{title}:\n{}", lines.join("\n")));
        }
    }
    say("");
    total
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_can_be_asked_for_by_its_name() {
        for step in STEPS {
            assert_eq!(chosen(&[step.name.to_owned()]).unwrap()[0].about, step.about);
        }
    }

    #[test]
    fn an_unknown_step_is_refused_with_the_names_of_those_that_exist() {
        let refusal = chosen(&["lint".to_owned()]).err().unwrap();
        assert!(refusal.contains("no step `lint`") && refusal.contains("clippy"), "{refusal}");
    }

    #[test]
    fn a_check_is_skipped_where_installing_is_not_allowed_and_fails_where_it_went_wrong() {
        let workspace = Workspace::find().unwrap();
        let own = Toolchain::own().unwrap();
        for forbidden in [true, false] {
            let lack = Lack { need: Need::Qemu, reason: "why".to_owned(), forbidden };
            let (own, programs) = (own.clone(), OnceCell::new());
            let bench = Bench { workspace: &workspace, own, lacks: vec![lack], programs };
            let mut tally = Tally::default();
            assert!(bench.ready(&[Need::Core], "core", &mut tally));
            assert!(!bench.ready(&[Need::Core, Need::Qemu], "parity", &mut tally));
            assert_eq!((tally.skipped.len(), tally.failed.len()), if forbidden { (1, 0) } else { (0, 1) });
        }
    }
}
