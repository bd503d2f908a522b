//! Hydraulic motor of a closed loop, fixed or two-speed.

use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::law::TorqueLaw;
use super::line::PressureLaw;
use super::units::{m3_rad_from_cm3_rev, pa_from_bar, rad_s_from_rpm};

/// What displacements a motor has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MotorSpeeds {
    /// One displacement.
    Single,
    /// A valve reduces the displacement for travel.
    Two {
        /// Displacement in the high range, at least 0.1 of full, below full, cm³/rev.
        reduced_cm3: f64,
        /// Time constant of the shift, 0.001 to 10 s.
        shift_time_s: f64,
    },
}

/// Which displacement the two-speed valve asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SpeedRange {
    /// Full displacement: torque.
    #[default]
    Low,
    /// Reduced displacement: speed.
    High,
}

/// A motor's data sheet.
///
/// Typical for one side of a 3.6 t skid steer (engineering judgement): 65 cm³ and 43 cm³ with 0.15 s,
/// 0.95, 0.93 at 1800 rpm and 250 bar, 10 rpm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotorConfig {
    /// Displacement in the low range, 1 to 5000 cm³/rev.
    pub displacement_cm3: f64,
    /// One displacement or two.
    pub speeds: MotorSpeeds,
    /// ηv at full displacement, rated speed and pressure, 0.5 to 1.
    pub volumetric_efficiency: f64,
    /// ηhm, 0.5 to 1; a gear behind the motor may be counted in.
    pub hydromechanical_efficiency: f64,
    /// Speed at which ηv is stated, 10 to 10 000 rpm.
    pub rated_rpm: f64,
    /// Pressure difference at which ηv is stated, 1 to 1000 bar.
    pub rated_bar: f64,
    /// Speed at which half of the friction acts, 0.1 to 100 rpm: friction fades to zero at standstill.
    pub friction_half_rpm: f64,
}

/// A motor: M = V·Δp·ηhm, n = Q·ηv/V (ISO 4391 definitions, any fluid-power handbook).
///
/// ηv is turned into a laminar leak at the rated point as in the pump. Friction is (1 − ηhm)·V·|Δp|
/// while the motor drives and (1/ηhm − 1)·V·|Δp| while it is driven, times ω/(|ω| + ω½), so that its
/// sign does not jump at standstill. That makes the friction a pure damping of the next step.
#[derive(Debug, Clone, PartialEq)]
pub struct Motor {
    full_m3_rad: f64,
    reduced_m3_rad: f64,
    volume_m3_rad: Lag,
    efficiency: f64,
    half_rad_s: f64,
    leak_m3_s_pa: f64,
}

impl Motor {
    /// A motor in the low range; refuses values outside the ranges of [`MotorConfig`].
    pub fn new(config: MotorConfig) -> Result<Self, PlantConfigError> {
        let check = Check("motor");
        let full = config.displacement_cm3;
        check.range("displacement_cm3", full, 1.0, 5000.0)?;
        check.range("volumetric_efficiency", config.volumetric_efficiency, 0.5, 1.0)?;
        check.range("hydromechanical_efficiency", config.hydromechanical_efficiency, 0.5, 1.0)?;
        check.range("rated_rpm", config.rated_rpm, 10.0, 10_000.0)?;
        check.range("rated_bar", config.rated_bar, 1.0, 1000.0)?;
        check.range("friction_half_rpm", config.friction_half_rpm, 0.1, 100.0)?;
        let (reduced, shift_time_s) = match config.speeds {
            MotorSpeeds::Single => (full, 1.0),
            MotorSpeeds::Two { reduced_cm3, shift_time_s } => {
                check.range("reduced_cm3", reduced_cm3, 0.1 * full, full)?;
                check.range("shift_time_s", shift_time_s, 0.001, 10.0)?;
                (reduced_cm3, shift_time_s)
            }
        };
        let full_m3_rad = m3_rad_from_cm3_rev(full);
        let rated_flow = full_m3_rad * rad_s_from_rpm(config.rated_rpm) / config.volumetric_efficiency;
        Ok(Motor {
            full_m3_rad,
            reduced_m3_rad: m3_rad_from_cm3_rev(reduced),
            volume_m3_rad: Lag::new(shift_time_s, full_m3_rad)?,
            efficiency: config.hydromechanical_efficiency,
            half_rad_s: rad_s_from_rpm(config.friction_half_rpm),
            leak_m3_s_pa: (1.0 - config.volumetric_efficiency) * rated_flow / pa_from_bar(config.rated_bar),
        })
    }

