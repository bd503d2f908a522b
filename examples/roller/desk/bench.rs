//! What the desk knows of the roller.

use roller::Roller;
use trunnion_can::layout::BusRow;
use trunnion_desk::bench::{Bench, FunctionGroup, PathColumns};
use trunnion_desk::function_group;
use trunnion_desk::report::{Footprint, PlotGroup};
use trunnion_rig::requirement::Requirement;

use super::{plant, plots, requirements};

/// The V84 as the desk knows it.
pub struct RollerBench;

impl Bench for RollerBench {
    type Machine = Roller;
    type Plant = plant::RollerPlant;

    const NAME: &'static str = "roller";
    const TITLE: &'static str = "Ambrewell V84 single-drum roller";
    const ABOUT: &'static str = "Controller of an invented single-drum soil compaction roller of 11 t, drawing V84-E-200: its control program against a kinematic machine, on this computer and as firmware in an emulated processor.";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");
    const REQUIREMENTS: &'static [Requirement] = requirements::REQUIREMENTS;
    const HAZARDS: &'static [(&'static str, &'static str)] = requirements::HAZARDS;
    const SCENARIOS: &'static [(&'static str, &'static str)] =
        include!(concat!(env!("OUT_DIR"), "/scenarios.rs"));
    const DEMO: &'static [&'static str] = &["compaction_pass", "seat_change", "lever_wire_broken"];
    const PORTS: &'static [(&'static str, &'static str)] = roller::declaration::inputs::PORTS;
    const MESSAGES: &'static [BusRow] = roller::declaration::MESSAGES;
    const REACTIONS: &'static [&'static str] = &[
        "stops the drive",
        "closes the steering",
        "stops the vibration",
        "stops all at once, cuts the coil supply",
        "stops the drive while the left station commands",
        "closes the steering while the left station commands",
        "stops the drive while the right station commands",
        "closes the steering while the right station commands",
    ];
    const GROUPS: &'static [FunctionGroup] = &[
        function_group!("drive", drive),
        function_group!("steering", steer),
        function_group!("vibration", vibration),
    ];
    const PATH: Option<PathColumns> = Some(PathColumns {
        x: "true_x",
        y: "true_y",
        yaw: "true_yaw",
        footprint: Footprint { length: plant::LENGTH_M, width: plant::WIDTH_M, ahead: plant::FRONT_M },
    });

    fn plots() -> Vec<PlotGroup> {
        plots::plots()
    }
}
