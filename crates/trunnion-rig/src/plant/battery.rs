//! Supply: battery with internal resistance, alternator, cranking dip.

use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::within::Within;

/// A battery and an alternator.
///
/// Typical 12 V (engineering judgement): 12.6 V, 6 mΩ with cables, 4 ms, 14.2 V from 800 rpm up to 90 A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatteryConfig {
    /// Voltage without load, 5 to 60 V.
    pub open_circuit_v: f64,
    /// Resistance of battery and cables, 1e-4 to 1 Ω.
    pub internal_resistance_ohm: f64,
    /// Time constant of the terminal voltage, 1e-4 to 1 s.
    pub settling_time_s: f64,
    /// Voltage of the charging alternator, 5 to 70 V.
    pub charging_v: f64,
    /// Engine speed from which it charges, 0 to 5000 rpm.
    pub charging_from_rpm: f64,
    /// Current that it can deliver, 0 to 1000 A.
    pub alternator_a: f64,
}

/// How the supply fails.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum BatteryFault {
    /// It does not.
    #[default]
    None,
    /// A flat battery: this share (0 to 1) of the open-circuit voltage is left.
    Flat(f64),
    /// A corroded terminal adds this resistance, Ω.
    HighResistance(f64),
    /// The alternator does not charge.
    NoCharge,
    /// The voltage is this, V: a bench supply, a jump start from a larger machine, a loss of supply (0).
    Forced(f64),
}

/// Terminal voltage: v = open circuit − R·i, or the alternator's voltage while it carries the load.
#[derive(Debug, Clone, PartialEq)]
pub struct Battery {
    config: BatteryConfig,
    terminal_v: Lag,
    fault: BatteryFault,
}

impl Battery {
    /// A charged battery without load; refuses values outside the ranges of [`BatteryConfig`].
    pub fn new(config: BatteryConfig) -> Result<Self, PlantConfigError> {
        let check = Check("battery");
        check.range("open_circuit_v", config.open_circuit_v, 5.0, 60.0)?;
        check.range("internal_resistance_ohm", config.internal_resistance_ohm, 1e-4, 1.0)?;
        check.range("settling_time_s", config.settling_time_s, 1e-4, 1.0)?;
        check.range("charging_v", config.charging_v, 5.0, 70.0)?;
        check.range("charging_from_rpm", config.charging_from_rpm, 0.0, 5000.0)?;
        check.range("alternator_a", config.alternator_a, 0.0, 1000.0)?;
        Ok(Battery {
            config,
            terminal_v: Lag::new(config.settling_time_s, config.open_circuit_v)?,
            fault: BatteryFault::None,
        })
    }

    /// Loads the supply with a current in ampere for `dt_s` seconds at an engine speed in rpm.
    pub fn step(&mut self, dt_s: f64, load_a: f64, engine_rpm: f64) {
        let BatteryConfig { open_circuit_v, internal_resistance_ohm, charging_v, .. } = self.config;
        let (share, resistance) = match self.fault {
            BatteryFault::Forced(volts) => {
                self.terminal_v.step(dt_s, volts.max(0.0));
                return;
            }
            BatteryFault::Flat(share) => (share.within(0.0, 1.0), internal_resistance_ohm),
            BatteryFault::HighResistance(ohm) => (1.0, internal_resistance_ohm + ohm.max(0.0)),
            BatteryFault::None | BatteryFault::NoCharge => (1.0, internal_resistance_ohm),
        };
        let charges = engine_rpm >= self.config.charging_from_rpm && self.fault != BatteryFault::NoCharge;
        let from_battery = |current: f64| (open_circuit_v * share - resistance * current).max(0.0);
        let target = if charges && load_a <= self.config.alternator_a {
            charging_v
        } else if charges {
            from_battery(load_a - self.config.alternator_a)
        } else {
            from_battery(load_a)
        };
        self.terminal_v.step(dt_s, target);
    }

    /// Breaks or mends the supply.
    pub fn set_fault(&mut self, fault: BatteryFault) {
        self.fault = fault;
    }

    /// Voltage at the terminals, V.
    pub fn terminal_v(&self) -> f64 {
        self.terminal_v.value()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const CONFIG: BatteryConfig = BatteryConfig {
        open_circuit_v: 12.6,
        internal_resistance_ohm: 0.006,
        settling_time_s: 0.004,
        charging_v: 14.2,
        charging_from_rpm: 800.0,
        alternator_a: 90.0,
    };

    fn settled(fault: BatteryFault, load_a: f64, rpm: f64) -> f64 {
        let mut battery = Battery::new(CONFIG).unwrap();
        battery.set_fault(fault);
        for _ in 0..1000 {
            battery.step(1e-3, load_a, rpm);
        }
        battery.terminal_v()
    }

    #[test]
    fn cranking_dips_by_current_times_resistance() {
        assert_relative_eq!(settled(BatteryFault::None, 600.0, 0.0), 9.0, epsilon = 1e-9);
        let mut battery = Battery::new(CONFIG).unwrap();
        for _ in 0..4 {
            battery.step(1e-3, 600.0, 0.0);
        }
        assert_relative_eq!(battery.terminal_v(), 9.0 + 3.6 * libm::exp(-1.0), epsilon = 1e-9);
    }

    #[test]
    fn the_alternator_holds_its_voltage_up_to_its_current() {
        assert_relative_eq!(settled(BatteryFault::None, 50.0, 2000.0), 14.2, epsilon = 1e-9);
        assert_relative_eq!(settled(BatteryFault::None, 190.0, 2000.0), 12.0, epsilon = 1e-9);
        assert_relative_eq!(settled(BatteryFault::NoCharge, 50.0, 2000.0), 12.3, epsilon = 1e-9);
    }

    #[test]
    fn faults_bend_the_voltage_and_it_never_goes_negative() {
        assert_relative_eq!(settled(BatteryFault::Flat(0.5), 100.0, 0.0), 5.7, epsilon = 1e-9);
        assert_relative_eq!(settled(BatteryFault::HighResistance(0.1), 100.0, 0.0), 2.0, epsilon = 1e-9);
        assert_relative_eq!(settled(BatteryFault::Forced(28.0), 0.0, 0.0), 28.0, epsilon = 1e-9);
        let collapsed = settled(BatteryFault::HighResistance(5.0), 1000.0, 0.0);
        assert!((0.0..1e-9).contains(&collapsed), "{collapsed}");
    }

    #[test]
    fn the_starter_loop_over_the_voltage_settles() {
        // A starter draws 900 A at 12 V and standstill: v = 12.6 − 0.006·900·v/12 = 8.69 V.
        let mut battery = Battery::new(CONFIG).unwrap();
        for _ in 0..5000 {
            let load = 900.0 * battery.terminal_v() / 12.0;
            battery.step(1e-4, load, 0.0);
        }
        assert_relative_eq!(battery.terminal_v(), 12.6 / 1.45, epsilon = 1e-9);
    }
}
