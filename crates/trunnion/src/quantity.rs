//! Numbers that cannot be mistaken for one another and cannot leave their range.
//!
//! | type | unit | one step |
//! |---|---|---|
//! | [`Ratio`] | share of full scale | 2⁻³⁰ |
//! | [`Permille`] | ‰ | 1 ‰ |
//! | [`Rpm`] | rpm | 1/8 rpm |
//! | [`Milliamps`] | mA | 1 mA |
//! | [`Microamps`] | mA | 1 µA |
//! | [`Millivolts`] | mV | 1 mV |
//! | [`Kilopascals`] | kPa | 1 kPa |
//! | [`Celsius`] | °C | 0.1 °C |
//! | [`Duty`] | % | 0.01 % |
//! | [`Centiohms`] | Ω | 0.01 Ω |
//! | [`Hertz`] | Hz | 0.001 Hz |
//! | [`SignalPeriod`] | µs | 0.1 µs |
//! | [`Millis`] | ms | 1 ms |
//! | [`Period`] | µs | 1 µs |
//!
//! [`Divisor`] is a whole that stays, of which shares are taken without a division.
//!
//! One rounding rule serves all: to nearest, ties away from zero.

mod divisor;
mod frequency;
mod newtypes;
mod ratio;
mod rounding;
mod time;

pub use divisor::Divisor;
pub use newtypes::{
    Celsius, Centiohms, Duty, Hertz, Kilopascals, Microamps, Milliamps, Millivolts, Permille, Rpm,
    SignalPeriod,
};
pub use ratio::Ratio;
pub(crate) use rounding::{
    SHARE_BITS, floor_quotient, held_product, part, parts, product, quotient, scale_symmetric, shift_nearest,
    shift_symmetric,
};
pub use time::{Millis, Period};
