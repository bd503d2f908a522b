//! Twins of the room `fault`.
