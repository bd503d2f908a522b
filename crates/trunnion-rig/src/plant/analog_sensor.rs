//! Ratiometric sensor: 10 to 90 % of its supply, with wiring faults and drift.

use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::within::Within;

/// Share of the supply at the low end of the range (0.5 V of 5 V).
const LOW_SHARE: f64 = 0.1;

/// Share of the supply at the high end of the range (4.5 V of 5 V).
const HIGH_SHARE: f64 = 0.9;

/// The amplifier's own rails as shares of the supply (0.3 V and 4.7 V of 5 V): beyond its range a healthy
/// sensor stays inside the 0.2 V and 4.8 V that mean a broken wire (engineering judgement).
const RAILS: (f64, f64) = (0.06, 0.94);

/// Share of the supply that only a broken sensor gives.
const BEYOND_SHARE: f64 = 0.98;

/// Where an input's resistor pulls an open wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pull {
    /// To ground.
    Down,
    /// To the sensor supply.
    Up,
}

/// A pressure, temperature or angle sensor.
///
/// Typical charge-pressure sensor (engineering judgement): 0 to 60 bar, 2 ms, pull-down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnalogSensorConfig {
    /// Value at 10 % of the supply, −1e6 to 1e6 in the value's own unit.
    pub low: f64,
    /// Value at 90 %, above the low one, at most 1e6.
    pub high: f64,
    /// Time constant, 1e-5 to 100 s.
    pub time_constant_s: f64,
    /// The input's resistor.
    pub pull: Pull,
}

/// How a sensor or its wire fails.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum SensorFault {
    /// It does not.
    #[default]
    None,
    /// The wire is off: the input's resistor decides.
    Open,
    /// The wire touches ground.
    ShortToGround,
    /// The wire touches the sensor's supply.
    ShortToSupply,
    /// The reading runs away by this share of the range a second, from now on.
    Drift(f64),
    /// The reading is off by this share of the range.
    Offset(f64),
    /// The reading stays.
    Frozen,
    /// The sensor gives what no sound one can: 98 % of its supply.
    Beyond,
}

/// U = supply·(0.1 + 0.8·(value − low)/(high − low)), behind a first-order lag, within the sensor's rails.
///
/// 0.5–4.5 V of 5 V with faults outside 0.2 and 4.8 V: a sensor maker's tutorial (practice).
#[derive(Debug, Clone, PartialEq)]
pub struct AnalogSensor {
    config: AnalogSensorConfig,
    share: Lag,
    fault: SensorFault,
    drifted: f64,
    frozen_share: f64,
    output_mv: f64,
}

impl AnalogSensor {
    /// A sensor that reads the low end, not yet supplied; refuses values outside the ranges of
    /// [`AnalogSensorConfig`].
    pub fn new(config: AnalogSensorConfig) -> Result<Self, PlantConfigError> {
        let check = Check("analog sensor");
        check.range("low", config.low, -1e6, 1e6)?;
        check.range("high", config.high, -1e6, 1e6)?;
        check.above(("high", config.high), ("low", config.low))?;
        check.range("time_constant_s", config.time_constant_s, 1e-5, 100.0)?;
        Ok(AnalogSensor {
            config,
            share: Lag::new(config.time_constant_s, 0.0)?,
            fault: SensorFault::None,
            drifted: 0.0,
            frozen_share: LOW_SHARE,
            output_mv: 0.0,
        })
    }

    /// Measures a value for `dt_s` seconds on a supply in mV.
    pub fn step(&mut self, dt_s: f64, value: f64, supply_mv: f64) {
        let supply_mv = supply_mv.max(0.0);
        let of_range = (value - self.config.low) / (self.config.high - self.config.low);
        let measured = self.share.step(dt_s, of_range.within(-10.0, 10.0));
        let wandered = match self.fault {
            SensorFault::Drift(per_second) => {
                self.drifted += per_second * dt_s;
                self.drifted
            }
            SensorFault::Offset(offset) => offset,
            _ => 0.0,
        };
        if self.fault != SensorFault::Frozen {
            let (lowest, highest) = RAILS;
            let share = LOW_SHARE + (HIGH_SHARE - LOW_SHARE) * (measured + wandered);
            self.frozen_share = share.within(lowest, highest);
        }
        self.output_mv = match (self.fault, self.config.pull) {
            (SensorFault::Open, Pull::Down) | (SensorFault::ShortToGround, _) => 0.0,
            (SensorFault::Open, Pull::Up) | (SensorFault::ShortToSupply, _) => supply_mv,
            (SensorFault::Beyond, _) => BEYOND_SHARE * supply_mv,
            _ => self.frozen_share * supply_mv,
        };
    }

