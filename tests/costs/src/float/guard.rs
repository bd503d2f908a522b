//! Twins of the room `guard`.
