//! Twins of the room `lever`.
