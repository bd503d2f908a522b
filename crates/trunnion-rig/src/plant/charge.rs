//! Charge pump: feeds the closed loops, the pump controls and the park brake.

use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::units::{m3_rad_from_cm3_rev, m3_s_from_l_min, pa_from_bar};
use super::within::Within;

/// A charge pump and its relief valve.
///
/// Typical for a 3.6 t skid steer (engineering judgement): 16 cm³, 0.93, 22 bar, 12 L/min, 0.05 s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChargeConfig {
    /// Displacement, 1 to 200 cm³/rev of the engine.
    pub displacement_cm3: f64,
    /// ηv, 0.5 to 1.
    pub volumetric_efficiency: f64,
    /// Relief pressure, 5 to 60 bar.
    pub relief_bar: f64,
    /// What loops, controls and brake consume at relief pressure, 0.1 to 200 L/min.
    pub consumption_l_min: f64,
    /// Time constant of the pressure, 0.001 to 10 s.
    pub rise_time_s: f64,
}

/// How the charge circuit fails.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ChargeFault {
    /// It does not.
    #[default]
    None,
    /// A burst hose or a clogged suction filter: this share (0 to 1) of the pressure is left.
    Weak(f64),
}

/// The charge circuit: p = relief · min(1, delivered flow / consumption at relief), with a first-order lag.
///
/// Consumers are taken as one laminar leak; the relief valve as ideal (engineering judgement).
#[derive(Debug, Clone, PartialEq)]
pub struct Charge {
    config: ChargeConfig,
    volume_m3_rad: f64,
    pressure_bar: Lag,
    fault: ChargeFault,
}

impl Charge {
    /// A charge circuit without pressure; refuses values outside the ranges of [`ChargeConfig`].
    pub fn new(config: ChargeConfig) -> Result<Self, PlantConfigError> {
        let check = Check("charge");
        check.range("displacement_cm3", config.displacement_cm3, 1.0, 200.0)?;
        check.range("volumetric_efficiency", config.volumetric_efficiency, 0.5, 1.0)?;
        check.range("relief_bar", config.relief_bar, 5.0, 60.0)?;
        check.range("consumption_l_min", config.consumption_l_min, 0.1, 200.0)?;
        check.range("rise_time_s", config.rise_time_s, 0.001, 10.0)?;
        Ok(Charge {
            config,
            volume_m3_rad: m3_rad_from_cm3_rev(config.displacement_cm3),
            pressure_bar: Lag::new(config.rise_time_s, 0.0)?,
            fault: ChargeFault::None,
        })
    }

    /// Builds or loses pressure for `dt_s` seconds at an engine speed in rad/s.
    pub fn step(&mut self, dt_s: f64, engine_rad_s: f64) {
        let delivered = self.volume_m3_rad * engine_rad_s.max(0.0) * self.config.volumetric_efficiency;
        let share = (delivered / m3_s_from_l_min(self.config.consumption_l_min)).min(1.0);
        let left = match self.fault {
            ChargeFault::None => 1.0,
            ChargeFault::Weak(share) => share.within(0.0, 1.0),
        };
        self.pressure_bar.step(dt_s, self.config.relief_bar * share * left);
    }

    /// Breaks or mends the circuit.
    pub fn set_fault(&mut self, fault: ChargeFault) {
        self.fault = fault;
    }

    /// Charge pressure, bar.
    pub fn pressure_bar(&self) -> f64 {
        self.pressure_bar.value()
    }

    /// Torque that the charge pump takes from the engine, N·m.
    pub fn torque_nm(&self) -> f64 {
        self.volume_m3_rad * pa_from_bar(self.pressure_bar())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::units::rad_s_from_rpm;
    use approx::assert_relative_eq;

    const CONFIG: ChargeConfig = ChargeConfig {
        displacement_cm3: 16.0,
        volumetric_efficiency: 0.93,
        relief_bar: 22.0,
        consumption_l_min: 12.0,
        rise_time_s: 0.05,
    };

    fn settled(rpm: f64, fault: ChargeFault) -> Charge {
        let mut charge = Charge::new(CONFIG).unwrap();
        charge.set_fault(fault);
        for _ in 0..10_000 {
            charge.step(1e-3, rad_s_from_rpm(rpm));
        }
        charge
    }

    #[test]
    fn the_relief_valve_bounds_the_pressure_at_working_speed() {
        assert_relative_eq!(settled(2600.0, ChargeFault::None).pressure_bar(), 22.0, epsilon = 1e-9);
    }

    #[test]
    fn below_the_speed_that_feeds_the_consumers_the_pressure_is_in_proportion() {
        // 16 cm³ × 403.2 rpm × 0.93 = 6 L/min: half of what the consumers take at relief pressure.
        let charge = settled(6000.0 / (16.0 * 0.93), ChargeFault::None);
        assert_relative_eq!(charge.pressure_bar(), 11.0, epsilon = 1e-9);
        assert_eq!(settled(0.0, ChargeFault::None).pressure_bar(), 0.0);
    }

    #[test]
    fn a_burst_hose_takes_the_pressure_away_with_the_lag() {
        let mut charge = settled(2600.0, ChargeFault::None);
        charge.set_fault(ChargeFault::Weak(0.0));
        for _ in 0..50 {
            charge.step(1e-3, rad_s_from_rpm(2600.0));
        }
        assert_relative_eq!(charge.pressure_bar(), 22.0 * libm::exp(-1.0), epsilon = 1e-9);
    }

    #[test]
    fn torque_is_displacement_times_pressure() {
        // M = V·p/(20π): 16 cm³ at 22 bar is 5.602 N·m.
        assert_relative_eq!(settled(2600.0, ChargeFault::None).torque_nm(), 5.6023, epsilon = 1e-3);
    }
}
