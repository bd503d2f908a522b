//! The blocks on the scale, by room.

/// A block, built from a configuration that is checked when it is compiled.
macro_rules! built {
    ($built:expr) => {
        const {
            match $built {
                Ok(block) => block,
                Err(_) => panic!("the subject's configuration is refused"),
            }
        }
    };
}

pub mod lever;
mod measured;
pub mod propel;
pub mod ramp;
pub mod sense;
pub mod valve;
pub mod work;

use trunnion::quantity::{Millis, Period, Permille};

/// The period of the control loop.
pub const TICK: Period = period(10_000);
/// The period of the coil loop.
pub const COIL_TICK: Period = period(1_000);

const fn period(micros: u32) -> Period {
    match Period::from_micros(micros) {
        Some(period) => period,
        None => panic!("no such period"),
    }
}

const fn millis(millis: u32) -> Millis {
    Millis::from_ticks(millis)
}

const fn permille(permille: i64) -> Permille {
    Permille::saturating(permille)
}
