//! Variable-displacement pump of a closed loop: coils → swash plate → flow, and its torque on the engine.

use super::coil_map::{CoilMap, CoilResponse};
use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::units::{m3_rad_from_cm3_rev, pa_from_bar, rad_s_from_rpm};
use super::within::Within;

/// A pump's data sheet.
///
/// Typical for one side of a 3.6 t skid steer (engineering judgement): 45 cm³, 0.08 s, 0.95, 0.92 at
/// 2600 rpm and 250 bar, control from 8 to 14 bar, ratio 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PumpConfig {
    /// Displacement at full swash, 1 to 1000 cm³/rev.
    pub displacement_cm3: f64,
    /// Pump speed over engine speed, 0.1 to 10.
    pub speed_ratio: f64,
    /// Coil that strokes the pump forward.
    pub forward: CoilMap,
    /// Coil that strokes the pump in reverse.
    pub reverse: CoilMap,
    /// Time constant of the swash plate, 0.001 to 10 s.
    pub swash_time_s: f64,
    /// ηv at full swash, rated speed and pressure, 0.5 to 1.
    pub volumetric_efficiency: f64,
    /// ηhm, 0.5 to 1.
    pub hydromechanical_efficiency: f64,
    /// Pump speed at which ηv is stated, 100 to 10 000 rpm.
    pub rated_rpm: f64,
    /// Pressure difference at which ηv is stated, 1 to 1000 bar.
    pub rated_bar: f64,
    /// Charge pressure at which the control piston begins to overcome the centring springs, 0 to 100 bar.
    pub control_start_bar: f64,
    /// Charge pressure that holds full swash, above the start, at most 100 bar.
    pub control_full_bar: f64,
}

/// What acts on a pump's control during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PumpControl {
    /// Current of the forward coil, A.
    pub forward_a: f64,
    /// Current of the reverse coil, A.
    pub reverse_a: f64,
    /// Charge pressure, bar.
    pub charge_bar: f64,
}

/// How a pump fails.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum PumpFault {
    /// It does not.
    #[default]
    None,
    /// The swash plate stays where it is.
    SwashStuck,
    /// The centring springs or feedback linkage hold this stroke (−1 to 1), whatever the coils say.
    SwashForced(f64),
}

/// A pump: Q = α·V·n, less a laminar leak that the line counts; M = α·V·Δp/ηhm.
///
/// Definitions of ηv and ηhm as in ISO 4391 (any fluid-power handbook). ηv is turned into a leak
/// G = (1 − ηv)·V·n/Δp at the rated point, which is also right at standstill, in reverse and overrun.
/// Driven by the oil (overrun), the pump returns M = α·V·Δp·ηhm to the engine.
///
/// The stroke follows the difference of the two coils' commands with a first-order lag, and never passes
/// what the charge pressure can hold against the centring springs: no charge pressure, no stroke.
#[derive(Debug, Clone, PartialEq)]
pub struct Pump {
    volume_m3_rad: f64,
    config: PumpConfig,
    leak_m3_s_pa: f64,
    forward: CoilResponse,
    reverse: CoilResponse,
    swash: Lag,
    fault: PumpFault,
}

impl Pump {
    /// A pump at rest in neutral; refuses values outside the ranges of [`PumpConfig`].
    pub fn new(config: PumpConfig) -> Result<Self, PlantConfigError> {
        let check = Check("pump");
        check.range("displacement_cm3", config.displacement_cm3, 1.0, 1000.0)?;
        check.range("speed_ratio", config.speed_ratio, 0.1, 10.0)?;
        check.range("swash_time_s", config.swash_time_s, 0.001, 10.0)?;
        check.range("volumetric_efficiency", config.volumetric_efficiency, 0.5, 1.0)?;
        check.range("hydromechanical_efficiency", config.hydromechanical_efficiency, 0.5, 1.0)?;
        check.range("rated_rpm", config.rated_rpm, 100.0, 10_000.0)?;
        check.range("rated_bar", config.rated_bar, 1.0, 1000.0)?;
        check.range("control_start_bar", config.control_start_bar, 0.0, 100.0)?;
        check.range("control_full_bar", config.control_full_bar, 0.0, 100.0)?;
        check.above(
            ("control_full_bar", config.control_full_bar),
            ("control_start_bar", config.control_start_bar),
        )?;
        let volume_m3_rad = m3_rad_from_cm3_rev(config.displacement_cm3);
        let rated_flow = volume_m3_rad * rad_s_from_rpm(config.rated_rpm);
        Ok(Pump {
            volume_m3_rad,
            config,
            leak_m3_s_pa: (1.0 - config.volumetric_efficiency) * rated_flow / pa_from_bar(config.rated_bar),
            forward: CoilResponse::new("pump forward coil", config.forward)?,
            reverse: CoilResponse::new("pump reverse coil", config.reverse)?,
            swash: Lag::new(config.swash_time_s, 0.0)?,
            fault: PumpFault::None,
        })
    }

