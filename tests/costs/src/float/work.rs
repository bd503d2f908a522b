//! Twins of the room `work`.
