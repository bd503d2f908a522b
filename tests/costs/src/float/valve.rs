//! Twins of the room `valve`.
