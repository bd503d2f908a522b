//! Twins of the room `sense`.