    /// Shifts towards the asked range for `dt_s` seconds. A motor of one displacement has nothing to shift.
    pub fn step(&mut self, dt_s: f64, range: SpeedRange) {
        let target = match range {
            SpeedRange::Low => self.full_m3_rad,
            SpeedRange::High => self.reduced_m3_rad,
        };
        self.volume_m3_rad.step(dt_s, target);
    }

    /// Displacement now, m³/rad.
    pub fn displacement_m3_rad(&self) -> f64 {
        self.volume_m3_rad.value()
    }

    /// Displacement now over full displacement.
    pub fn displacement_share(&self) -> f64 {
        self.volume_m3_rad.value() / self.full_m3_rad
    }

    /// Leak across the loop, m³/s per Pa of pressure difference.
    pub fn leak_m3_s_pa(&self) -> f64 {
        self.leak_m3_s_pa
    }

    /// Shaft torque, N·m, at a pressure difference in Pa and a speed in rad/s.
    pub fn torque_nm(&self, difference_pa: f64, speed_rad_s: f64) -> f64 {
        let ideal = self.displacement_m3_rad() * difference_pa;
        ideal - self.friction_nm_s(ideal, speed_rad_s) * speed_rad_s
    }

    /// The torque law of the next step from the line's pressure law.
    ///
    /// `difference_pa` and `speed_rad_s` are those at the beginning of the step; they size the friction.
    pub fn law(&self, pressure: PressureLaw, difference_pa: f64, speed_rad_s: f64) -> TorqueLaw {
        let volume = self.displacement_m3_rad();
        TorqueLaw {
            torque_nm: volume * pressure.difference_pa,
            damping_nm_s: volume * pressure.drop_pa_s
                + self.friction_nm_s(volume * difference_pa, speed_rad_s),
        }
    }

