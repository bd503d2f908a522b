//! Control blocks for off-highway machines: `no_std`, fixed point, bounded by type.
//!
//! ```text
//!  wiring, bus                                                                       coils, bus
//!      │                                                                                 ▲
//!    sense ──► lever ──► guard ──► propel / work ──► ramp ──► valve ──► last gate (guard) ┘
//!   raw→unit   intent   may it?   who moves how     how fast  current    may it, still?
//!      │          │        ▲            │                        │
//!      └──────────┴────────┴── fault ◄──┴────────────────────────┘
//! ```
//!
//! | room | takes | gives |
//! |---|---|---|
//! | [`quantity`] | – | numbers that cannot leave their range |
//! | [`sense`] | counts, edges, millivolts, levels | a quantity and its health |
//! | [`lever`] | a position | intent |
//! | [`guard`] | intent, health, interlocks | permission, and why not |
//! | [`propel`] | drive and steer intent | left and right command |
//! | [`work`] | intent | spool command |
//! | [`ramp`] | command and motion state | limited command |
//! | [`valve`] | command | coil current, duty |
//! | [`fault`] | conditions | active set, log, lamp |
//! | [`timing`] | levels | delays, edges |
//! | [`hand_over`] | interrupts | what the loop reads |
//! | [`declare`] | rows | signals, parameters, faults |
//! | [`machine`] | the above | a program that is stepped |
//!
//! A block is a checked config, a small private state and four verbs: `new`, `reconfigure`, `reset`, `step`. A lever, through
//! a ramp, to the current of a coil:
//!
//! ```
//! use trunnion::lever::{Axis, AxisConfig};
//! use trunnion::quantity::{Milliamps, Millis, Period, Permille, Ratio};
//! use trunnion::ramp::{RateLimit, RateLimitConfig};
//! use trunnion::valve::{CurrentMap, CurrentMapConfig};
//!
//! let permille = |raw| Permille::new(raw).unwrap();
//! let tick = Period::from_micros(10_000).unwrap();
//! let lever = AxisConfig { deadband: permille(80), saturation: permille(980), progression: permille(300) };
//! let times = RateLimitConfig { rise: Millis::millis(500), fall: Millis::millis(200) };
//! let raise = CurrentMapConfig { threshold: Milliamps::new(240).unwrap(), end: Milliamps::new(640).unwrap() };
//! let (lever, raise) = (Axis::new(lever).unwrap(), CurrentMap::new(raise).unwrap());
//! let mut ramp = RateLimit::new(times, tick).unwrap();
//!
//! let mut current = Milliamps::ZERO;
//! for _ in 0..25 {
//!     current = raise.step(ramp.step(lever.step(Ratio::ONE))); // full lever, a quarter of a second
//! }
//! assert_eq!(current.raw(), 440); // half way from the first to the full movement
//! ```
//!
//! No safety certification is claimed. The machine's risk assessment (ISO 12100, ISO 13849, ISO 19014),
//! local codes and licensed practice decide. Test with the drive wheels off the ground and an emergency stop
//! in reach.
#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::float_arithmetic
    )
)]
#![warn(missing_debug_implementations, clippy::missing_errors_doc)]

#[cfg(test)]
extern crate std;

#[macro_use]
#[cfg(test)]
mod four_verbs;

pub mod declare;
pub mod fault;
pub mod guard;
pub mod hand_over;
pub mod lever;
pub mod machine;
pub mod propel;
pub mod quantity;
pub mod ramp;
pub mod sense;
#[cfg(feature = "snapshot")]
pub mod snapshot;
pub mod timing;
pub mod valve;
pub mod work;

#[doc(hidden)]
#[cfg(feature = "snapshot")]
pub use serde;

/// Implements both ways of a snapshot for a declared type, where the feature `snapshot` asks for it: what is declared in a
/// machine's own package knows nothing of this package's features.
#[doc(hidden)]
#[cfg(feature = "snapshot")]
#[macro_export]
macro_rules! in_snapshot {
    ($name:ident, $write:ident, $read:ident) => {
        impl $crate::serde::Serialize for $name {
            fn serialize<S: $crate::serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                $crate::snapshot::$write(self, serializer)
            }
        }

        impl<'de> $crate::serde::Deserialize<'de> for $name {
            fn deserialize<D: $crate::serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                $crate::snapshot::$read(deserializer)
            }
        }
    };
}

#[doc(hidden)]
#[cfg(not(feature = "snapshot"))]
#[macro_export]
macro_rules! in_snapshot {
    ($($declared:tt)*) => {};
}
