//! The loader on the desk: scenarios against its simulated machine, the firmware in lock step, sheets, reports.

mod bench;
mod campaign;
#[cfg(feature = "planted")]
pub mod campaigned;
mod comparisons;
mod hands;
mod motions;
mod plant;
mod plots;
mod requirements;
mod territory;

pub use bench::LoaderBench;

/// What the program does.
pub fn main() -> std::process::ExitCode {
    trunnion_desk::command_line::main::<LoaderBench>()
}
