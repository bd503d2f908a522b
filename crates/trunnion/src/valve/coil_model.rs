//! A coil for tests: resistance and inductance in series, solved exactly over each step.

use crate::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts};

use super::CurrentLoopConfig;

/// R(T) = R₂₀·(1 + 0.00393·(T − 20 °C)) of copper (CRC Handbook).
pub(crate) fn at_temperature(resistance: f64, celsius: f64) -> f64 {
    resistance * (1.0 + 0.00393 * (celsius - 20.0))
}

/// L·di/dt = d·U − R·i, with the current free to decay through the diode but not to turn round.
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct CoilModel {
    /// Ω at the present temperature.
    pub(crate) resistance: f64,
    /// H.
    pub(crate) inductance: f64,
    /// A.
    pub(crate) current: f64,
}

impl CoilModel {
    pub(crate) fn new(resistance: f64, inductance: f64) -> Self {
        Self { resistance, inductance, current: 0.0 }
    }

    /// Runs one millisecond and gives the mean current of it.
    pub(crate) fn run(&mut self, duty: Duty, supply: f64) -> Milliamps {
        let voltage = supply * f64::from(duty.raw()) / 10_000.0;
        let end = voltage / self.resistance;
        let share = 0.001 * self.resistance / self.inductance;
        let from = self.current;
        self.current = end + (from - end) * (-share).exp();
        let mean = end + (from - end) * (1.0 - (-share).exp()) / share;
        Milliamps::saturating((mean * 1000.0).round() as i64)
    }
}

pub(crate) fn milliamps(raw: u16) -> Milliamps {
    Milliamps::new(raw).unwrap()
}

pub(crate) fn millivolts(volts: f64) -> Millivolts {
    Millivolts::saturating((volts * 1000.0).round() as i64)
}

/// A loop for a coil of this resistance at 20 °C (Ω) and inductance (H), tuned as its documentation says.
pub(crate) fn tuned(resistance: f64, inductance: f64) -> CurrentLoopConfig {
    let time_constant = Millis::from_ticks((inductance / resistance * 1000.0).round().max(1.0) as u32);
    let resistance = Centiohms::new((resistance * 100.0).round() as u16).unwrap();
    CurrentLoopConfig {
        resistance,
        time_constant,
        proportional: resistance,
        integral_time: time_constant.max(Millis::from_ticks(6)),
        lowest_supply: Millivolts::new(8_000).unwrap(),
        highest_supply: Millivolts::new(16_000).unwrap(),
        largest: milliamps(2_000),
    }
}
