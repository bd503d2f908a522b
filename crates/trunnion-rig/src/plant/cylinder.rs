//! Boom and bucket cylinders: flow → movement, loads, end stops, float.

use super::config_error::{Check, PlantConfigError};
use super::open_centre::Demand;
use super::spool::Spool;
use super::units::{bar_from_pa, pa_from_bar};

/// A cylinder (or a pair side by side) and what hangs on it.
///
/// Positive movement extends. Typical boom pair of a 3.6 t skid steer (engineering judgement): 62 and
/// 42 cm², 0.85 m, 35 bar and 0.075 bar/kg, 6 bar, 60 L/min in and 55 L/min out at 10 bar, float 80 L/min.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CylinderConfig {
    /// Piston area on the head side, 1 to 10 000 cm².
    pub head_area_cm2: f64,
    /// Ring area on the rod side, 1 cm² to the head area.
    pub rod_area_cm2: f64,
    /// Stroke, 0.01 to 20 m.
    pub stroke_m: f64,
    /// Head-side pressure that holds the empty load, −500 (load pulls) to 500 bar.
    pub load_bar: f64,
    /// More of it per payload, −1 to 1 bar/kg.
    pub load_bar_per_kg: f64,
    /// Pressure that friction takes in both directions, 0 to 100 bar.
    pub friction_bar: f64,
    /// Flow from the pump at full spool and `valve_drop_bar`, 0.1 to 1000 L/min.
    pub inlet_l_min: f64,
    /// Flow back to tank at full spool and `valve_drop_bar`: it meters overrunning loads. 0.1 to 1000 L/min.
    pub outlet_l_min: f64,
    /// Flow between the ports in float at `valve_drop_bar`, 0.1 to 1000 L/min.
    pub float_l_min: f64,
    /// Drop at which the three flows are stated, 1 to 100 bar.
    pub valve_drop_bar: f64,
}

/// A cylinder between its end stops.
///
/// Against the load it moves as the pump's flow fills it, v = q/A. Along with the load it moves as fast as
/// the outlet lets it, v = K·|spool|·√p_load/A, or as the pump pushes it, whichever is faster: a boom comes
/// down without the engine. In float the load alone moves it. Oil is incompressible and the moved mass has
/// no inertia here (the spool's lag is the slow part), geometry is constant over the stroke (engineering
/// judgement). Float rests on the lower end stop: following the ground is not modelled.
#[derive(Debug, Clone, PartialEq)]
pub struct Cylinder {
    config: CylinderConfig,
    head_m2: f64,
    rod_m2: f64,
    position_m: f64,
    speed_m_s: f64,
    load_pa: f64,
}

impl Cylinder {
    /// A cylinder at a position of 0 (in) to 1 (out); refuses values outside the ranges of [`CylinderConfig`].
    pub fn new(config: CylinderConfig, position: f64) -> Result<Self, PlantConfigError> {
        let check = Check("cylinder");
        check.range("head_area_cm2", config.head_area_cm2, 1.0, 10_000.0)?;
        check.range("rod_area_cm2", config.rod_area_cm2, 1.0, config.head_area_cm2)?;
        check.range("stroke_m", config.stroke_m, 0.01, 20.0)?;
        check.range("load_bar", config.load_bar, -500.0, 500.0)?;
        check.range("load_bar_per_kg", config.load_bar_per_kg, -1.0, 1.0)?;
        check.range("friction_bar", config.friction_bar, 0.0, 100.0)?;
        check.range("inlet_l_min", config.inlet_l_min, 0.1, 1000.0)?;
        check.range("outlet_l_min", config.outlet_l_min, 0.1, 1000.0)?;
        check.range("float_l_min", config.float_l_min, 0.1, 1000.0)?;
        check.range("valve_drop_bar", config.valve_drop_bar, 1.0, 100.0)?;
        check.range("position", position, 0.0, 1.0)?;
        Ok(Cylinder {
            config,
            head_m2: config.head_area_cm2 * 1e-4,
            rod_m2: config.rod_area_cm2 * 1e-4,
            position_m: position * config.stroke_m,
            speed_m_s: 0.0,
            load_pa: pa_from_bar(config.load_bar),
        })
    }

