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

/// m³/rad of a displacement in cm³ a revolution.
pub fn m3_rad_from_cm3(cm3: f64) -> f64 {
    cm3 / 1e6 / (2.0 * PI)
}

/// m³/s of a flow in litres a minute.
pub fn m3_s_from_l_min(l_min: f64) -> f64 {
    l_min / 1000.0 / 60.0
}

/// Litres a minute of a flow in m³/s.
pub fn l_min_from_m3_s(m3_s: f64) -> f64 {
    m3_s * 1000.0 * 60.0
}

/// A cubic inch in cm³: 2.54³, exact (international inch of 1959).
pub const CUBIC_INCH_CM3: f64 = 16.387_064;
/// A US gallon in litres: 231 cubic inches, exact.
pub const GALLON_L: f64 = 3.785_411_784;
/// A pound-force on a square inch in bar.
pub const PSI_BAR: f64 = 0.068_947_572_931_68;
/// A pound-force at an inch in N·m.
pub const POUND_INCH_NM: f64 = 0.112_984_829_027_6;
/// A mechanical horsepower, 550 ft·lbf/s, in kW.
pub const HORSEPOWER_KW: f64 = 0.745_699_871_582_27;
