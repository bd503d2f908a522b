//! Basic and Extended Joystick Messages (SAE J1939-71).
//!
//! A field on the wire and what it means are decided here and nowhere else: a position is a position only
//! when its number is one and its flags agree with it.

mod axis;
mod basic;
mod extended;
mod flag;

pub use axis::AxisField;
pub(crate) use basic::BUTTON_PLACES;
pub use basic::BasicJoystick;
pub use extended::ExtendedJoystick;
pub use flag::{ButtonField, FlagField};
