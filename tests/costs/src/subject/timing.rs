//! Blocks of the room `timing`.
