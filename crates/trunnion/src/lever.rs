//! From a position to an intent.
//!
//! | block | takes | gives |
//! |---|---|---|
//! | [`Axis`] | lever position | intent: deadband, rescale, progression |
//! | [`Neutral`] | lever position | whether it is released |
//! | [`assign`] | four intents and the pattern | which function each lever works |

mod axis;
mod neutral;
mod pattern;

pub use axis::{Axis, AxisConfig, AxisConfigError};
pub use neutral::{Neutral, NeutralConfig, NeutralConfigError};
pub use pattern::{Intent, LeverPattern, assign};
