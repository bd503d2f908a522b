//! What every user of the crate may rely on, seen from outside.

mod errors;
mod macros;
