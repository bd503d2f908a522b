//! The roller's control program on a bench, and on its simulated machine.

mod cab;
#[cfg(feature = "desk")]
mod causes;
mod permission;
mod properties;
mod set_up;
#[cfg(feature = "desk")]
mod stories;
