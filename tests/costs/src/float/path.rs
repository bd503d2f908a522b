//! Twins of the room `path`.
