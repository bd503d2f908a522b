//! Step responses of joined parts of the plant against `scipy.signal.step` of the transfer function in their docs.
//!
//! Oil column and motor, governor and inertia are stepped by a first-order method: they must agree the better the
//! shorter the step, and at the rig's 100 µs to a bound that is stated at each check.

use serde_json::json;
use trunnion_rig::plant::{
    Coil, CoilConfig, CoilDrive, CoilMap, Engine, EngineConfig, EngineInputs, Key, Line, LineConfig,
    LineFlows, Motor, MotorConfig, MotorSpeeds, Pump, PumpConfig, PumpControl, StarterConfig, TorqueCurve,
};

use crate::{
    lags::answers,
    oracle::numbers,
    trade_units::{rad_s_from_rpm, rpm_from_rad_s},
};

/// The rig's sub-step.
const STEP_S: f64 = 1e-4;
/// The unit step response of a transfer function, sampled every `period` from 0 on.
fn step_response(numerator: &[f64], denominator: &[f64], period: f64, count: usize) -> Option<Vec<f64>> {
    let question = json!([{
        "kind": "step", "numerator": numerator, "denominator": denominator, "period": period, "count": count
    }]);
    Some(numbers(&answers(question)?[0], "response"))
}

/// The largest difference between two responses.
fn largest_difference(response: &[f64], expected: &[f64]) -> f64 {
    response.iter().zip(expected).map(|(ours, theirs)| (ours - theirs).abs()).fold(0.0, f64::max)
}

/// From duty to stroke: 1/((L/R)s + 1) of the coil, then 1/(τs + 1) of the swash plate, between two currents
/// inside the coil's straight range.
#[test]
fn duty_reaches_the_swash_plate_through_two_lags_as_scipy_says() {
    let (swash_s, coil_s) = (0.08, 0.06 / 20.15);
    let denominator = [swash_s * coil_s, swash_s + coil_s, 1.0];
    let Some(expected) = step_response(&[1.0], &denominator, STEP_S, 5000) else { return };
    let (mut coil, mut pump) = (coil(), pump(swash_s));
    let mut run = |duty: f64, count: usize| -> Vec<f64> {
        let mut strokes = vec![pump.stroke()];
        while strokes.len() < count {
            coil.step(STEP_S, &drive(duty));
            pump.step(STEP_S, PumpControl { forward_a: coil.current_a(), reverse_a: 0.0, charge_bar: 22.0 });
            strokes.push(pump.stroke());
        }
        strokes
    };
    run(0.4, 20_000);
    let strokes = run(0.5, expected.len());
    // A tenth more duty is 24 V · 0.1 / 20.15 Ω of current, over a span of 0.4 A.
    let rise = 2.4 / 20.15 / 0.4;
    let response: Vec<f64> = strokes.iter().map(|stroke| (stroke - strokes[0]) / rise).collect();
    // The pump sees the current of the end of the step for the whole step: half a step early, dt/2τ = 0.06 %.
    let difference = largest_difference(&response, &expected);
    assert!(difference < 0.001, "{difference}");
}

/// Oil column and motor with a load of inertia J: (C·s + G)·p = Q − V·ω, J·s·ω = V·p, so that
/// ω/Q = V/(J·C·s² + J·G·s + V²), C = volume/bulk modulus.
#[test]
fn an_oil_column_swings_with_its_motor_as_scipy_says_and_better_with_shorter_steps() {
    let (inertia, pump_m3_s) = (0.4, 2e-5);
    let capacity = 1e-3 / 1.2e9;
    let volume = motor(MotorSpeeds::Single).displacement_m3_rad();
    let leak = motor(MotorSpeeds::Single).leak_m3_s_pa();
    let denominator = [inertia * capacity, inertia * leak, volume * volume];
    let Some(expected) = step_response(&[volume], &denominator, STEP_S, 3000) else { return };
    let end = pump_m3_s / volume;
    let peak = expected.iter().fold(0.0, |a: f64, b| a.max(*b)) * pump_m3_s / end;
    assert!(peak > 1.3, "a well damped example would show nothing: peak {peak}");
    let difference = |parts: usize| {
        let response = oil_column(STEP_S / parts as f64, parts, expected.len(), inertia, pump_m3_s);
        let expected: Vec<f64> = expected.iter().map(|value| value * pump_m3_s).collect();
        largest_difference(&response, &expected) / end
    };
    let (whole, half, quarter) = (difference(1), difference(2), difference(4));
    // Implicit Euler damps a swing of natural frequency ω_n by about ω_n²·dt/2 per second beyond its own: 0.18 % here.
    assert!(whole < 0.003, "{whole}");
    for (coarse, fine) in [(whole, half), (half, quarter)] {
        assert!(coarse / fine > 1.8, "at least first order: {coarse} against {fine}");
    }
}

