//! Blocks of the room `guard`.
