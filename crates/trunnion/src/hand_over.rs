//! From interrupts to the loop, without a lost or torn value.
//!
//! | what | carries | when the loop is late |
//! |---|---|---|
//! | [`PulseCell`] | edges and last stamp of a pulse input | nothing is lost: counters run freely |
//! | [`FrameCell`] | the latest of one declared message | older ones are replaced, and counted |
//! | [`FrameQueue`] | every frame of a service or transport protocol | the newest are refused, and counted |
//!
//! Each is a `static` with an interrupt's side and a loop's side; every access is one short critical section,
//! so that a value is seen whole or not yet. An interrupt never shares the machine itself.

mod frame_cell;
mod frame_queue;
mod pulse_cell;

pub use frame_cell::{FrameCell, Latest};
pub use frame_queue::FrameQueue;
pub use pulse_cell::{PulseCell, Pulses};
