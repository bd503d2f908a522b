//! Decoders, transport and the diagnostic server under any bytes.
//!
//! A target is a function of bytes that panics when something does not hold. Its corpus, in `corpus/TARGET`, is replayed
//! by a plain test. The program mutates it for long: `cargo xtask fuzz` builds it with the counters that the compiler
//! puts at every edge, so that an input which reaches something new is kept and mutated further.
//!
//! The loop is our own, some two hundred lines, for two reasons: the usual engine (libFuzzer) is under a licence that
//! this project does not take (NCSA), and it wants a nightly compiler, while the counters are there in the stable one.

pub mod corpus;
pub mod coverage;
pub mod loops;
pub mod mutate;
pub mod steps;
pub mod targets;
