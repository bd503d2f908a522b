//! The command line from end to end, on a small machine of its own.

mod barrow;
mod comparisons;
mod demo;
mod evidence;
mod firmware;
mod mistakes;
mod preview;
mod runs;
mod served_barrow;
mod session;
mod sheets;
mod unit;
mod written_sets;
