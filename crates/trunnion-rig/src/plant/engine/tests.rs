use super::*;
use approx::assert_relative_eq;
use proptest::prelude::*;

const DT: f64 = 1e-4;

fn config() -> EngineConfig {
    EngineConfig {
        idle_rpm: 950.0,
        rated_rpm: 2600.0,
        droop: 0.06,
        torque_curve: TorqueCurve::new(&[(100.0, 120.0), (900.0, 190.0), (1600.0, 230.0), (2600.0, 176.0)])
            .unwrap(),
        drag_standstill_nm: 18.0,
        drag_rated_nm: 32.0,
        inertia_kg_m2: 1.2,
        accessory_torque_nm: 0.0,
        fuel_time_s: 0.08,
        stall_rpm: 500.0,
        firing_rpm: 180.0,
        firing_time_s: 0.3,
        starter: StarterConfig {
            standstill_torque_nm: 160.0,
            free_rpm: 320.0,
            standstill_current_a: 900.0,
            nominal_v: 12.0,
        },
    }
}

fn inputs(key: Key, throttle: f64, load_torque_nm: f64) -> EngineInputs {
    EngineInputs { key, throttle, supply_v: 12.0, load_torque_nm }
}

fn run(engine: &mut Engine, seconds: f64, inputs: &EngineInputs) {
    let mut time = 0.0;
    while time < seconds {
        engine.step(DT, inputs);
        time += DT;
    }
}

fn running() -> Engine {
    let mut engine = Engine::new(config()).unwrap();
    engine.reset_running(950.0);
    engine
}

#[test]
fn no_load_and_full_load_speeds_differ_by_the_droop() {
    // Droop = (NL − FL)/FL: 2600 rpm and 6 % give 2756 rpm without load.
    let mut engine = running();
    run(&mut engine, 30.0, &inputs(Key::Run, 1.0, 0.0));
    assert_relative_eq!(engine.speed_rpm(), 2756.0, epsilon = 0.1);
    run(&mut engine, 30.0, &inputs(Key::Run, 1.0, 176.0));
    assert_relative_eq!(engine.speed_rpm(), 2600.0, epsilon = 0.1);
    run(&mut engine, 30.0, &inputs(Key::Run, 1.0, 88.0));
    assert_relative_eq!(engine.speed_rpm(), 2678.0, epsilon = 0.1);
}

#[test]
fn beyond_full_torque_the_speed_falls_along_the_curve_and_below_stall_the_engine_dies() {
    let mut engine = running();
    run(&mut engine, 10.0, &inputs(Key::Run, 1.0, 0.0));
    run(&mut engine, 20.0, &inputs(Key::Run, 1.0, 203.0));
    // 203 N·m is the full-load torque at 2100 rpm.
    assert_relative_eq!(engine.speed_rpm(), 2100.0, epsilon = 1.0);
    run(&mut engine, 20.0, &inputs(Key::Run, 1.0, 260.0));
    assert_eq!(engine.combustion(), Combustion::Stopped);
    assert_eq!(engine.stalls(), 1);
    assert_eq!(engine.speed_rpm(), 0.0);
    run(&mut engine, 5.0, &inputs(Key::Run, 1.0, 0.0));
    assert_eq!(engine.combustion(), Combustion::Stopped, "only the starter brings it back");
}

#[test]
fn the_starter_brings_it_to_idle_and_a_released_key_does_not() {
    let mut engine = Engine::new(config()).unwrap();
    run(&mut engine, 0.2, &inputs(Key::Start, 0.0, 5.0));
    assert!(engine.starter_current_a() > 100.0);
    assert_eq!(engine.combustion(), Combustion::Stopped);
    let mut released = engine.clone();
    run(&mut released, 10.0, &inputs(Key::Run, 0.0, 5.0));
    assert_eq!(released.speed_rpm(), 0.0);
    run(&mut engine, 3.0, &inputs(Key::Start, 0.0, 5.0));
    run(&mut engine, 10.0, &inputs(Key::Run, 0.0, 0.0));
    assert_eq!(engine.combustion(), Combustion::Running);
    assert_relative_eq!(engine.speed_rpm(), 950.0 * 1.06, epsilon = 0.5);
    assert_eq!(engine.starter_current_a(), 0.0);
}

#[test]
fn a_flat_battery_does_not_start_it() {
    let mut engine = Engine::new(config()).unwrap();
    let weak = EngineInputs { supply_v: 6.0, ..inputs(Key::Start, 0.0, 5.0) };
    run(&mut engine, 20.0, &weak);
    assert_eq!(engine.combustion(), Combustion::Stopped);
    assert!(engine.speed_rpm() < 180.0);
}

#[test]
fn a_cut_key_lets_drag_stop_it_as_the_closed_form_says() {
    // J·dω/dt = −(c₀ + c₁·ω): ω(t) = (ω₀ + c₀/c₁)·e^(−c₁·t/J) − c₀/c₁.
    let mut engine = running();
    let start = engine.speed_rad_s();
    run(&mut engine, 2.0, &inputs(Key::Off, 0.0, 0.0));
    let slope = 14.0 / rad_s_from_rpm(2600.0);
    let exact = (start + 18.0 / slope) * libm::exp(-slope * 2.0 / 1.2) - 18.0 / slope;
    assert_relative_eq!(engine.speed_rad_s(), exact, max_relative = 1e-3);
    assert_eq!(engine.stalls(), 0);
}

#[test]
fn overrunning_pumps_push_it_past_no_load_speed_against_its_drag() {
    let mut engine = running();
    run(&mut engine, 30.0, &inputs(Key::Run, 1.0, -20.0));
    assert!(engine.speed_rpm() > 2756.0);
    let mut pushed = engine.clone();
    run(&mut pushed, 20.0, &inputs(Key::Run, 1.0, -40.0));
    assert!(pushed.speed_rpm() > engine.speed_rpm());
    assert!(pushed.fuel() < 1e-6, "{}", pushed.fuel());
}

#[test]
fn an_idle_above_rated_is_refused() {
    let refusal = Engine::new(EngineConfig { idle_rpm: 2700.0, ..config() }).unwrap_err();
    assert_eq!(refusal.to_string(), "engine: rated_rpm is 2600; it must be above idle_rpm, which is 2700");
}

proptest! {
    #[test]
    fn fuel_and_speed_stay_in_bounds_under_any_treatment(
        steps in proptest::collection::vec((0u8..3, -2.0f64..3.0, -50.0f64..60.0, -2000.0f64..2000.0), 1..40)
    ) {
        let mut engine = running();
        for (key, throttle, supply_v, load_torque_nm) in steps {
            let key = [Key::Off, Key::Run, Key::Start][usize::from(key)];
            let inputs = EngineInputs { key, throttle, supply_v, load_torque_nm };
            for _ in 0..100 {
                engine.step(1e-3, &inputs);
                prop_assert!((0.0..=1.0).contains(&engine.fuel()));
                prop_assert!(engine.speed_rad_s() >= 0.0 && engine.speed_rad_s().is_finite());
                prop_assert!((-1.0..=1.0).contains(&engine.torque_share()));
            }
        }
    }
}
