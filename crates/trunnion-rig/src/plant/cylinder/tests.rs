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
