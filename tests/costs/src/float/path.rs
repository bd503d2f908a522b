//! Twins of the room `path`.

pub mod propel;
