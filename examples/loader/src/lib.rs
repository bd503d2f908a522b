//! Controller of the Tarnbrook Q36, a skid-steer loader of 3.6 t.
//!
//! Machine, maker and drawing Q36-E-100 are inventions of this project. The declaration is in [`declaration`],
//! the control program in [`control`]; both run on a laptop and on the controller.
//!
//! No safety certification is claimed: the machine's risk assessment (ISO 12100, ISO 13849, ISO 19014), local
//! codes and licensed practice decide. Test with the drive wheels off the ground and an emergency stop in reach.
#![cfg_attr(not(feature = "desk"), no_std)]
#![forbid(unsafe_code)]

#[cfg(feature = "desk")]
extern crate self as loader;

#[cfg(all(test, not(feature = "desk")))]
extern crate std;

pub mod control;
pub mod declaration;
#[cfg(feature = "desk")]
#[path = "../desk/mod.rs"]
pub mod desk;
mod machine;
#[cfg(feature = "planted")]
pub mod planted;
#[cfg(not(feature = "planted"))]
mod planted;

pub use machine::{BOX_BYTES, Loader, filters};
