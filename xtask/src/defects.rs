//! Planted mistakes of the loader's control program, and whether the hunt finds them: hands over to `loader-defects`.

use std::process::ExitCode;

use crate::{Verdict, tally::Tally, toolchain::Toolchain, workspace::Workspace};

/// The program, built as the suite's others are: an optimised build of all it stands on would cost more than it saves there.
pub const PROGRAM: [&str; 7] =
    ["run", "--package", "loader", "--features", "planted", "--bin", "loader-defects"];

/// What the verb takes.
#[derive(clap::Args)]
pub struct Options {
    /// Options of the program, `--help` for instance: strategies, runs, seed, table
    #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
    passed_on: Vec<String>,
}

/// The verb: all strategies on all defects, long.
pub fn verb(workspace: &Workspace, options: &Options) -> Verdict {
    let own = Toolchain::own()?;
    let task =
        own.cargo(workspace, "defects").args(PROGRAM).args(["--release", "--"]).args(&options.passed_on);
    Ok(if task.hand_over(workspace) { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// A step of the suite: at least twenty are found within three minutes, and nothing in the program as it is.
pub fn quick(workspace: &Workspace, own: &Toolchain, tally: &mut Tally) {
    let what = "at least 20 planted mistakes found, and none where none is planted";
    let bounds =
        ["--", "--strategy", "branching", "--simulations", "250", "--least", "20", "--seconds", "170"];
    let outcome = own.cargo(workspace, "hunt").args(PROGRAM).args(bounds).run(workspace);
    if outcome.success {
        tally.pass(what);
    } else {
        tally.fail(what, "see above; `cargo xtask defects --list` tells what should catch each".to_owned());
    }
}
