//! Blocks of the room `fault`.
