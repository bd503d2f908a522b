//! Whole paths of a signal, from the lever to the coil.

pub mod loader;
pub mod loader_asked;
pub mod loader_boxed;
pub mod loader_coils;
pub mod loader_flooded;
pub mod propel;
