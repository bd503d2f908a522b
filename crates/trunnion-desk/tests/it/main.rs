//! The command line from end to end, on a small machine of its own.

mod barrow;
mod demo;
mod firmware;
mod mistakes;
mod runs;
mod session;
mod sheets;
