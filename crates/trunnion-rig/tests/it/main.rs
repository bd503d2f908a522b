//! What the rig promises, from outside.

mod definition;
mod formulas;