    /// Friction torque over speed.
    fn friction_nm_s(&self, ideal_nm: f64, speed_rad_s: f64) -> f64 {
        let loss =
            if ideal_nm * speed_rad_s >= 0.0 { 1.0 - self.efficiency } else { 1.0 / self.efficiency - 1.0 };
        loss * ideal_nm.abs() / (speed_rad_s.abs() + self.half_rad_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::units::{m3_s_from_l_min, rpm_from_rad_s};
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const CONFIG: MotorConfig = MotorConfig {
        displacement_cm3: 100.0,
        speeds: MotorSpeeds::Two { reduced_cm3: 66.0, shift_time_s: 0.15 },
        volumetric_efficiency: 0.95,
        hydromechanical_efficiency: 0.93,
        rated_rpm: 1140.0,
        rated_bar: 250.0,
        friction_half_rpm: 1.0,
    };

    #[test]
    fn a_published_motor_comes_out() {
        // 100 cm³ at 250 bar and 120 L/min, ηm 0.93, ηv 0.95 → 398 N·m ideal, 370 actual, 1140 rpm, 44.2 kW
        // (published worked example). Friction fades below the half speed, here by 0.1 %.
        let motor = Motor::new(CONFIG).unwrap();
        let difference = pa_from_bar(250.0);
        let speed =
            (m3_s_from_l_min(120.0) - motor.leak_m3_s_pa() * difference) / motor.displacement_m3_rad();
        let torque = motor.torque_nm(difference, speed);
        assert_relative_eq!(rpm_from_rad_s(speed), 1140.0, epsilon = 1e-9);
        assert_relative_eq!(motor.displacement_m3_rad() * difference, 398.0, epsilon = 0.5);
        assert_relative_eq!(torque, 370.0, epsilon = 0.5);
        assert_relative_eq!(torque * speed / 1000.0, 44.2, epsilon = 0.05);
    }

    #[test]
    fn a_textbook_motor_speed_comes_out() {
        // Sullivan, Fluid Power: Theory and Applications, 4th ed., ch. 9: 28.39 L/min ÷ 0.03281 L/rev = 865.285 rpm.
        let motor = Motor::new(MotorConfig {
            displacement_cm3: 32.81,
            speeds: MotorSpeeds::Single,
            volumetric_efficiency: 1.0,
            ..CONFIG
        })
        .unwrap();
        let speed = m3_s_from_l_min(28.39) / motor.displacement_m3_rad();
        assert_relative_eq!(rpm_from_rad_s(speed), 865.285, epsilon = 1e-3);
        assert_eq!(motor.leak_m3_s_pa(), 0.0);
    }

    #[test]
    fn another_textbook_motor_comes_out() {
        // Esposito, Fluid Power with Applications, ex. 7-2: 5 in³, 1000 psi, 10 gpm → 462 rpm, 795 in·lb, 5.83 hp.
        let motor = Motor::new(MotorConfig {
            displacement_cm3: 5.0 * 16.387_064,
            speeds: MotorSpeeds::Single,
            volumetric_efficiency: 1.0,
            hydromechanical_efficiency: 1.0,
            ..CONFIG
        })
        .unwrap();
        let speed = m3_s_from_l_min(10.0 * 3.785_411_784) / motor.displacement_m3_rad();
        let torque = motor.torque_nm(1000.0 * 6894.757, speed);
        assert_relative_eq!(rpm_from_rad_s(speed), 462.0, epsilon = 0.5);
        assert_relative_eq!(torque / 0.112_984_83, 795.0, epsilon = 1.0);
        assert_relative_eq!(torque * speed / 745.7, 5.83, epsilon = 0.01);
    }

    #[test]
    fn the_shift_to_high_range_is_a_first_order_lag() {
        let mut motor = Motor::new(CONFIG).unwrap();
        for _ in 0..1500 {
            motor.step(1e-4, SpeedRange::High);
        }
        assert_relative_eq!(motor.displacement_share(), 0.66 + 0.34 * libm::exp(-1.0), epsilon = 1e-9);
        for _ in 0..30_000 {
            motor.step(1e-4, SpeedRange::Low);
        }
        assert_relative_eq!(motor.displacement_share(), 1.0, epsilon = 1e-6);
    }

    #[test]
    fn a_reduced_displacement_above_the_full_one_is_refused() {
        let speeds = MotorSpeeds::Two { reduced_cm3: 120.0, shift_time_s: 0.1 };
        let refusal = Motor::new(MotorConfig { speeds, ..CONFIG }).unwrap_err();
        assert_eq!(refusal.to_string(), "motor: reduced_cm3 is 120; choose a value from 10 to 100");
    }

    proptest! {
        #[test]
        fn a_motor_never_gives_more_than_the_oil_brings_and_is_symmetric(
            bar in -400.0f64..400.0, speed in -500.0f64..500.0
        ) {
            let motor = Motor::new(CONFIG).unwrap();
            let difference = pa_from_bar(bar);
            let torque = motor.torque_nm(difference, speed);
            let hydraulic_w = difference * motor.displacement_m3_rad() * speed;
            prop_assert!(torque * speed <= hydraulic_w + 1e-9 * hydraulic_w.abs());
            prop_assert_eq!(motor.torque_nm(-difference, -speed), -torque);
            let law = motor.law(PressureLaw { difference_pa: difference, drop_pa_s: 0.0 }, difference, speed);
            prop_assert!((law.at(speed) - torque).abs() <= 1e-9 * (1.0 + torque.abs()));
            prop_assert!(law.damping_nm_s >= 0.0);
        }
    }
}
