//! The loader's control program on a bench, and on its simulated machine.

mod black_box;
mod cab;
#[cfg(feature = "desk")]
mod causes;
#[cfg(feature = "desk")]
mod cells;
#[cfg(feature = "desk")]
mod hunted;
mod permission;
mod properties;
#[cfg(feature = "desk")]
mod replays;
mod rows;
mod set_up;
#[cfg(feature = "desk")]
mod stories;

/// The simulated machine and what must hold on it, as the desk program has them.
#[cfg(feature = "desk")]
#[path = "../../desk"]
#[allow(dead_code, unused_imports, reason = "the desk's own sizes are of no use here")]
mod desk {
    pub mod bench;
    mod campaign;
    mod comparisons;
    mod hands;
    mod motions;
    mod plant;
    mod plots;
    mod requirements;
    mod territory;
}
