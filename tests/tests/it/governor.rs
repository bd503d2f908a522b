//! Governor droop: (n_no-load − n_full-load)/n_full-load.
//!
//! Definition as in public manuals of generating sets, which run at 4–6 %; mechanical governors reach about 10 %
//! (from memory).

use approx::assert_relative_eq;
use trunnion_rig::plant::{Engine, EngineConfig, EngineInputs, Key, StarterConfig, TorqueCurve};

const FULL_NM: f64 = 200.0;
const IDLE_RPM: f64 = 950.0;
const RATED_RPM: f64 = 2400.0;

/// An engine with the same torque at every speed, so that half the load is half of what it can.
fn engine(droop: f64) -> Engine {
    Engine::new(EngineConfig {
        idle_rpm: IDLE_RPM,
        rated_rpm: RATED_RPM,
        droop,
        torque_curve: TorqueCurve::new(&[(100.0, FULL_NM), (3000.0, FULL_NM)]).unwrap(),
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
    })
    .unwrap()
}

/// Speed at which an engine comes to rest under a share of its full load, rpm.
fn settled_rpm(droop: f64, throttle: f64, load_share: f64) -> f64 {
    let mut engine = engine(droop);
    engine.reset_running(IDLE_RPM + throttle * (RATED_RPM - IDLE_RPM));
    let load_torque_nm = load_share * FULL_NM;
    for _ in 0..100_000 {
        engine.step(1e-4, &EngineInputs { key: Key::Run, throttle, supply_v: 12.6, load_torque_nm });
    }
    engine.speed_rpm()
}

/// Up to nine tenths of full load: at full load itself the engine has nothing left to come back with from the dip.
#[test]
fn speed_falls_from_no_load_to_full_load_by_the_droop_in_a_straight_line() {
    for droop in [0.04, 0.06, 0.1] {
        for throttle in [0.0, 0.5, 1.0] {
            let full_load_rpm = IDLE_RPM + throttle * (RATED_RPM - IDLE_RPM);
            let speeds = [0.0, 0.45, 0.9].map(|load_share| settled_rpm(droop, throttle, load_share));
            let [no_load, middle, loaded] = speeds;
            // The last tenth on, by the straight line.
            let full_load = no_load - (no_load - loaded) / 0.9;
            assert_relative_eq!(full_load, full_load_rpm, max_relative = 1e-4);
            assert_relative_eq!((no_load - full_load) / full_load, droop, max_relative = 1e-3);
            assert_relative_eq!(middle, (no_load + loaded) / 2.0, max_relative = 1e-4);
        }
    }
}
