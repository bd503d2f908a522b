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

/// A block that cannot be built at compile time. A refusal shows on the host, where the tests build every subject; an
/// image must have no panic, and would hang.
macro_rules! assembled {
    ($built:expr) => {
        match $built {
            Ok(block) => block,
            Err(_) => $crate::subject::refused(),
        }
    };
}

pub mod fault;
pub mod guard;
pub mod lever;
pub mod propel;
pub mod ramp;
pub mod sense;
pub mod timing;
pub mod valve;
pub mod work;

use trunnion::quantity::{Centiohms, Milliamps, Millis, Millivolts, Period, Permille, Rpm};

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

fn refused() -> ! {
    #[cfg(not(target_os = "none"))]
    panic!("the subject's configuration is refused");
    #[cfg(target_os = "none")]
    loop {
        core::hint::spin_loop();
    }
}

const fn millis(millis: u32) -> Millis {
    Millis::from_ticks(millis)
}

const fn permille(permille: i64) -> Permille {
    Permille::saturating(permille)
}

const fn milliamps(milliamps: i64) -> Milliamps {
    Milliamps::saturating(milliamps)
}

const fn millivolts(millivolts: i64) -> Millivolts {
    Millivolts::saturating(millivolts)
}

const fn centiohms(centiohms: i64) -> Centiohms {
    Centiohms::saturating(centiohms)
}

const fn rpm(rpm: i32) -> Rpm {
    Rpm::from_whole(rpm)
}