    /// Breaks or mends the sensor or its wire.
    pub fn set_fault(&mut self, fault: SensorFault) {
        self.fault = fault;
        self.drifted = 0.0;
    }

    /// Voltage at the input, mV.
    pub fn output_mv(&self) -> f64 {
        self.output_mv
    }

    /// Voltage at the input in whole mV, rounded half up, at most 65 535.
    pub fn millivolts(&self) -> u16 {
        self.output_mv.round() as u16
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const CONFIG: AnalogSensorConfig =
        AnalogSensorConfig { low: 0.0, high: 60.0, time_constant_s: 0.002, pull: Pull::Down };

    fn settled(config: AnalogSensorConfig, fault: SensorFault, value: f64, supply_mv: f64) -> u16 {
        let mut sensor = AnalogSensor::new(config).unwrap();
        sensor.set_fault(fault);
        for _ in 0..1000 {
            sensor.step(1e-3, value, supply_mv);
        }
        sensor.millivolts()
    }

    #[test]
    fn the_range_maps_to_ten_to_ninety_per_cent_of_the_supply() {
        for (value, supply, millivolts) in
            [(0.0, 5000.0, 500), (60.0, 5000.0, 4500), (30.0, 5000.0, 2500), (30.0, 4800.0, 2400)]
        {
            assert_eq!(settled(CONFIG, SensorFault::None, value, supply), millivolts);
        }
    }

    #[test]
    fn beyond_its_range_a_healthy_sensor_stays_inside_the_wire_fault_bands() {
        assert_eq!(settled(CONFIG, SensorFault::None, 500.0, 5000.0), 4700);
        assert_eq!(settled(CONFIG, SensorFault::None, -500.0, 5000.0), 300);
    }

    #[test]
    fn wiring_faults_leave_the_signal_range() {
        assert_eq!(settled(CONFIG, SensorFault::Open, 30.0, 5000.0), 0);
        let pulled_up = AnalogSensorConfig { pull: Pull::Up, ..CONFIG };
        assert_eq!(settled(pulled_up, SensorFault::Open, 30.0, 5000.0), 5000);
        assert_eq!(settled(CONFIG, SensorFault::ShortToGround, 30.0, 5000.0), 0);
        assert_eq!(settled(CONFIG, SensorFault::ShortToSupply, 30.0, 5000.0), 5000);
    }

    #[test]
    fn drift_offset_and_freeze_bend_the_reading() {
        // A tenth of the range a second for one second: 400 mV.
        assert_eq!(settled(CONFIG, SensorFault::Drift(0.1), 30.0, 5000.0), 2900);
        assert_eq!(settled(CONFIG, SensorFault::Offset(-0.2), 30.0, 5000.0), 1700);
        let mut sensor = AnalogSensor::new(CONFIG).unwrap();
        for _ in 0..1000 {
            sensor.step(1e-3, 30.0, 5000.0);
        }
        sensor.set_fault(SensorFault::Frozen);
        for _ in 0..1000 {
            sensor.step(1e-3, 60.0, 5000.0);
        }
        assert_eq!(sensor.millivolts(), 2500);
    }

    #[test]
    fn a_step_of_the_value_shows_as_a_first_order_lag() {
        let mut sensor = AnalogSensor::new(CONFIG).unwrap();
        sensor.step(2e-3, 60.0, 5000.0);
        assert_relative_eq!(sensor.output_mv(), 500.0 + 4000.0 * (1.0 - libm::exp(-1.0)), epsilon = 1e-9);
    }

    proptest! {
        #[test]
        fn the_output_stays_between_ground_and_supply(
            value in -1e9f64..1e9, supply in -100.0f64..6000.0, drift in -5.0f64..5.0
        ) {
            let mut sensor = AnalogSensor::new(CONFIG).unwrap();
            sensor.set_fault(SensorFault::Drift(drift));
            for _ in 0..100 {
                sensor.step(1e-2, value, supply);
                prop_assert!((0.0..=supply.max(0.0)).contains(&sensor.output_mv()));
            }
        }
    }
}
