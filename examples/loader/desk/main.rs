//! The loader on the desk: scenarios against its simulated machine, the firmware in lock step, sheets, reports.

mod comparisons;
mod plant;
mod plots;
mod requirements;

use std::process::ExitCode;

use loader::Loader;
use trunnion_desk::bench::{Bench, FunctionGroup, PathColumns};
use trunnion_desk::comparison::ComparisonError;
use trunnion_desk::report::{Comparison, Footprint, PlotGroup};
use trunnion_rig::requirement::Requirement;

/// The Q36 as the desk knows it.
struct LoaderBench;

const fn group(
    name: &'static str,
    permission: &'static str,
    why_not: &'static str,
    all: &'static str,
) -> FunctionGroup {
    FunctionGroup { name, permission, why_not, all: Some(all) }
}

impl Bench for LoaderBench {
    type Machine = Loader;
    type Plant = plant::LoaderPlant;

    const NAME: &'static str = "loader";
    const TITLE: &'static str = "Tarnbrook Q36 skid-steer loader";
    const ABOUT: &'static str = "Controller of an invented skid-steer loader of 3.6 t, drawing Q36-E-100: its control program against a simulated machine, on this computer and as firmware in an emulated processor.";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");
    const REQUIREMENTS: &'static [Requirement] = requirements::REQUIREMENTS;
    const HAZARDS: &'static [(&'static str, &'static str)] = requirements::HAZARDS;
    const SCENARIOS: &'static [(&'static str, &'static str)] =
        include!(concat!(env!("OUT_DIR"), "/scenarios.rs"));
    const DEMO: &'static [&'static str] = &["loading_cycle", "lever_lost_h_pattern", "stall_in_pile"];
    const PORTS: &'static [(&'static str, &'static str)] = PORTS;
    const REACTIONS: &'static [&'static str] = &[
        "stops the drive",
        "stops boom and bucket",
        "stops the auxiliary",
        "stops all at once, cuts the coil supply",
        "drive at a reduced share",
    ];
    const GROUPS: &'static [FunctionGroup] = &[
        group("drive", "permission_drive", "why_not_drive", "why_not_drive_all"),
        group("boom and bucket", "permission_work", "why_not_work", "why_not_work_all"),
        group("auxiliary", "permission_auxiliary", "why_not_auxiliary", "why_not_auxiliary_all"),
    ];
    const PATH: Option<PathColumns> = Some(PathColumns {
        x: "true_x",
        y: "true_y",
        yaw: "true_yaw",
        footprint: Footprint { length: plant::LENGTH_M, width: plant::WIDTH_M, ahead: plant::BUCKET_EDGE_M },
    });

    fn plots() -> Vec<PlotGroup> {
        plots::plots()
    }

    fn comparisons() -> Result<Vec<Comparison>, ComparisonError> {
        comparisons::comparisons()
    }
}

const PORTS: &[(&str, &str)] = &{
    let mut ports = [("", ""); loader::declaration::inputs::PORTS.len()];
    let mut place = 0;
    while place < ports.len() {
        let port = &loader::declaration::inputs::PORTS[place];
        ports[place] = (port.pin, port.doc);
        place += 1;
    }
    ports
};

fn main() -> ExitCode {
    trunnion_desk::command_line::main::<LoaderBench>()
}
