//! Full-load torque of an engine over its speed.

use super::config_error::{Check, PlantConfigError};
use super::units::rad_s_from_rpm;

/// Most points of a curve.
pub const TORQUE_CURVE_POINTS: usize = 12;

/// Straight lines between points of speed and torque; the end values hold outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TorqueCurve {
    points: [(f64, f64); TORQUE_CURVE_POINTS],
    count: usize,
}

impl TorqueCurve {
    /// A curve through 2 to 12 points (rpm, N·m) of rising speed, speeds 0 to 20 000 rpm, torques 1 to
    /// 100 000 N·m.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, PlantConfigError> {
        if points.len() < 2 || points.len() > TORQUE_CURVE_POINTS {
            return Err(PlantConfigError::Rows {
                component: "torque curve",
                field: "points",
                found: points.len(),
                low: 2,
                high: TORQUE_CURVE_POINTS,
            });
        }
        let check = Check("torque curve");
        let mut curve = TorqueCurve { points: [(0.0, 0.0); TORQUE_CURVE_POINTS], count: points.len() };
        let mut before = -1.0;
        for (slot, &(rpm, torque_nm)) in curve.points.iter_mut().zip(points) {
            check.range("rpm", rpm, 0.0, 20_000.0)?;
            check.above(("rpm", rpm), ("the rpm before it", before))?;
            check.range("torque_nm", torque_nm, 1.0, 100_000.0)?;
            *slot = (rad_s_from_rpm(rpm), torque_nm);
            before = rpm;
        }
        Ok(curve)
    }

    /// Torque, N·m, at a speed in rad/s.
    pub fn torque_nm(&self, speed_rad_s: f64) -> f64 {
        let points = &self.points[..self.count];
        let after = points.iter().position(|&(speed, _)| speed_rad_s < speed).unwrap_or(self.count);
        match (after.checked_sub(1).and_then(|before| points.get(before)), points.get(after)) {
            (Some(&(left, low)), Some(&(right, high))) => {
                low + (high - low) * (speed_rad_s - left) / (right - left)
            }
            (Some(&(_, torque)), None) | (None, Some(&(_, torque))) => torque,
            (None, None) => 0.0,
        }
    }

    /// Largest torque of the curve, N·m.
    pub fn peak_nm(&self) -> f64 {
        self.points[..self.count].iter().fold(0.0, |peak, &(_, torque)| torque.max(peak))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn between_points_the_curve_is_straight_and_outside_it_holds() {
        let curve = TorqueCurve::new(&[(800.0, 150.0), (1600.0, 210.0), (2600.0, 170.0)]).unwrap();
        for (rpm, torque) in [(0.0, 150.0), (800.0, 150.0), (1200.0, 180.0), (1600.0, 210.0), (2100.0, 190.0)]
        {
            assert_relative_eq!(curve.torque_nm(rad_s_from_rpm(rpm)), torque, epsilon = 1e-9);
        }
        assert_eq!(curve.torque_nm(rad_s_from_rpm(9000.0)), 170.0);
        assert_eq!(curve.peak_nm(), 210.0);
    }

    #[test]
    fn a_single_point_and_falling_speeds_are_refused() {
        assert!(matches!(
            TorqueCurve::new(&[(800.0, 150.0)]),
            Err(PlantConfigError::Rows { found: 1, low: 2, high: 12, .. })
        ));
        let refusal = TorqueCurve::new(&[(800.0, 150.0), (800.0, 160.0)]).unwrap_err();
        assert_eq!(
            refusal.to_string(),
            "torque curve: rpm is 800; it must be above the rpm before it, which is 800"
        );
    }
}