    /// Moves the swash plate for `dt_s` seconds.
    pub fn step(&mut self, dt_s: f64, control: PumpControl) {
        let asked = self.forward.step(control.forward_a) - self.reverse.step(control.reverse_a);
        let PumpConfig { control_start_bar: start, control_full_bar: full, .. } = self.config;
        let held = ((control.charge_bar - start) / (full - start)).within(0.0, 1.0);
        match self.fault {
            PumpFault::None => self.swash.step(dt_s, asked.within(-held, held)),
            PumpFault::SwashStuck => self.swash.value(),
            PumpFault::SwashForced(stroke) => self.swash.step(dt_s, stroke.within(-1.0, 1.0)),
        };
    }

    /// Breaks or mends the pump.
    pub fn set_fault(&mut self, fault: PumpFault) {
        self.fault = fault;
    }

    /// Stroke, −1 (full reverse) to 1 (full forward).
    pub fn stroke(&self) -> f64 {
        self.swash.value()
    }

    /// Ideal flow into the forward side of the loop, m³/s, at an engine speed in rad/s.
    pub fn flow_m3_s(&self, engine_rad_s: f64) -> f64 {
        self.stroke() * self.volume_m3_rad * engine_rad_s * self.config.speed_ratio
    }

    /// Leak across the loop, m³/s per Pa of pressure difference.
    pub fn leak_m3_s_pa(&self) -> f64 {
        self.leak_m3_s_pa
    }

