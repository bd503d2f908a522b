//! What the desk knows of the loader.

use loader::control::Control;
use loader::{BOX_BYTES, Loader};
use trunnion_can::layout::BusRow;
use trunnion_desk::bench::{Bench, FunctionGroup, GuidedMotion, PathColumns, RecordedDrive};
use trunnion_desk::black_box::{BlackBox, Retelling};
use trunnion_desk::comparison::ComparisonError;
use trunnion_desk::function_group;
use trunnion_desk::report::{Comparison, Footprint, PlotGroup};
use trunnion_rig::campaign::Charter;
use trunnion_rig::hunt::Territory;
use trunnion_rig::requirement::Requirement;

use super::{campaign, comparisons, hands, motions, plant, plots, requirements, territory};

/// The Q36 as the desk knows it.
pub struct LoaderBench;

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
    const DRIVES: &'static [RecordedDrive] = &[RecordedDrive {
        name: "yard",
        log: include_str!("../drives/yard.log"),
        wires: include_str!("../drives/yard.scenario"),
    }];
    const DEMO: &'static [&'static str] = &["loading_cycle", "lever_lost_h_pattern", "stall_in_pile"];
    const TERRITORY: Option<Territory> = Some(territory::TERRITORY);
    const CAMPAIGN: Option<Charter> = Some(campaign::CHARTER);
    const BLACK_BOX: Option<BlackBox<Loader>> = Some(BlackBox::of::<Control, BOX_BYTES>());
    const RETELLING: Option<&'static Retelling<Loader>> = Some(&hands::RETELLING);
    const PORTS: &'static [(&'static str, &'static str)] = loader::declaration::inputs::PORTS;
    const MESSAGES: &'static [BusRow] = loader::declaration::MESSAGES;
    const MOTIONS: &'static [GuidedMotion] = motions::MOTIONS;
    const REACTIONS: &'static [&'static str] = &[
        "stops the drive",
        "stops boom and bucket",
        "stops the auxiliary",
        "stops all at once, cuts the coil supply",
        "drive at a reduced share",
    ];
    const GROUPS: &'static [FunctionGroup] = &[
        function_group!("drive", drive),
        function_group!("boom and bucket", work),
        function_group!("auxiliary", auxiliary),
    ];
    const LIMITS: &'static [&'static str] = &[
        "Plane ground of one friction, with a constant slope along the start; no rocks, no ruts, no tipping over.",
        "Loops, pumps and lines in sub-steps of 100 µs; oil temperature acts on leakage only and does not change by itself.",
        "Rigid frame and arms: no structural sway, no hose that bursts, no cavitation.",
        "Bus units send with exact periods; arbitration delays are not modelled, and a flood drowns every higher identifier.",
        "No message that the loader receives has a counter: the fault campaign has no frozen one.",
        "Between -25 and 90 °C of oil, -20 and 100 °C of coils, payloads up to 800 kg, slopes up to 8°: what the hunt varies.",
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
