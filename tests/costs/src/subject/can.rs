//! The parts of the CAN crate that the loader has, with its own filters and timing.

pub mod engine_frame;
pub mod foreign_frame;
pub mod iso_tp;
pub mod lever_frame;
pub mod lever_silence;
pub mod network;
pub mod reader;
