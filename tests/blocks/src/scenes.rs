//! One scene a block: the block itself is run, with a configuration as at a machine.

mod fault;
mod guard;
mod lever;
mod propel;
mod ramp;
mod sense;
mod timing;
mod valve;
mod work;

use trunnion::quantity::{Millis, Period, Permille};

use crate::chart::Chart;

/// A picture's place and content.
pub struct Scene {
    /// Module of the core.
    pub room: &'static str,
    /// The block's type.
    pub block: &'static str,
    /// What is seen.
    pub chart: Chart,
}

/// The control period of the scenes.
const TICK: Period = period(10_000);
/// The period of their current loops.
const FAST: Period = period(1_000);

const fn period(micros: u32) -> Period {
    match Period::from_micros(micros) {
        Some(period) => period,
        None => panic!("no period"),
    }
}

fn permille(raw: i16) -> Permille {
    Permille::new(raw).expect("a share")
}

fn millis(raw: u32) -> Millis {
    Millis::from_ticks(raw)
}

/// All scenes.
pub fn all() -> Vec<Scene> {
    let rooms = [
        ("sense", sense::scenes()),
        ("lever", lever::scenes()),
        ("guard", guard::scenes()),
        ("propel", propel::scenes()),
        ("work", work::scenes()),
        ("ramp", ramp::scenes()),
        ("valve", valve::scenes()),
        ("fault", fault::scenes()),
        ("timing", timing::scenes()),
    ];
    rooms
        .into_iter()
        .flat_map(|(room, scenes)| scenes.into_iter().map(move |(block, chart)| Scene { room, block, chart }))
        .collect()
}