    /// Torque that the pump takes from the engine (negative in overrun), N·m at the engine's shaft.
    ///
    /// `difference_pa` is forward side less reverse side.
    pub fn torque_nm(&self, engine_rad_s: f64, difference_pa: f64) -> f64 {
        let ideal = self.stroke() * self.volume_m3_rad * difference_pa;
        let efficiency = self.config.hydromechanical_efficiency;
        let real = if ideal * engine_rad_s >= 0.0 { ideal / efficiency } else { ideal * efficiency };
        real * self.config.speed_ratio
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::units::l_min_from_m3_s;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const COIL: CoilMap = CoilMap { threshold_a: 0.35, end_a: 0.75, hysteresis_a: 0.02 };
    const CONFIG: PumpConfig = PumpConfig {
        displacement_cm3: 45.0,
        speed_ratio: 1.0,
        forward: COIL,
        reverse: COIL,
        swash_time_s: 0.08,
        volumetric_efficiency: 0.95,
        hydromechanical_efficiency: 0.92,
        rated_rpm: 2600.0,
        rated_bar: 250.0,
        control_start_bar: 8.0,
        control_full_bar: 14.0,
    };
    const FULL_AHEAD: PumpControl = PumpControl { forward_a: 1.0, reverse_a: 0.0, charge_bar: 22.0 };

    fn stroked(control: PumpControl) -> Pump {
        let mut pump = Pump::new(CONFIG).unwrap();
        for _ in 0..100_000 {
            pump.step(1e-4, control);
        }
        pump
    }

    #[test]
    fn flow_and_torque_at_the_rated_point_are_the_handbook_values() {
        // Q = V·n·ηv/1000 = 111.15 L/min, M = V·Δp/(20π·ηhm) = 194.62 N·m (ISO 4391 definitions).
        let pump = stroked(FULL_AHEAD);
        let engine = rad_s_from_rpm(2600.0);
        let difference = pa_from_bar(250.0);
        let flow = pump.flow_m3_s(engine) - pump.leak_m3_s_pa() * difference;
        assert_relative_eq!(l_min_from_m3_s(flow), 111.15, epsilon = 1e-6);
        assert_relative_eq!(pump.torque_nm(engine, difference), 194.62, epsilon = 5e-3);
    }

    #[test]
    fn a_published_pump_example_comes_out_in_gallons() {
        // Sullivan, Fluid Power: Theory and Applications, 4th ed., ch. 9: 0.55 in³ × 3400 rpm = 8.095 gpm.
        let displacement_cm3 = 0.55 * 16.387_064;
        let mut pump =
            Pump::new(PumpConfig { displacement_cm3, volumetric_efficiency: 1.0, ..CONFIG }).unwrap();
        for _ in 0..1000 {
            pump.step(0.01, FULL_AHEAD);
        }
        let gallons = l_min_from_m3_s(pump.flow_m3_s(rad_s_from_rpm(3400.0))) / 3.785_411_784;
        assert_relative_eq!(gallons, 8.095, epsilon = 1e-3);
    }

    #[test]
    fn the_stroke_follows_a_current_step_as_a_first_order_lag() {
        let mut pump = Pump::new(CONFIG).unwrap();
        for _ in 0..800 {
            pump.step(1e-4, FULL_AHEAD);
        }
        assert_relative_eq!(pump.stroke(), 1.0 - libm::exp(-1.0), epsilon = 1e-9);
    }

    #[test]
    fn without_charge_pressure_the_springs_bring_the_swash_to_zero() {
        let mut pump = stroked(FULL_AHEAD);
        for _ in 0..10_000 {
            pump.step(1e-4, PumpControl { charge_bar: 0.0, ..FULL_AHEAD });
        }
        assert!(pump.stroke().abs() < 1e-5, "{}", pump.stroke());
        let half_held = stroked(PumpControl { charge_bar: 11.0, ..FULL_AHEAD });
        assert_relative_eq!(half_held.stroke(), 0.5, epsilon = 1e-9);
    }

    #[test]
    fn a_stuck_swash_keeps_its_stroke_and_a_forced_one_takes_its_own() {
        let mut pump = stroked(FULL_AHEAD);
        pump.set_fault(PumpFault::SwashStuck);
        for _ in 0..10_000 {
            pump.step(1e-4, PumpControl { forward_a: 0.0, reverse_a: 0.0, charge_bar: 0.0 });
        }
        assert_relative_eq!(pump.stroke(), 1.0, epsilon = 1e-9);
        pump.set_fault(PumpFault::SwashForced(-0.25));
        for _ in 0..20_000 {
            pump.step(1e-4, PumpControl { forward_a: 0.0, reverse_a: 0.0, charge_bar: 22.0 });
        }
        assert_relative_eq!(pump.stroke(), -0.25, epsilon = 1e-9);
    }

    #[test]
    fn overrun_gives_back_less_than_pumping_takes() {
        let pump = stroked(FULL_AHEAD);
        let (engine, difference) = (200.0, pa_from_bar(100.0));
        assert!(pump.torque_nm(engine, difference) > -pump.torque_nm(engine, -difference));
        assert!(pump.torque_nm(engine, -difference) < 0.0);
    }

    proptest! {
        #[test]
        fn forward_and_reverse_are_mirror_images_and_the_stroke_is_bounded(
            steps in proptest::collection::vec((-1.0f64..5.0, -1.0f64..5.0, -5.0f64..60.0), 1..60)
        ) {
            let mut pump = Pump::new(CONFIG).unwrap();
            let mut mirror = Pump::new(CONFIG).unwrap();
            for (forward_a, reverse_a, charge_bar) in steps {
                pump.step(1e-3, PumpControl { forward_a, reverse_a, charge_bar });
                mirror.step(1e-3, PumpControl { forward_a: reverse_a, reverse_a: forward_a, charge_bar });
                prop_assert!(pump.stroke().abs() <= 1.0);
                prop_assert_eq!(pump.stroke(), -mirror.stroke());
                prop_assert_eq!(pump.torque_nm(200.0, 1e7), mirror.torque_nm(200.0, -1e7) );
            }
        }
    }
}