    /// What the cylinder asks of the pump at a spool and a payload in kg.
    pub fn demand(&self, spool: &Spool, payload_kg: f64) -> Demand {
        let position = spool.position();
        if spool.is_floating() {
            return Demand::default();
        }
        let load = self.load_pa_at(payload_kg);
        let friction = pa_from_bar(self.config.friction_bar);
        let (blocked, load_pa) = if position >= 0.0 {
            (self.position_m >= self.config.stroke_m, load.max(0.0) + friction)
        } else {
            (self.position_m <= 0.0, (-load).max(0.0) * self.head_m2 / self.rod_m2 + friction)
        };
        let share = if blocked { 0.0 } else { position.abs() };
        Demand {
            stroke: position.abs(),
            opening_m3_s_sqrt_pa: Demand::opening(self.config.inlet_l_min, self.config.valve_drop_bar, share),
            load_pa,
        }
    }

    /// Moves the piston for `dt_s` seconds with the flow that the supply shared out, m³/s.
    pub fn step(&mut self, dt_s: f64, spool: &Spool, flow_m3_s: f64, payload_kg: f64) {
        self.load_pa = self.load_pa_at(payload_kg);
        let before = self.position_m;
        let speed = if spool.is_floating() {
            -self.sinking_m_s(self.config.float_l_min)
        } else {
            self.driven_m_s(spool.position(), flow_m3_s)
        };
        self.position_m = (before + dt_s * speed).max(0.0).min(self.config.stroke_m);
        self.speed_m_s = (self.position_m - before) / dt_s;
    }

    /// Position, 0 (in) to 1 (out).
    pub fn position(&self) -> f64 {
        self.position_m / self.config.stroke_m
    }

    /// Speed over the last step, m/s, extending positive.
    pub fn speed_m_s(&self) -> f64 {
        self.speed_m_s
    }

    /// Head-side pressure that holds the load, bar.
    pub fn load_bar(&self) -> f64 {
        bar_from_pa(self.load_pa)
    }

    fn load_pa_at(&self, payload_kg: f64) -> f64 {
        pa_from_bar(self.config.load_bar + self.config.load_bar_per_kg * payload_kg.max(0.0))
    }

    fn driven_m_s(&self, position: f64, flow_m3_s: f64) -> f64 {
        let sinking = self.sinking_m_s(self.config.outlet_l_min * position.abs());
        if position >= 0.0 {
            (flow_m3_s / self.head_m2).max(-sinking)
        } else {
            (-flow_m3_s / self.rod_m2).min(-sinking)
        }
    }

