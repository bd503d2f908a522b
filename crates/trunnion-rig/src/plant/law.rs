//! What a part promises to do during the next step, as a straight line in the speed at its end.
//!
//! Oil columns, tyres and brakes are stiff: solved one after another they would need microsecond steps.
//! Each therefore states a line, the ground adds the lines up and solves for the speeds at the end of
//! the step, and each part then takes its new state from the solved speed (`settle`). This is the
//! linearly implicit Euler method, with each part's own unknown eliminated inside the part. Damping is
//! never negative, so the joined step dissipates whatever the step width.

use core::ops::Add;

/// Torque on a shaft during the next step: `torque_nm − damping_nm_s·ω`, ω being the speed at its end.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TorqueLaw {
    /// Torque if the shaft stood at the end of the step, N·m, positive forward.
    pub torque_nm: f64,
    /// Torque lost per speed, N·m per rad/s, never negative.
    pub damping_nm_s: f64,
}

impl TorqueLaw {
    /// No torque: a shaft that nothing is fitted to.
    pub const NONE: TorqueLaw = TorqueLaw { torque_nm: 0.0, damping_nm_s: 0.0 };

    /// The torque at a speed in rad/s.
    pub fn at(self, speed_rad_s: f64) -> f64 {
        self.torque_nm - self.damping_nm_s * speed_rad_s
    }

    /// The same law seen from behind a reduction: torque × ratio, damping × ratio².
    pub fn behind_reduction(self, ratio: f64) -> TorqueLaw {
        TorqueLaw { torque_nm: self.torque_nm * ratio, damping_nm_s: self.damping_nm_s * ratio * ratio }
    }
}

impl Add for TorqueLaw {
    type Output = TorqueLaw;

    fn add(self, other: TorqueLaw) -> TorqueLaw {
        TorqueLaw {
            torque_nm: self.torque_nm + other.torque_nm,
            damping_nm_s: self.damping_nm_s + other.damping_nm_s,
        }
    }
}

/// Force on the vehicle at a point ahead of its centre of gravity during the next step.
///
/// Along a direction given in the vehicle's frame: `force_n − damping_n_s_m·v`, v being the point's
/// speed along that direction at the end of the step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PushLaw {
    /// Distance of the point ahead of the centre of gravity, m.
    pub ahead_m: f64,
    /// Forward part of the direction (a unit vector).
    pub forward: f64,
    /// Leftward part of the direction.
    pub leftward: f64,
    /// Force if the point stood at the end of the step, N.
    pub force_n: f64,
    /// Force lost per speed, N per m/s, never negative.
    pub damping_n_s_m: f64,
}

impl PushLaw {
    /// Nothing touches the bucket.
    pub const NONE: PushLaw =
        PushLaw { ahead_m: 0.0, forward: 1.0, leftward: 0.0, force_n: 0.0, damping_n_s_m: 0.0 };
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn laws_add_and_reflect_so_that_power_is_kept() {
        let motor = TorqueLaw { torque_nm: 80.0, damping_nm_s: 0.5 };
        let brake = TorqueLaw { torque_nm: -10.0, damping_nm_s: 2.0 };
        assert_relative_eq!((motor + brake).at(4.0), motor.at(4.0) + brake.at(4.0));
        // At a ratio of 12 the wheel turns 12 times slower with 12 times the torque.
        let wheel = motor.behind_reduction(12.0);
        assert_relative_eq!(wheel.at(3.0) * 3.0, motor.at(36.0) * 36.0);
        assert_eq!(TorqueLaw::NONE + motor, motor);
    }
}
