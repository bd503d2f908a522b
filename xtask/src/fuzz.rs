//! Any bytes at decoders, transport and the diagnostic server, for long: builds `tests/fuzz` with counters and runs it.

use std::process::ExitCode;

use crate::{Verdict, toolchain::Toolchain, workspace::Workspace};

/// A counter at every edge, which the stable compiler puts there; all of a crate in one area.
const COUNTERS: &str = "-C passes=sancov-module -C llvm-args=-sanitizer-coverage-level=3 \
                        -C llvm-args=-sanitizer-coverage-inline-8bit-counters -C codegen-units=1";

/// What the verb takes.
#[derive(clap::Args)]
pub struct Options {
    /// Options of the program, `--help` for instance: targets, executions, seconds, seed, corpus
    #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
    passed_on: Vec<String>,
}

/// The verb. Build scripts and macros are for the host and stay without counters: that is what naming the target does.
pub fn verb(workspace: &Workspace, options: &Options) -> Verdict {
    let own = Toolchain::own()?;
    let task = own
        .cargo(workspace, "fuzz")
        .env("RUSTFLAGS", COUNTERS)
        .args(["run", "--release", "--package", "fuzz", "--target-dir", "target/fuzz", "--target"])
        .args([own.host(), "--"])
        .args(&options.passed_on);
    Ok(if task.hand_over(workspace) { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
