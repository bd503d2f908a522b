//! What a machine tells the desk about itself; everything else follows from its declaration.

use std::path::Path;

use trunnion::machine::{Boot, Machine};
use trunnion_can::layout::BusRow;
use trunnion_rig::campaign::Charter;
use trunnion_rig::hunt::Territory;
use trunnion_rig::requirement::Requirement;
use trunnion_rig::run::Plant;
use trunnion_service::level::Level;
use trunnion_service::served::Needs;

use crate::black_box::{BlackBox, Retelling};
use crate::comparison::ComparisonError;
use crate::lock_step::Board;
use crate::report::{Comparison, Footprint, PlotGroup};
use crate::virtual_controller::{VirtualController, VirtualControllerError};

/// A machine on its plant, with its scenarios and how its runs are drawn.
///
/// A machine's desk program implements this once and calls [`command_line::main`](crate::command_line::main).
/// Names of columns are checked when they are first used: a wrong one is told with the columns that there are.
pub trait Bench {
    /// The control program.
    type Machine: Machine + 'static;
    /// What it is tried on.
    type Plant: Plant<Self::Machine>;

    /// Name of the desk program, as it is typed.
    const NAME: &'static str;
    /// What the machine is called on its drawing.
    const TITLE: &'static str;
    /// A sentence or two on the machine.
    const ABOUT: &'static str;
    /// Version of the machine's program: `env!("CARGO_PKG_VERSION")`.
    const VERSION: &'static str;

    /// What must hold in every run.
    const REQUIREMENTS: &'static [Requirement];
    /// The hazards that requirements answer: identifier and text.
    const HAZARDS: &'static [(&'static str, &'static str)];
    /// The scenarios: name as typed, and text.
    const SCENARIOS: &'static [(&'static str, &'static str)];
    /// Drives that were recorded, which a preview takes beside the scenarios.
    const DRIVES: &'static [RecordedDrive] = &[];
    /// Names of the scenarios that the demo shows; the first is the one that its picture shows.
    const DEMO: &'static [&'static str];

    /// What the hunt may try; a machine without it cannot be hunted.
    const TERRITORY: Option<Territory> = None;

    /// What it may be doing when something breaks, and what is expected then; a machine without it has no campaign.
    const CAMPAIGN: Option<Charter> = None;

    /// The black box of this machine; a machine that keeps none has none.
    const BLACK_BOX: Option<BlackBox<Self::Machine>> = None;

    /// How such a box is told as a scenario; a machine without it tells none.
    const RETELLING: Option<&'static Retelling<Self::Machine>> = None;

    /// Connections that carry no single signal: pin and text.
    const PORTS: &'static [(&'static str, &'static str)];
    /// What the bus carries for this controller.
    const MESSAGES: &'static [BusRow] = &[];
    /// Routines and outputs that a tester may drive over the service port.
    const MOTIONS: &'static [GuidedMotion] = &[];
    /// What each reaction bit of the fault list does, from bit 0 on.
    const REACTIONS: &'static [&'static str];
    /// Groups of functions that have a permission of their own.
    const GROUPS: &'static [FunctionGroup];
    /// Where the machine is, if its plant moves in the plane.
    const PATH: Option<PathColumns>;
    /// Where its plant ends: what it does not model, and in which range its numbers hold.
    const LIMITS: &'static [&'static str] = &[];
    /// Cautions of this machine, printed in every report behind the standing ones.
    const CAUTIONS: &'static [&'static str] = &[];

    /// What is drawn of a run; the first group is the picture of the demo.
    fn plots() -> Vec<PlotGroup>;

    /// What is set beside something else in the demo's report.
    fn comparisons() -> Result<Vec<Comparison>, ComparisonError> {
        Ok(Vec::new())
    }

    /// Starts a board with a firmware image, and the machine in it: an emulated one unless a machine says otherwise.
    fn board(
        image: &Path,
        boot: &Boot<<Self::Machine as Machine>::Parameters>,
    ) -> Result<Box<dyn Board<Self::Machine>>, VirtualControllerError> {
        Ok(Box::new(VirtualController::<Self::Machine>::start(image, boot)?))
    }
}

/// A drive that was recorded on the bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RecordedDrive {
    /// What it is called.
    pub name: &'static str,
    /// The log, in the format of `candump -L`, with the controller's start in it.
    pub log: &'static str,
    /// A scenario that tells what the wires brought, from the controller's start on.
    pub wires: &'static str,
}

/// Whether a tester starts something that runs by itself, or holds an output.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MotionKind {
    /// It runs by itself until it is done.
    Routine,
    /// It holds a value.
    Control,
}

/// A routine or an output that a tester may drive, and how a person is led through it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GuidedMotion {
    /// Its identifier.
    pub id: u16,
    /// What is typed to start it.
    pub name: &'static str,
    /// What it is.
    pub kind: MotionKind,
    /// The level that it needs.
    pub level: Level,
    /// What it needs of the machine.
    pub needs: Needs,
    /// What it does.
    pub does: &'static str,
    /// What must be so before it is started, one a line; each is to be confirmed.
    pub before: &'static [&'static str],
}

/// A group of functions with a permission of its own, and the columns that say why it is not given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FunctionGroup {
    /// What the group is called: "drive".
    pub name: &'static str,
    /// Yes/no column of its permission.
    pub permission: &'static str,
    /// Choice column with the first reason why not.
    pub why_not: &'static str,
    /// Column with all reasons, one bit for each choice of `why_not` by its place; without it only the first
    /// reason is told.
    pub all: Option<&'static str>,
}

impl FunctionGroup {
    /// A group whose columns are named as usual: `permission_NAME`, `why_not_NAME`, and `why_not_NAME_all`.
    ///
    /// ```
    /// use trunnion_desk::{bench::FunctionGroup, function_group};
    ///
    /// const DRIVE: FunctionGroup = function_group!("the drive", drive);
    /// assert_eq!(DRIVE.why_not, "why_not_drive");
    /// ```
    pub const fn named(
        name: &'static str,
        permission: &'static str,
        why_not: &'static str,
        all: &'static str,
    ) -> Self {
        Self { name, permission, why_not, all: Some(all) }
    }
}

/// A [`FunctionGroup`] by what it is called and by the end of its columns' names.
#[macro_export]
macro_rules! function_group {
    ($name:literal, $column:ident) => {
        $crate::bench::FunctionGroup::named(
            $name,
            concat!("permission_", stringify!($column)),
            concat!("why_not_", stringify!($column)),
            concat!("why_not_", stringify!($column), "_all"),
        )
    };
}

/// Columns of a machine that moves in the plane, and its outline.
#[derive(Debug, Clone, Copy)]
pub struct PathColumns {
    /// Metres.
    pub x: &'static str,
    /// Metres.
    pub y: &'static str,
    /// Heading, counter-clockwise from x; radians unless the column's unit is °.
    pub yaw: &'static str,
    /// Outline about the point that x and y tell.
    pub footprint: Footprint,
}
