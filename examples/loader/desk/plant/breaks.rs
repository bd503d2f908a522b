//! What can break on the Q36: two lever units, and every wire of the declaration in every way of its kind.

use loader::Loader;
use trunnion::declare::Wire;
use trunnion_rig::run::BreakInfo;
use trunnion_rig::wiring::{BreakTable, breakable};

/// Place of the left lever among the units; the other one is the right lever.
pub const LEFT_LEVER: u16 = 0;

const fn lever(signal: &'static str, doc: &'static str) -> BreakInfo {
    BreakInfo { signal, doc, failures: Wire::Frame.failures() }
}

const UNITS: &[BreakInfo] = &[
    lever("left_lever", "Left lever unit with its plug"),
    lever("right_lever", "Right lever unit with its plug"),
];

/// Everything that can break.
pub const BREAKS: BreakTable<{ breakable::<Loader>(UNITS) }> = BreakTable::new::<Loader>(UNITS);
