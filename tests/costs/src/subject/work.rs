//! Blocks of the room `work`.

pub mod auto_level;
pub mod continuous_flow;
pub mod end_cushion;
pub mod fan_drive;
pub mod float;
pub mod flow_sharing;
pub mod return_to_position;
pub mod spool;
