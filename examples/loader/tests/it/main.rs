//! The loader's control program on a bench, and on its simulated machine.

mod black_box;
mod cab;
#[cfg(feature = "desk")]
mod causes;
#[cfg(feature = "desk")]
mod cells;
#[cfg(feature = "desk")]
mod followers;
#[cfg(feature = "desk")]
mod hunted;
mod permission;
#[cfg(feature = "desk")]
mod previews;
mod properties;
#[cfg(feature = "desk")]
mod replays;
mod rows;
mod set_up;
#[cfg(feature = "desk")]
mod stories;
