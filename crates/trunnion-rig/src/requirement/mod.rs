//! Under construction.

mod expression;
mod parse;
mod print;

pub use expression::*;