/// Engine under its governor near an operating point: fuel lags by τ, torque falls by K per rad/s, inertia J:
/// ω/load = −(τ·s + 1)/(J·τ·s² + J·s + K).
#[test]
fn the_governor_takes_a_load_as_scipy_says_and_better_with_shorter_steps() {
    let (inertia, fuel_s, load_nm) = (1.2, 0.08, 60.0);
    // Droop 6 % of 2600 rpm brings the whole 200 N·m.
    let stiffness = 200.0 / (0.06 * rad_s_from_rpm(2600.0));
    let denominator = [inertia * fuel_s, inertia, stiffness];
    let Some(expected) = step_response(&[-fuel_s, -1.0], &denominator, STEP_S, 10_000) else { return };
    let end = load_nm / stiffness;
    let difference = |parts: usize| {
        let response = governed_engine(STEP_S / parts as f64, parts, expected.len(), load_nm);
        let expected: Vec<f64> = expected.iter().map(|value| value * load_nm).collect();
        largest_difference(&response, &expected) / end
    };
    let (whole, half, quarter) = (difference(1), difference(2), difference(4));
    assert!(whole < 1e-6, "{whole}");
    for (coarse, fine) in [(whole, half), (half, quarter)] {
        assert!(coarse / fine > 1.8, "at least first order: {coarse} against {fine}");
    }
}

/// Motor speed over time when the pump suddenly delivers into a loop at rest; every `parts`th step is a sample.
fn oil_column(step_s: f64, parts: usize, count: usize, inertia: f64, pump_m3_s: f64) -> Vec<f64> {
    let motor = motor(MotorSpeeds::Single);
    let config = LineConfig {
        volume_l: 1.0,
        bulk_modulus_gpa: 1.2,
        relief_bar: 350.0,
        relief_override_bar: 15.0,
        relief_flow_l_min: 120.0,
    };
    let mut line = Line::new(config).unwrap();
    let flows = LineFlows {
        pump_m3_s,
        leak_m3_s_pa: motor.leak_m3_s_pa(),
        motor_m3_rad: motor.displacement_m3_rad(),
    };
    let mut speed = 0.0;
    let mut response = vec![0.0];
    while response.len() < count {
        for _ in 0..parts {
            let pressure = line.law(step_s, &flows, speed);
            let torque = motor.law(pressure, line.difference_pa(), speed);
            // The inertia's own implicit Euler step: J·(ω' − ω)/dt = torque − damping·ω'.
            speed = (inertia * speed + step_s * torque.torque_nm) / (inertia + step_s * torque.damping_nm_s);
            line.settle(step_s, &flows, speed);
        }
        response.push(speed);
    }
    response
}

/// Change of engine speed over time, rad/s, when a load falls on an engine that idles along at full throttle.
fn governed_engine(step_s: f64, parts: usize, count: usize, load_nm: f64) -> Vec<f64> {
    let no_load_rpm = 2600.0 * 1.06;
    let mut engine = Engine::new(engine()).unwrap();
    engine.reset_running(no_load_rpm);
    let start = engine.speed_rad_s();
    let inputs = EngineInputs { key: Key::Run, throttle: 1.0, supply_v: 12.6, load_torque_nm: load_nm };
    let mut response = vec![0.0];
    while response.len() < count {
        for _ in 0..parts {
            engine.step(step_s, &inputs);
        }
        response.push(engine.speed_rad_s() - start);
    }
    assert!(rpm_from_rad_s(engine.speed_rad_s()) > 2600.0, "the load keeps within the droop");
    response
}

/// An engine whose torque and drag do not change with speed, so that it is linear within its droop.
fn engine() -> EngineConfig {
    EngineConfig {
        idle_rpm: 950.0,
        rated_rpm: 2600.0,
        droop: 0.06,
        torque_curve: TorqueCurve::new(&[(100.0, 200.0), (2600.0, 200.0)]).unwrap(),
        drag_standstill_nm: 30.0,
        drag_rated_nm: 30.0,
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

/// A 24 V control coil: 20 Ω, 60 mH, with 0.15 Ω of driver and shunt.
fn coil() -> Coil {
    Coil::new(CoilConfig {
        resistance_20c_ohm: 20.0,
        inductance_h: 0.06,
        freewheel_drop_v: 0.0,
        series_ohm: 0.15,
    })
    .unwrap()
}

fn drive(duty: f64) -> CoilDrive {
    CoilDrive { duty, supply_v: 24.0, battery_v: 24.0 }
}

fn pump(swash_time_s: f64) -> Pump {
    let coil = CoilMap { threshold_a: 0.35, end_a: 0.75, hysteresis_a: 0.0 };
    Pump::new(PumpConfig {
        displacement_cm3: 45.0,
        speed_ratio: 1.0,
        forward: coil,
        reverse: coil,
        swash_time_s,
        volumetric_efficiency: 0.95,
        hydromechanical_efficiency: 0.92,
        rated_rpm: 2600.0,
        rated_bar: 250.0,
        control_start_bar: 8.0,
        control_full_bar: 14.0,
    })
    .unwrap()
}

/// A motor without friction: what is left is linear.
fn motor(speeds: MotorSpeeds) -> Motor {
    Motor::new(MotorConfig {
        displacement_cm3: 65.0,
        speeds,
        volumetric_efficiency: 0.95,
        hydromechanical_efficiency: 1.0,
        rated_rpm: 1800.0,
        rated_bar: 250.0,
        friction_half_rpm: 10.0,
    })
    .unwrap()
}
