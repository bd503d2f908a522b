//! Open-centre work hydraulics: one gear pump feeds all spools and, past them, the tank.

use super::config_error::{Check, PlantConfigError};
use super::units::{bar_from_pa, m3_rad_from_cm3_rev, m3_s_from_l_min, pa_from_bar};
use super::within::Within;

/// Newton steps at most; each halves the bracket at worst, and the usual need is below ten.
const MOST_ITERATIONS: u32 = 60;

/// The work pump and its main relief valve.
///
/// Typical for a 3.6 t skid steer (engineering judgement): 28 cm³, 0.92, 0.9, 210 bar, 70 L/min at 8 bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpenCentreConfig {
    /// Displacement, 1 to 500 cm³/rev of the engine.
    pub displacement_cm3: f64,
    /// ηv, 0.5 to 1.
    pub volumetric_efficiency: f64,
    /// ηhm, 0.5 to 1.
    pub hydromechanical_efficiency: f64,
    /// Main relief pressure, 10 to 500 bar.
    pub relief_bar: f64,
    /// Flow through the open centre …, 1 to 1000 L/min.
    pub centre_flow_l_min: f64,
    /// … at this pressure, 0.5 to 50 bar.
    pub centre_drop_bar: f64,
}

/// What one function asks of the pump.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Demand {
    /// How far the spool closes the centre, 0 to 1: its stroke.
    pub stroke: f64,
    /// Opening to the function: flow over the root of pressure drop, m³/s/√Pa. Zero when blocked.
    pub opening_m3_s_sqrt_pa: f64,
    /// Pressure that the load needs before anything flows, Pa.
    pub load_pa: f64,
}

impl Demand {
    /// An opening that passes `flow_l_min` at a drop of `drop_bar`, times a share.
    pub fn opening(flow_l_min: f64, drop_bar: f64, share: f64) -> f64 {
        share * m3_s_from_l_min(flow_l_min) / pa_from_bar(drop_bar).sqrt()
    }
}

/// The supply: pump flow = Σ opening·√(P − load) + centre·Π(1 − stroke)·√P, at most the relief pressure.
///
/// Orifice equation with constant coefficient (any fluid-power handbook). Functions are parallel with load
/// check valves: the lightest load gets most, a load above the pump's pressure gets nothing and does not
/// sink. Oil is taken as incompressible here, so there is no state but the last result.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenCentre {
    volume_m3_rad: f64,
    config: OpenCentreConfig,
    relief_pa: f64,
    centre_m3_s_sqrt_pa: f64,
    pressure_pa: f64,
    relief_m3_s: f64,
}

impl OpenCentre {
    /// A supply without pressure; refuses values outside the ranges of [`OpenCentreConfig`].
    pub fn new(config: OpenCentreConfig) -> Result<Self, PlantConfigError> {
        let check = Check("open centre");
        check.range("displacement_cm3", config.displacement_cm3, 1.0, 500.0)?;
        check.range("volumetric_efficiency", config.volumetric_efficiency, 0.5, 1.0)?;
        check.range("hydromechanical_efficiency", config.hydromechanical_efficiency, 0.5, 1.0)?;
        check.range("relief_bar", config.relief_bar, 10.0, 500.0)?;
        check.range("centre_flow_l_min", config.centre_flow_l_min, 1.0, 1000.0)?;
        check.range("centre_drop_bar", config.centre_drop_bar, 0.5, 50.0)?;
        Ok(OpenCentre {
            volume_m3_rad: m3_rad_from_cm3_rev(config.displacement_cm3),
            config,
            relief_pa: pa_from_bar(config.relief_bar),
            centre_m3_s_sqrt_pa: Demand::opening(config.centre_flow_l_min, config.centre_drop_bar, 1.0),
            pressure_pa: 0.0,
            relief_m3_s: 0.0,
        })
    }

    /// Shares the pump's flow at an engine speed in rad/s; returns each function's flow, m³/s.
    pub fn share<const N: usize>(&mut self, engine_rad_s: f64, demands: &[Demand; N]) -> [f64; N] {
        let pumped = self.volume_m3_rad * engine_rad_s.max(0.0) * self.config.volumetric_efficiency;
        let centre = demands
            .iter()
            .fold(self.centre_m3_s_sqrt_pa, |open, demand| open * (1.0 - demand.stroke.within(0.0, 1.0)));
        self.pressure_pa = self.balance(pumped, centre, demands);
        let flows = demands
            .map(|demand| demand.opening_m3_s_sqrt_pa * (self.pressure_pa - demand.load_pa).max(0.0).sqrt());
        let used = flows.iter().sum::<f64>() + centre * self.pressure_pa.sqrt();
        self.relief_m3_s = (pumped - used).max(0.0);
        flows
    }

    /// Pump pressure at the last sharing, bar.
    pub fn pressure_bar(&self) -> f64 {
        bar_from_pa(self.pressure_pa)
    }

    /// Flow through the relief valve at the last sharing, m³/s.
    pub fn relief_m3_s(&self) -> f64 {
        self.relief_m3_s
    }

    /// Torque that the pump takes from the engine, N·m: V·P/ηhm.
    pub fn torque_nm(&self) -> f64 {
        self.volume_m3_rad * self.pressure_pa / self.config.hydromechanical_efficiency
    }

