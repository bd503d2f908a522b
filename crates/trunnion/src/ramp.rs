//! How fast a command may change.
