//! Between the units of data sheets and the SI units of the equations.
//!
//! Configurations and displays use the trade's units (rpm, bar, cm³/rev, L/min). Between components run
//! rad/s, Pa, m³/rad and m³/s, so that no equation hides a factor such as 20π or 600.

use core::f64::consts::TAU;

/// Standard acceleration of free fall, m/s² (3rd CGPM, 1901).
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// rad/s from revolutions per minute.
pub const fn rad_s_from_rpm(rpm: f64) -> f64 {
    rpm * TAU / 60.0
}

/// Revolutions per minute from rad/s.
pub const fn rpm_from_rad_s(rad_s: f64) -> f64 {
    rad_s * 60.0 / TAU
}

/// Pascals from bar.
pub const fn pa_from_bar(bar: f64) -> f64 {
    bar * 1e5
}

/// Bar from pascals.
pub const fn bar_from_pa(pa: f64) -> f64 {
    pa * 1e-5
}

/// m³ per radian from the cm³ per revolution of a pump's or motor's data sheet.
pub const fn m3_rad_from_cm3_rev(cm3_rev: f64) -> f64 {
    cm3_rev * 1e-6 / TAU
}

/// m³/s from litres per minute.
pub const fn m3_s_from_l_min(l_min: f64) -> f64 {
    l_min / 60_000.0
}

/// Litres per minute from m³/s.
pub const fn l_min_from_m3_s(m3_s: f64) -> f64 {
    m3_s * 60_000.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_handbook_formulas_of_a_pump_come_out_in_trade_units() {
        // Any fluid-power handbook (ISO 4391 definitions): Q = V·n·ηv/1000 L/min, M = V·Δp/(20π·ηhm) N·m,
        // P = Q·p/600 kW with cm³, rpm, bar: 45 cm³, 2600 rpm, 0.95, 250 bar, 0.92.
        let displacement = m3_rad_from_cm3_rev(45.0);
        let flow = displacement * rad_s_from_rpm(2600.0) * 0.95;
        assert_relative_eq!(l_min_from_m3_s(flow), 111.15, epsilon = 1e-9);
        assert_relative_eq!(displacement * pa_from_bar(250.0) / 0.92, 194.62, epsilon = 5e-3);
        assert_relative_eq!(flow * pa_from_bar(250.0) / 1000.0, 46.31, epsilon = 5e-3);
    }

    #[test]
    fn conversions_and_their_inverses_meet() {
        for value in [0.0, 1.0, -3.5, 2600.0] {
            assert_relative_eq!(rpm_from_rad_s(rad_s_from_rpm(value)), value, epsilon = 1e-12);
            assert_relative_eq!(bar_from_pa(pa_from_bar(value)), value, epsilon = 1e-12);
            assert_relative_eq!(l_min_from_m3_s(m3_s_from_l_min(value)), value, epsilon = 1e-12);
        }
    }
}
