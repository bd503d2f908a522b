//! The roller on the desk: scenarios against its simulated machine, the firmware in lock step, sheets, reports.

mod bench;
mod plant;
mod plots;
mod requirements;

pub use bench::RollerBench;
pub use plant::RollerPlant;

/// What the program does.
pub fn main() -> std::process::ExitCode {
    trunnion_desk::command_line::main::<RollerBench>()
}
