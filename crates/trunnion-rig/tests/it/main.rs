//! What the rig promises, from outside.

mod bindings;
mod branches;
mod definition;
mod formulas;
mod harness;
mod hoist;
mod runs;
mod scenarios;
