//! What the core crates claim, over all inputs and all states: hands over to the package `proofs`.

use std::{fs, process::ExitCode};

use crate::{
    ProveOptions, Verdict, programs::Programs, progress::say, tally::Tally, toolchain::Toolchain,
    workspace::Workspace,
};

const PACKAGE: &str = "proofs";

/// The verb.
pub fn verb(workspace: &Workspace, options: &ProveOptions) -> Verdict {
    let own = Toolchain::own()?;
    if options.list {
        return list(workspace, &own, options);
    }
    let mut words: Vec<String> =
        ["run", "--release", "--package", PACKAGE, "--", "run"].map(str::to_owned).to_vec();
    for name in &options.only {
        words.extend(["--only".to_owned(), name.clone()]);
    }
    if options.quick {
        words.push("--quick".to_owned());
    }
    if let Some(cases) = options.cases {
        words.extend(["--cases".to_owned(), cases.to_string()]);
    }
    if let Some(minutes) = options.minutes {
        words.extend(["--minutes".to_owned(), minutes.to_string()]);
    }
    if let Some(file) = &options.json {
        words.extend(["--json".to_owned(), absolute(file)?]);
    }
    let held = own.cargo(workspace, "prove").args(words).hand_over(workspace);
    Ok(if held { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// A step of the suite: every proof in its quick mode, built as the tests are.
pub fn quick(workspace: &Workspace, programs: &Programs, tally: &mut Tally) {
    let what = "every map at its boundaries, every block through its states";
    let words = ["run", "--package", PACKAGE, "--", "run", "--quick"];
    let outcome = match programs.task(workspace, "proofs", &words) {
        Ok(task) => task.run(workspace),
        Err(why) => return tally.fail(what, why),
    };
    match Tally::of_closing_line(&outcome.text) {
        Some((passed, 0, 0)) if outcome.success && passed > 0 => tally.passed += passed,
        Some((passed, failed, _)) => {
            tally.passed += passed;
            tally.fail(what, format!("{failed} of {} proofs; see above", passed + failed));
        }
        None => tally.fail(what, "the run printed no counts; see above".to_owned()),
    }
}

fn list(workspace: &Workspace, own: &Toolchain, options: &ProveOptions) -> Verdict {
    let words = ["run", "--release", "--quiet", "--package", PACKAGE, "--", "list"];
    let json = options.json.as_ref().map(|_| "--json");
    let task = own.cargo(workspace, "list of proofs").args(words).args(json);
    let Some(file) = &options.json else {
        let listed = task.hand_over(workspace);
        return Ok(if listed { ExitCode::SUCCESS } else { ExitCode::FAILURE });
    };
    let outcome = task.run(workspace);
    if !outcome.success {
        return Ok(ExitCode::FAILURE);
    }
    fs::write(file, &outcome.out).map_err(|error| format!("{}: {error}", file.display()))?;
    say(format_args!("written: {}", file.display()));
    Ok(ExitCode::SUCCESS)
}

/// The package runs in the top folder, wherever the command was typed.
fn absolute(file: &std::path::Path) -> Result<String, String> {
    let path = std::path::absolute(file).map_err(|error| format!("{}: {error}", file.display()))?;
    Ok(path.display().to_string())
}
