//! From a position to an intent.
//!
//! | block | takes | gives |
//! |---|---|---|
//! | [`AxisCalibration`] | signal of a lever | its position, by its own ends and centre |
//! | [`Axis`] | lever position | intent: deadband, rescale, progression |
//! | [`ResponseCurve`] | deflection | intent, by the points of a curve |
//! | [`Neutral`] | lever position | whether it is released |
//! | [`assign`] | four intents and the pattern | which function each lever works |

mod axis;
mod calibration;
mod neutral;
mod pattern;
mod response_curve;

pub use axis::{Axis, AxisConfig, AxisConfigError};
pub use calibration::{AxisCalibration, AxisCalibrationConfig, AxisCalibrationConfigError};
pub use neutral::{Neutral, NeutralConfig, NeutralConfigError};
pub use pattern::{Intent, LeverPattern, assign};
pub use response_curve::{ResponseCurve, ResponseCurveError, ResponsePoint};
