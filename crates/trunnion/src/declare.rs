//! Declarations: each signal, parameter and fault of a machine is one row, written once.
//!
//! | macro | gives |
//! |---|---|
//! | [`signals!`](crate::signals) | a struct of typed fields with its safe value, an enum of their places, access by index, wiring list |
//! | [`parameters!`](crate::parameters) | a set that is always inside its rules, typed getters, staged writes, sheet |
//! | [`faults!`](crate::faults) | an enum, its SPN/FMI, times, latches, reactions and lamp codes, list |
//! | [`choices!`](crate::choices) | an enum whose names traces and parameters show |

mod faults;
mod field;
mod parameters;
mod signals;
mod wire;

pub use faults::{
    FaultBits, FaultConditions, FaultInfo, FaultRule, FaultSet, Latch, Reactions, first_repeated_code,
};
pub use field::{Field, is_word};
pub use parameters::{Access, ParameterInfo, ParameterSet, Refusal, Rule, first_wrong_row, place_of};
pub use signals::{FieldInfo, Record, extend};
pub use wire::{Failure, Wire};
