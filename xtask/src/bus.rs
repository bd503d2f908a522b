//! CAN tools that were not written here talk to the loader: to the host's copy alone, and with the image beside it.

use std::{path::Path, thread};

use crate::{
    command::{Outcome, Task},
    firmware, python,
    tally::Tally,
    workspace::Workspace,
};

/// The machine that is talked to.
const MACHINE: &str = "loader";
const TESTS: &str = "tests/python/bus";
/// Both runs mostly wait for the clock; what takes so long hangs.
const LIMIT: std::time::Duration = std::time::Duration::from_secs(900);

/// The step, with the built program; `image` when there is an emulator for it.
pub fn step(workspace: &Workspace, emulated: bool, tally: &mut Tally) {
    let what = "the Python environment of the bus tools";
    let python = match python::environment(workspace) {
        Ok(python) => python,
        Err(why) => return tally.fail(what, why),
    };
    let program = workspace.target.join("debug").join(MACHINE);
    let image = firmware::path(workspace, MACHINE);
    let mut runs = vec![("bus tools and the host's copy", None)];
    if emulated {
        if image.is_file() {
            runs.push(("bus tools and the image in QEMU", Some(image.as_path())));
        } else {
            tally.fail(
                "bus tools and the image in QEMU",
                "there is no image: see the step `firmware`".to_owned(),
            );
        }
    }
    // Side by side: they wait most of the time.
    let outcomes: Vec<(&str, Outcome)> = thread::scope(|scope| {
        let started: Vec<_> = runs
            .iter()
            .map(|(what, image)| (*what, scope.spawn(|| one(workspace, &python, &program, *image))))
            .collect();
        started.into_iter().filter_map(|(what, run)| Some((what, run.join().ok()?))).collect()
    });
    for (what, outcome) in outcomes {
        judge(what, &outcome, tally);
    }
}

fn one(workspace: &Workspace, python: &Path, program: &Path, image: Option<&Path>) -> Outcome {
    let name = if image.is_some() { "bus with image" } else { "bus" };
    let mut task = Task::new(workspace, name, python)
        .args(["-m", "pytest", "-q", "-p", "no:cacheprovider", TESTS])
        .env("TRUNNION_PROGRAM", program)
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .limit(LIMIT);
    if let Some(image) = image {
        task = task.env("TRUNNION_FIRMWARE", image);
    }
    task.run_quietly(workspace)
}

fn judge(what: &str, outcome: &Outcome, tally: &mut Tally) {
    let counts = counts(&outcome.text);
    tally.passed += counts.passed;
    if !outcome.success || counts.wrong > 0 || counts.passed == 0 {
        crate::command::quote(&outcome.text);
        tally.fail(what, format!("{} of {} tests; see above", counts.wrong, counts.wrong + counts.passed));
    }
}

/// What pytest counts.
#[derive(Debug, Default, PartialEq, Eq)]
struct Counts {
    passed: usize,
    /// Failures and errors.
    wrong: usize,
}

/// From pytest's last line: `2 failed, 23 passed, 1 error in 141.93s`.
fn counts(text: &str) -> Counts {
    let mut counts = Counts::default();
    let Some(line) = text.lines().rev().find(|line| line.contains(" in ") && line.contains("passed")) else {
        return counts;
    };
    for part in line.split(',') {
        let mut words = part.split_whitespace();
        let (Some(Ok(number)), Some(kind)) = (words.next().map(str::parse::<usize>), words.next()) else {
            continue;
        };
        match kind {
            "passed" => counts.passed += number,
            "failed" | "error" | "errors" => counts.wrong += number,
            _ => {}
        }
    }
    counts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_closing_line_is_read_with_its_failures_and_errors() {
        let text = "...\n2 failed, 23 passed, 1 warning, 1 error in 141.93s (0:02:21)\n";
        assert_eq!(counts(text), Counts { passed: 23, wrong: 3 });
        assert_eq!(counts("25 passed in 3.1s"), Counts { passed: 25, wrong: 0 });
        assert_eq!(counts("no tests ran in 0.01s"), Counts::default());
    }
}