    /// Speed at which the load alone drives the piston in (or, pulling, out: negative).
    fn sinking_m_s(&self, flow_l_min: f64) -> f64 {
        // A pulling load stands on the ring area of the rod side.
        let (held_pa, area_m2) = if self.load_pa >= 0.0 {
            (self.load_pa, self.head_m2)
        } else {
            (-self.load_pa * self.head_m2 / self.rod_m2, self.rod_m2)
        };
        let drop_pa = (held_pa - pa_from_bar(self.config.friction_bar)).max(0.0);
        let opening = Demand::opening(flow_l_min, self.config.valve_drop_bar, 1.0);
        (opening * drop_pa.sqrt() / area_m2).copysign(self.load_pa)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::coil_map::CoilMap;
    use crate::plant::open_centre::{OpenCentre, OpenCentreConfig};
    use crate::plant::spool::{FloatStage, SpoolConfig, SpoolCurrents};
    use crate::plant::units::{m3_s_from_l_min, rad_s_from_rpm};
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const BOOM: CylinderConfig = CylinderConfig {
        head_area_cm2: 62.0,
        rod_area_cm2: 42.0,
        stroke_m: 0.85,
        load_bar: 35.0,
        load_bar_per_kg: 0.075,
        friction_bar: 6.0,
        inlet_l_min: 60.0,
        outlet_l_min: 55.0,
        float_l_min: 80.0,
        valve_drop_bar: 10.0,
    };
    const COIL: CoilMap = CoilMap { threshold_a: 0.5, end_a: 1.2, hysteresis_a: 0.04 };

    fn spool(currents: SpoolCurrents) -> Spool {
        let mut spool = Spool::new(SpoolConfig {
            positive: COIL,
            negative: COIL,
            shift_time_s: 0.04,
            float: FloatStage::OwnCoil { engage_a: 0.8, release_a: 0.4 },
        })
        .unwrap();
        for _ in 0..2000 {
            spool.step(1e-3, &currents);
        }
        spool
    }

    fn raised() -> Spool {
        spool(SpoolCurrents { positive_a: 1.4, ..SpoolCurrents::default() })
    }

    fn lowered() -> Spool {
        spool(SpoolCurrents { negative_a: 1.4, ..SpoolCurrents::default() })
    }

    #[test]
    fn against_the_load_the_speed_is_flow_over_area() {
        let mut boom = Cylinder::new(BOOM, 0.2).unwrap();
        boom.step(1e-3, &raised(), m3_s_from_l_min(62.0), 500.0);
        assert_relative_eq!(boom.speed_m_s(), 62.0 / 6.0 / 62.0, max_relative = 1e-9);
        assert_relative_eq!(boom.load_bar(), 72.5, epsilon = 1e-9);
    }

    #[test]
    fn lowering_works_without_the_engine_at_the_metered_speed() {
        let mut boom = Cylinder::new(BOOM, 0.8).unwrap();
        boom.step(1e-3, &lowered(), 0.0, 0.0);
        let metered = 55.0 / 60_000.0 * (29.0_f64 / 10.0).sqrt() / 62e-4;
        assert_relative_eq!(boom.speed_m_s(), -metered, max_relative = 1e-6);
    }

    #[test]
    fn a_neutral_spool_holds_and_float_sinks_to_the_stop() {
        let mut boom = Cylinder::new(BOOM, 0.5).unwrap();
        let neutral = spool(SpoolCurrents::default());
        for _ in 0..5000 {
            boom.step(1e-3, &neutral, 0.0, 800.0);
        }
        assert_eq!(boom.position(), 0.5);
        let float = spool(SpoolCurrents { float_a: 1.0, ..SpoolCurrents::default() });
        assert_eq!(boom.demand(&float, 0.0), Demand::default());
        for _ in 0..10_000 {
            boom.step(1e-3, &float, 0.0, 0.0);
        }
        assert_eq!(boom.position(), 0.0);
        assert_eq!(boom.speed_m_s(), 0.0);
    }

    #[test]
    fn at_an_end_stop_the_function_is_blocked_only_that_way() {
        let boom = Cylinder::new(BOOM, 1.0).unwrap();
        let up = boom.demand(&raised(), 0.0);
        assert_eq!(up.opening_m3_s_sqrt_pa, 0.0);
        assert_relative_eq!(up.stroke, 1.0, epsilon = 1e-9);
        assert!(boom.demand(&lowered(), 0.0).opening_m3_s_sqrt_pa > 0.0);
    }

    #[test]
    fn a_pulling_load_runs_out_by_itself_and_needs_pressure_to_come_back() {
        let bucket = CylinderConfig { load_bar: -40.0, ..BOOM };
        let mut cylinder = Cylinder::new(bucket, 0.5).unwrap();
        cylinder.step(1e-3, &raised(), 0.0, 0.0);
        assert!(cylinder.speed_m_s() > 0.0);
        let back = cylinder.demand(&lowered(), 0.0);
        assert_relative_eq!(bar_from_pa(back.load_pa), 40.0 * 62.0 / 42.0 + 6.0, epsilon = 1e-9);
    }

    #[test]
    fn boom_and_supply_together_lift_in_the_time_that_volume_over_flow_gives() {
        let mut supply = OpenCentre::new(OpenCentreConfig {
            displacement_cm3: 28.0,
            volumetric_efficiency: 0.92,
            hydromechanical_efficiency: 0.9,
            relief_bar: 210.0,
            centre_flow_l_min: 70.0,
            centre_drop_bar: 8.0,
        })
        .unwrap();
        let mut boom = Cylinder::new(BOOM, 0.0).unwrap();
        let spool = raised();
        let mut time = 0.0;
        while boom.position() < 1.0 && time < 20.0 {
            let [flow] = supply.share(rad_s_from_rpm(2600.0), &[boom.demand(&spool, 1000.0)]);
            boom.step(1e-3, &spool, flow, 1000.0);
            time += 1e-3;
        }
        let expected = 62e-4 * 0.85 / m3_s_from_l_min(28.0 * 2.6 * 0.92);
        assert_relative_eq!(time, expected, epsilon = 2e-3);
    }

    proptest! {
        #[test]
        fn the_piston_stays_between_its_stops(
            moves in proptest::collection::vec((-1.0f64..2.0, -1.0f64..2.0, 0.0f64..2.0, 0.0f64..0.01, -10.0f64..3000.0), 1..40),
            load_bar in -100.0f64..100.0
        ) {
            let mut boom = Cylinder::new(CylinderConfig { load_bar, ..BOOM }, 0.5).unwrap();
            let mut valve = spool(SpoolCurrents::default());
            for (positive_a, negative_a, float_a, flow, payload) in moves {
                for _ in 0..50 {
                    valve.step(1e-3, &SpoolCurrents { positive_a, negative_a, float_a });
                    boom.step(1e-3, &valve, flow, payload);
                    prop_assert!((0.0..=1.0).contains(&boom.position()));
                    prop_assert!(boom.speed_m_s().is_finite());
                    prop_assert!(boom.demand(&valve, payload).load_pa >= 0.0);
                }
            }
        }
    }
}
