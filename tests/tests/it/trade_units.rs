//! Conversions of the checks' own, so that a wrong one of the project cannot cancel itself out.

use std::f64::consts::PI;

/// rad/s of a speed in revolutions a minute.
pub fn rad_s_from_rpm(rpm: f64) -> f64 {
    rpm / 60.0 * 2.0 * PI
}

/// Revolutions a minute of a speed in rad/s.
pub fn rpm_from_rad_s(rad_s: f64) -> f64 {
    rad_s / (2.0 * PI) * 60.0
}
