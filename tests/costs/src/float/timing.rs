//! Twins of the room `timing`.
