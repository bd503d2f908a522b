//! From a command to a coil current.
