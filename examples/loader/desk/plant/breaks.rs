//! What can break on the Q36: two lever units, bus, supply and stored parameters, and every wire of the declaration in every
//! way of its kind.

use loader::Loader;
use trunnion::declare::Wire;
use trunnion_rig::run::{BreakInfo, Way};
use trunnion_rig::wiring::{BreakTable, breakable};

/// Places among the units.
pub const LEFT_LEVER: u16 = 0;
pub const RIGHT_LEVER: u16 = 1;
pub const MACHINE_BUS: u16 = 2;
pub const CONTROLLER_SUPPLY: u16 = 3;

const fn lever(signal: &'static str, doc: &'static str) -> BreakInfo {
    BreakInfo::wired(signal, doc, Wire::Frame)
}

const UNITS: &[BreakInfo] = &[
    lever("left_lever", "Left lever unit with its plug"),
    lever("right_lever", "Right lever unit with its plug"),
    BreakInfo {
        signal: "machine_bus",
        doc: "Machine bus, X5:1/2, and a unit on it that nobody asked for",
        failures: &[],
        beyond: &[Way::Intermittent, Way::Shorted, Way::Flooding],
    },
    BreakInfo {
        signal: "controller_supply",
        doc: "Controller with its supply, X1:1",
        failures: &[],
        beyond: &[Way::Intermittent, Way::Dip, Way::BrownOut, Way::Reset],
    },
    BreakInfo {
        signal: "parameter_block",
        doc: "Stored parameters",
        failures: &[],
        beyond: &[Way::Damaged, Way::DamagedAtStart],
    },
];

/// Everything that can break.
pub const BREAKS: BreakTable<{ breakable::<Loader>(UNITS) }> = BreakTable::new::<Loader>(UNITS);
