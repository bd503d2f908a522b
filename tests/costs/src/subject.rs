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

/// A block that only running code can build. The configuration is constant and sound, so what follows a refusal is
/// never reached; it must not panic, so that the image proves that nothing does.
macro_rules! started {
    ($built:expr) => {
        match $built {
            Ok(block) => block,
            Err(_) => loop {
                core::hint::spin_loop();
            },
        }
    };
}

pub mod can;
pub mod fault;
pub mod guard;
pub mod lever;
mod lever_frames;
mod loader_on_bus;
mod measured;
pub mod path;
pub mod propel;
pub mod ramp;
mod reading_words;
pub mod sense;
pub mod service;
mod station;
pub mod timing;
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
