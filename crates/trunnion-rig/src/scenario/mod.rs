//! Under construction.

mod lines;
mod parse;
mod print;
mod story;

pub use story::{Deed, Event, Moment, Scenario, Setting, StatedRequirement, Value};
