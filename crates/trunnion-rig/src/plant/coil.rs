//! A proportional or on/off coil on a PWM output: resistance, inductance, copper, wiring faults.

use super::config_error::{Check, PlantConfigError};
use super::within::Within;

/// Temperature coefficient of copper's resistance at 20 °C, 1/K (CRC Handbook of Chemistry and Physics).
pub const COPPER_PER_KELVIN: f64 = 0.003_93;

/// A coil and its output stage.
///
/// Typical (engineering judgement): 24 V control coil 20 Ω, 60 mH; 12 V pilot coil 5 Ω, 25 mH; drop 0.7 V,
/// driver and shunt 0.15 Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoilConfig {
    /// Resistance at 20 °C, 0.1 to 1000 Ω.
    pub resistance_20c_ohm: f64,
    /// Inductance, 1e-5 to 10 H; taken as constant, though iron saturates.
    pub inductance_h: f64,
    /// Forward voltage of the freewheeling diode, 0 to 5 V.
    pub freewheel_drop_v: f64,
    /// Resistance of driver, shunt and wires, 0 to 100 Ω.
    pub series_ohm: f64,
}

/// What drives the coil during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoilDrive {
    /// Duty of the output, 0 to 1.
    pub duty: f64,
    /// The switched coil supply, V: zero when the cut-off is open.
    pub supply_v: f64,
    /// The battery before the cut-off, V.
    pub battery_v: f64,
}

/// Faults of a coil and its two wires (high-side driver, coil, shunt to ground).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum CoilFault {
    /// None.
    #[default]
    None,
    /// A wire is off: no current from now on.
    Open,
    /// The driver's wire touches ground: the driver protects itself, the coil runs down, nothing is sensed.
    ShortToGround,
    /// The driver's wire touches another wire of the switched supply: fully on while that is on.
    ShortToSupply,
    /// The driver's wire touches the battery: fully on whatever the cut-off does.
    ShortToBattery,
    /// The return wire touches ground: the coil works, the shunt sees nothing.
    ReturnShortToGround,
    /// A corroded contact adds this resistance, Ω.
    HighResistance(f64),
}

/// A coil: L·di/dt = u − R(T)·i with u averaged over a PWM period, R(T) = R₂₀·(1 + 0.00393·(T − 20 °C)).
///
/// Solved exactly over the step for constant u: i → u/R + (i − u/R)·e^(−R·dt/L). With duty d the mean
/// voltage is d·U − (1 − d)·U_diode; the diode keeps the current at or above zero. Ripple within a PWM
/// period, eddy currents and the moving plunger's back-EMF are left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Coil {
    config: CoilConfig,
    temperature_c: f64,
    fault: CoilFault,
    current_a: f64,
    sensed_a: f64,
    /// Resistance and step width for which `decay` was computed.
    remembered: (f64, f64),
    decay: f64,
}

impl Coil {
    /// A coil at 20 °C without current; refuses values outside the ranges of [`CoilConfig`].
    pub fn new(config: CoilConfig) -> Result<Self, PlantConfigError> {
        let check = Check("coil");
        check.range("resistance_20c_ohm", config.resistance_20c_ohm, 0.1, 1000.0)?;
        check.range("inductance_h", config.inductance_h, 1e-5, 10.0)?;
        check.range("freewheel_drop_v", config.freewheel_drop_v, 0.0, 5.0)?;
        check.range("series_ohm", config.series_ohm, 0.0, 100.0)?;
        Ok(Coil {
            config,
            temperature_c: 20.0,
            fault: CoilFault::None,
            current_a: 0.0,
            sensed_a: 0.0,
            remembered: (0.0, 0.0),
            decay: 1.0,
        })
    }

    /// Drives the coil for `dt_s` seconds.
    pub fn step(&mut self, dt_s: f64, drive: &CoilDrive) {
        let duty = drive.duty.within(0.0, 1.0);
        let average = |supply_v: f64| duty * supply_v.max(0.0) - (1.0 - duty) * self.config.freewheel_drop_v;
        let mean_v = match self.fault {
            CoilFault::Open => {
                self.current_a = 0.0;
                self.sensed_a = 0.0;
                return;
            }
            CoilFault::ShortToGround => -self.config.freewheel_drop_v,
            CoilFault::ShortToSupply => drive.supply_v.max(0.0),
            CoilFault::ShortToBattery => drive.battery_v.max(0.0),
            CoilFault::None | CoilFault::ReturnShortToGround | CoilFault::HighResistance(_) => {
                average(drive.supply_v)
            }
        };
        let resistance = self.resistance_ohm();
        if (resistance, dt_s) != self.remembered {
            self.remembered = (resistance, dt_s);
            self.decay = libm::exp(-resistance * dt_s / self.config.inductance_h);
        }
        let end = mean_v / resistance;
        self.current_a = (end + (self.current_a - end) * self.decay).max(0.0);
        self.sensed_a = match self.fault {
            // Freewheeling runs through the short, past the shunt.
            CoilFault::ShortToGround | CoilFault::ReturnShortToGround => 0.0,
            _ => self.current_a,
        };
    }

    /// Warms or cools the winding, −60 to 250 °C (values beyond are brought to it).
    pub fn set_temperature_c(&mut self, temperature_c: f64) {
        self.temperature_c = temperature_c.within(-60.0, 250.0);
    }

