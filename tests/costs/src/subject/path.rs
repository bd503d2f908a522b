//! Whole paths of a signal, from the lever to the coil.

pub mod propel;
