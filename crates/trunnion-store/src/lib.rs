//! What a controller remembers without power: parameters, fault log, counters.
//!
//! | module | what it holds |
//! |---|---|
//! | [`store`] | records in NOR flash, by key: written whole or not at all, whenever the power goes |
//! | [`parameters`] | a whole parameter set as one record: all or nothing, with the declaration's version |
//! | [`fault_log`] | first, last and count of each fault |
//! | [`counter`] | a number that must not be lost, such as wrong access codes |
//! | `model_flash` (feature) | a flash in the computer's memory, whose power can be cut |
//!
//! Flash is slow and wears, so nothing here belongs into a control step: the machine asks for it through its outputs
//! and hears of the result in its inputs, and only at rest.
//!
//! What is promised, and tested by cutting the power at every flash operation of random sequences:
//! - what was acknowledged is there after the next start;
//! - a record under way is wholly old or wholly new;
//! - a start never fails; damage is told, never silently replaced;
//! - erasing is spread over all pages.
#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::float_arithmetic
    )
)]

#[cfg(any(test, feature = "model-flash"))]
extern crate std;

mod blocking;
pub mod counter;
pub mod fault_log;
pub mod parameters;
pub mod store;

// In no image: a simulation may stop where it was called wrongly.
#[cfg(any(test, feature = "model-flash"))]
#[allow(clippy::arithmetic_side_effects, clippy::indexing_slicing)]
pub mod model_flash;
#[cfg(test)]
mod power_cuts;
