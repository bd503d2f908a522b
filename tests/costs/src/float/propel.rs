//! Twins of the room `propel`.
