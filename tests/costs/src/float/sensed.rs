//! Readings in natural units, and time as `f32` counts it.

use trunnion::sense::{Flaw, Reading};

use crate::scale::WORDS;

/// A period of the control loop in ms: exact, as long as no time is above 2²⁴ ms.
pub const TICK: f32 = 10.0;

/// From the words of a reading: health, then value.
pub fn reading(health: i32, value: f32) -> Reading<f32> {
    match health {
        1 => Reading::Valid(value),
        2 => Reading::Faulted(Flaw::WireBreak),
        3 => Reading::Faulted(Flaw::ShortCircuit),
        4 => Reading::Faulted(Flaw::OutOfRange),
        6 => Reading::Faulted(Flaw::TooFast),
        7 => Reading::Faulted(Flaw::Disagreement),
        8 => Reading::Faulted(Flaw::SensorSupply),
        _ => Reading::Faulted(Flaw::Silent),
    }
}

/// The health as its ordinal, then the value in the unit of its word; two words.
pub fn put(reading: Reading<f32>, unit: f32, into: &mut [f32; WORDS]) -> usize {
    into[0] = f32::from(reading.health() as u8);
    into[1] = reading.or(0.0) * unit;
    2
}

/// A level as a word.
pub fn level(level: bool) -> f32 {
    f32::from(u8::from(level))
}