    /// The pressure at which as much flows off as is pumped: Newton's method inside a bracket.
    fn balance(&self, pumped: f64, centre: f64, demands: &[Demand]) -> f64 {
        let flow_and_slope = |pressure: f64| {
            let root = pressure.sqrt();
            let mut flow = centre * root;
            let mut slope = centre / (2.0 * root);
            for demand in demands {
                let drop = pressure - demand.load_pa;
                if drop > 0.0 && demand.opening_m3_s_sqrt_pa > 0.0 {
                    let root = drop.sqrt();
                    flow += demand.opening_m3_s_sqrt_pa * root;
                    slope += demand.opening_m3_s_sqrt_pa / (2.0 * root);
                }
            }
            (flow, slope)
        };
        if pumped <= 0.0 {
            return 0.0;
        }
        let (mut low, mut high) = (0.0, self.relief_pa);
        if flow_and_slope(high).0 <= pumped {
            return high;
        }
        let mut pressure = self.pressure_pa.within(1e3, 0.5 * (low + high));
        for _ in 0..MOST_ITERATIONS {
            let (flow, slope) = flow_and_slope(pressure);
            if (flow - pumped).abs() <= 1e-9 * pumped {
                break;
            }
            if flow > pumped {
                high = pressure;
            } else {
                low = pressure;
            }
            let newton = pressure + (pumped - flow) / slope;
            pressure = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        }
        pressure
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::units::{l_min_from_m3_s, rad_s_from_rpm};
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const CONFIG: OpenCentreConfig = OpenCentreConfig {
        displacement_cm3: 28.0,
        volumetric_efficiency: 0.92,
        hydromechanical_efficiency: 0.9,
        relief_bar: 210.0,
        centre_flow_l_min: 70.0,
        centre_drop_bar: 8.0,
    };

    fn demand(stroke: f64, load_bar: f64) -> Demand {
        Demand {
            stroke,
            opening_m3_s_sqrt_pa: Demand::opening(60.0, 10.0, stroke),
            load_pa: pa_from_bar(load_bar),
        }
    }

    #[test]
    fn with_all_spools_in_the_middle_the_flow_goes_to_tank_at_the_centre_pressure() {
        let mut supply = OpenCentre::new(CONFIG).unwrap();
        let speed = rad_s_from_rpm(70.0 * 1000.0 / 28.0 / 0.92);
        supply.share(speed, &[Demand::default(); 3]);
        assert_relative_eq!(supply.pressure_bar(), 8.0, epsilon = 1e-6);
        assert!(supply.relief_m3_s() < 1e-10);
    }

    #[test]
    fn a_fully_shifted_spool_gets_the_whole_pump_flow_at_load_plus_drop() {
        let mut supply = OpenCentre::new(CONFIG).unwrap();
        let [flow] = supply.share(rad_s_from_rpm(2600.0), &[demand(1.0, 80.0)]);
        let pumped = 28.0 * 2600.0 * 0.92 / 1000.0;
        assert_relative_eq!(l_min_from_m3_s(flow), pumped, epsilon = 1e-3);
        let drop = 10.0 * (pumped / 60.0).powi(2);
        assert_relative_eq!(supply.pressure_bar(), 80.0 + drop, epsilon = 1e-3);
        // M = V·p/(20π·ηhm).
        let torque = 28.0 * supply.pressure_bar() / (62.831_853 * 0.9);
        assert_relative_eq!(supply.torque_nm(), torque, max_relative = 1e-6);
    }

    #[test]
    fn the_lighter_load_starves_the_heavier_one() {
        let mut supply = OpenCentre::new(CONFIG).unwrap();
        let [light, heavy] = supply.share(rad_s_from_rpm(1500.0), &[demand(1.0, 20.0), demand(1.0, 120.0)]);
        assert!(light > 0.0);
        assert_eq!(heavy, 0.0);
    }

    #[test]
    fn a_blocked_function_brings_the_relief_valve_and_its_torque() {
        let mut supply = OpenCentre::new(CONFIG).unwrap();
        let blocked = Demand { stroke: 1.0, ..Demand::default() };
        supply.share(rad_s_from_rpm(2600.0), &[blocked]);
        assert_relative_eq!(supply.pressure_bar(), 210.0, epsilon = 1e-9);
        assert_relative_eq!(l_min_from_m3_s(supply.relief_m3_s()), 28.0 * 2.6 * 0.92, epsilon = 1e-9);
    }

    proptest! {
        #[test]
        fn flow_is_conserved_and_pressure_stays_below_relief(
            rpm in 0.0f64..4000.0,
            strokes in proptest::array::uniform3(0.0f64..=1.0),
            loads in proptest::array::uniform3(0.0f64..400.0),
        ) {
            let mut supply = OpenCentre::new(CONFIG).unwrap();
            let demands = [0, 1, 2].map(|index| demand(strokes[index], loads[index]));
            for _ in 0..3 {
                let flows = supply.share(rad_s_from_rpm(rpm), &demands);
                let pumped = m3_s_from_l_min(28.0 * rpm * 0.92 / 1000.0);
                let centre = strokes.iter().fold(supply.centre_m3_s_sqrt_pa, |open, stroke| open * (1.0 - stroke));
                let through = flows.iter().sum::<f64>()
                    + centre * supply.pressure_pa.sqrt()
                    + supply.relief_m3_s();
                prop_assert!((through - pumped).abs() <= 1e-6 * (pumped + 1e-6), "{through} {pumped}");
                prop_assert!((0.0..=210.0 + 1e-9).contains(&supply.pressure_bar()));
                prop_assert!(flows.iter().all(|&flow| flow >= 0.0));
            }
        }
    }
}