    /// Breaks or mends the coil or its wires.
    pub fn set_fault(&mut self, fault: CoilFault) {
        self.fault = fault;
    }

    /// Current through the winding, A: what moves the valve.
    pub fn current_a(&self) -> f64 {
        self.current_a
    }

    /// Current through the shunt, A: what the controller can see.
    pub fn sensed_a(&self) -> f64 {
        self.sensed_a
    }

    /// Resistance of the circuit now, Ω.
    pub fn resistance_ohm(&self) -> f64 {
        let winding =
            self.config.resistance_20c_ohm * (1.0 + COPPER_PER_KELVIN * (self.temperature_c - 20.0));
        let contact = match self.fault {
            CoilFault::HighResistance(ohm) => ohm.max(0.0),
            _ => 0.0,
        };
        winding + self.config.series_ohm + contact
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const CONFIG: CoilConfig =
        CoilConfig { resistance_20c_ohm: 20.0, inductance_h: 0.06, freewheel_drop_v: 0.0, series_ohm: 0.0 };

    fn on(duty: f64) -> CoilDrive {
        CoilDrive { duty, supply_v: 24.0, battery_v: 24.0 }
    }

    fn settled(fault: CoilFault, drive: CoilDrive) -> Coil {
        let mut coil = Coil::new(CONFIG).unwrap();
        coil.set_fault(fault);
        for _ in 0..200 {
            coil.step(1e-3, &drive);
        }
        coil
    }

    #[test]
    fn ten_milliseconds_at_24_volts_give_the_closed_form_current() {
        // i(t) = U/R·(1 − e^(−tR/L)): 24 V, 20 Ω, 60 mH, 10 ms → 1.1572 A.
        let mut coil = Coil::new(CONFIG).unwrap();
        for _ in 0..10 {
            coil.step(1e-3, &on(1.0));
        }
        assert_relative_eq!(coil.current_a(), 1.1572, epsilon = 5e-5);
    }

    #[test]
    fn a_hot_coil_carries_less_and_a_cold_one_more() {
        // Copper: about −16 % of resistance at −20 °C, +31 % at 100 °C.
        let mut coil = Coil::new(CONFIG).unwrap();
        for (temperature, resistance) in [(-20.0, 16.856), (20.0, 20.0), (100.0, 26.288)] {
            coil.set_temperature_c(temperature);
            assert_relative_eq!(coil.resistance_ohm(), resistance, epsilon = 1e-9);
            for _ in 0..500 {
                coil.step(1e-3, &on(0.5));
            }
            assert_relative_eq!(coil.current_a(), 12.0 / resistance, epsilon = 1e-9);
        }
    }

    #[test]
    fn the_current_decays_through_the_diode_and_stops_at_zero() {
        let mut coil = Coil::new(CoilConfig { freewheel_drop_v: 0.7, ..CONFIG }).unwrap();
        for _ in 0..100 {
            coil.step(1e-3, &on(1.0));
        }
        coil.step(1e-3, &on(0.0));
        let exact = -0.7 / 20.0 + (1.2 + 0.7 / 20.0) * libm::exp(-20.0 * 1e-3 / 0.06);
        assert_relative_eq!(coil.current_a(), exact, epsilon = 1e-9);
        for _ in 0..50 {
            coil.step(1e-3, &on(0.0));
        }
        assert_eq!(coil.current_a(), 0.0);
    }

    #[test]
    fn each_wiring_fault_shows_in_its_own_way() {
        let seen = |fault, drive| {
            let coil = settled(fault, drive);
            (coil.current_a(), coil.sensed_a())
        };
        assert_eq!(seen(CoilFault::Open, on(1.0)), (0.0, 0.0));
        let (current, sensed) = seen(CoilFault::ShortToGround, on(1.0));
        assert!(current < 1e-9 && sensed == 0.0);
        let (current, sensed) = seen(CoilFault::ShortToSupply, on(0.0));
        assert_relative_eq!(current, 1.2, epsilon = 1e-9);
        assert_eq!(current, sensed);
        let (current, sensed) = seen(CoilFault::ReturnShortToGround, on(0.5));
        assert_relative_eq!(current, 0.6, epsilon = 1e-9);
        assert_eq!(sensed, 0.0);
        let (current, _) = seen(CoilFault::HighResistance(20.0), on(1.0));
        assert_relative_eq!(current, 0.6, epsilon = 1e-9);
    }

    #[test]
    fn the_cut_off_ends_a_short_to_the_switched_supply_but_not_one_to_the_battery() {
        let cut = CoilDrive { duty: 0.0, supply_v: 0.0, battery_v: 24.0 };
        assert_eq!(settled(CoilFault::ShortToSupply, cut).current_a(), 0.0);
        assert_relative_eq!(settled(CoilFault::ShortToBattery, cut).current_a(), 1.2, epsilon = 1e-9);
    }

    proptest! {
        #[test]
        fn current_stays_between_zero_and_ohms_law(
            drives in proptest::collection::vec((-1.0f64..2.0, -10.0f64..36.0, 1e-5f64..0.1), 1..60)
        ) {
            let mut coil = Coil::new(CONFIG).unwrap();
            for (duty, supply_v, dt_s) in drives {
                coil.step(dt_s, &CoilDrive { duty, supply_v, battery_v: supply_v });
                prop_assert!((0.0..=36.0 / 20.0).contains(&coil.current_a()));
            }
        }
    }
}
