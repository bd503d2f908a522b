//! Blocks of the room `lever`.

pub mod axis;
