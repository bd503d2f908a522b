//! Blocks of the room `work`.

pub mod continuous_flow;
pub mod end_cushion;
pub mod float;
pub mod flow_sharing;
pub mod return_to_position;
pub mod spool;
