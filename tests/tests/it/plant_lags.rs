//! Step responses of the plant's parts with a lag of their own against `scipy.signal.step` of 1/(τs + 1).
//!
//! They solve it exactly over a step, so they must agree to rounding, at every sample of the rig's 100 µs. All are
//! asked for at once: an interpreter takes longer to start than to answer.

use approx::assert_abs_diff_eq;
use serde_json::json;
use trunnion_rig::plant::{
    AnalogSensor, AnalogSensorConfig, Battery, BatteryConfig, BrakeValve, Charge, ChargeConfig, Coil,
    CoilConfig, CoilDrive, CoilMap, FloatStage, Lag, Motor, MotorConfig, MotorSpeeds, ParkBrake,
    ParkBrakeConfig, Pull, Pump, PumpConfig, PumpControl, SpeedRange, Spool, SpoolConfig, SpoolCurrents,
};

use crate::{lags::answers, oracle::numbers, trade_units::rad_s_from_rpm};

/// The rig's sub-step.
const STEP_S: f64 = 1e-4;
/// What rounding leaves of 20 000 exact steps.
const ROUNDING: f64 = 1e-10;

/// A part on its way from one rest to another.
struct Part {
    name: &'static str,
    time_constant_s: f64,
    /// One step; how much of the way is behind it, 0 to 1.
    next: Box<dyn FnMut() -> f64>,
}

fn part(name: &'static str, time_constant_s: f64, next: impl FnMut() -> f64 + 'static) -> Part {
    Part { name, time_constant_s, next: Box::new(next) }
}

#[test]
fn every_part_with_a_lag_of_its_own_follows_scipy_at_every_sample() {
    let mut parts = plain_lags();
    parts.extend(coils());
    parts.extend([pump_strokes(), pump_returns(), spool(), supply(), sensor()]);
    parts.extend([motor_shifts_up(), motor_shifts_down(), charge_rises(), brake_fills(), brake_drains()]);
    let count = |part: &Part| (6.0 * part.time_constant_s / STEP_S) as usize;
    let questions: Vec<_> = parts
        .iter()
        .map(|part| {
            let denominator = [part.time_constant_s, 1.0];
            json!({
                "kind": "step", "numerator": [1.0], "denominator": denominator, "period": STEP_S,
                "count": count(part)
            })
        })
        .collect();
    let Some(answers) = answers(json!(questions)) else { return };
    for (mut part, answer) in parts.into_iter().zip(&answers) {
        let expected = numbers(answer, "response");
        assert!(expected.last().is_some_and(|end| *end > 0.99), "{} is followed to its end", part.name);
        for (step, wanted) in expected.iter().enumerate().skip(1) {
            let found = (part.next)();
            assert!((found - wanted).abs() < ROUNDING, "{}, step {step}: {found}, not {wanted}", part.name);
        }
    }
}

fn plain_lags() -> Vec<Part> {
    let lag = |time_constant_s| {
        let mut lag = Lag::new(time_constant_s, 0.0).unwrap();
        part("the plain lag", time_constant_s, move || lag.step(STEP_S, 1.0))
    };
    [0.003, 0.02, 0.1, 0.3].map(lag).into()
}

/// i(t) = U/R·(1 − e^(−tR/L)), R with copper's coefficient 0.00393/K (CRC Handbook): a coil is a lag of L/R.
fn coils() -> Vec<Part> {
    let coil = |temperature_c: f64| {
        let resistance_ohm = 20.0 * (1.0 + 0.003_93 * (temperature_c - 20.0)) + 0.15;
        let mut coil = Coil::new(CoilConfig {
            resistance_20c_ohm: 20.0,
            inductance_h: 0.06,
            freewheel_drop_v: 0.0,
            series_ohm: 0.15,
        })
        .unwrap();
        coil.set_temperature_c(temperature_c);
        part("the current of a coil", 0.06 / resistance_ohm, move || {
            coil.step(STEP_S, &CoilDrive { duty: 0.5, supply_v: 24.0, battery_v: 24.0 });
            coil.current_a() * resistance_ohm / 12.0
        })
    };
    [-20.0, 20.0, 100.0].map(coil).into()
}

fn pump() -> Pump {
    let coil = CoilMap { threshold_a: 0.35, end_a: 0.75, hysteresis_a: 0.0 };
    Pump::new(PumpConfig {
        displacement_cm3: 45.0,
        speed_ratio: 1.0,
        forward: coil,
        reverse: coil,
        swash_time_s: 0.08,
        volumetric_efficiency: 0.95,
        hydromechanical_efficiency: 0.92,
        rated_rpm: 2600.0,
        rated_bar: 250.0,
        control_start_bar: 8.0,
        control_full_bar: 14.0,
    })
    .unwrap()
}

/// Half of the span between threshold and end.
const HALF_STROKE: PumpControl = PumpControl { forward_a: 0.55, reverse_a: 0.0, charge_bar: 22.0 };

fn pump_strokes() -> Part {
    let mut pump = pump();
    part("the swash plate of a pump", 0.08, move || {
        pump.step(STEP_S, HALF_STROKE);
        pump.stroke() / 0.5
    })
}

fn pump_returns() -> Part {
    let mut pump = pump();
    pump.step(10.0, HALF_STROKE);
    part("the swash plate without current", 0.08, move || {
        pump.step(STEP_S, PumpControl { forward_a: 0.0, ..HALF_STROKE });
        1.0 - pump.stroke() / 0.5
    })
}

fn spool() -> Part {
    let map = CoilMap { threshold_a: 0.5, end_a: 1.2, hysteresis_a: 0.0 };
    let config = SpoolConfig { positive: map, negative: map, shift_time_s: 0.04, float: FloatStage::Absent };
    let mut spool = Spool::new(config).unwrap();
    // Half of the span between threshold and end, towards the negative end.
    let currents = SpoolCurrents { negative_a: 0.85, ..SpoolCurrents::default() };
    part("the spool of a work function", 0.04, move || {
        spool.step(STEP_S, &currents);
        spool.position() / -0.5
    })
}

fn supply() -> Part {
    let mut battery = Battery::new(BatteryConfig {
        open_circuit_v: 12.6,
        internal_resistance_ohm: 0.006,
        settling_time_s: 0.004,
        charging_v: 14.2,
        charging_from_rpm: 800.0,
        alternator_a: 90.0,
    })
    .unwrap();
    part("the supply under 500 A", 0.004, move || {
        battery.step(STEP_S, 500.0, 0.0);
        (12.6 - battery.terminal_v()) / 3.0
    })
}

fn sensor() -> Part {
    let config = AnalogSensorConfig { low: 0.0, high: 60.0, time_constant_s: 0.012, pull: Pull::Down };
    let mut sensor = AnalogSensor::new(config).unwrap();
    // 10 % of the supply at 0 bar, 90 % at 60 bar: 45 bar are 70 %.
    part("a ratiometric sensor", 0.012, move || {
        sensor.step(STEP_S, 45.0, 5000.0);
        (sensor.output_mv() - 500.0) / 3000.0
    })
}

fn motor() -> Motor {
    Motor::new(MotorConfig {
        displacement_cm3: 65.0,
        speeds: MotorSpeeds::Two { reduced_cm3: 43.0, shift_time_s: 0.15 },
        volumetric_efficiency: 0.95,
        hydromechanical_efficiency: 1.0,
        rated_rpm: 1800.0,
        rated_bar: 250.0,
        friction_half_rpm: 10.0,
    })
    .unwrap()
}

fn motor_shifts_up() -> Part {
    let mut motor = motor();
    part("a two-speed motor shifting up", 0.15, move || {
        motor.step(STEP_S, SpeedRange::High);
        (1.0 - motor.displacement_share()) / (1.0 - 43.0 / 65.0)
    })
}

fn motor_shifts_down() -> Part {
    let mut motor = motor();
    motor.step(10.0, SpeedRange::High);
    part("a two-speed motor shifting down", 0.15, move || {
        motor.step(STEP_S, SpeedRange::Low);
        1.0 - (1.0 - motor.displacement_share()) / (1.0 - 43.0 / 65.0)
    })
}

fn charge_rises() -> Part {
    let mut charge = Charge::new(ChargeConfig {
        displacement_cm3: 16.0,
        volumetric_efficiency: 0.93,
        relief_bar: 22.0,
        consumption_l_min: 12.0,
        rise_time_s: 0.05,
    })
    .unwrap();
    part("the charge pressure", 0.05, move || {
        charge.step(STEP_S, rad_s_from_rpm(2000.0));
        charge.pressure_bar() / 22.0
    })
}

fn brake() -> ParkBrake {
    ParkBrake::new(ParkBrakeConfig {
        holding_torque_nm: 450.0,
        release_start_bar: 9.0,
        release_full_bar: 14.0,
        fill_time_s: 0.06,
        wind_up_rad: 0.01,
        damping_time_s: 0.002,
    })
    .unwrap()
}

fn brake_fills() -> Part {
    let mut brake = brake();
    part("a park brake being filled", 0.06, move || {
        brake.step(STEP_S, BrakeValve::Filled, 22.0);
        brake.pressure_bar() / 22.0
    })
}

fn brake_drains() -> Part {
    let mut brake = brake();
    brake.step(10.0, BrakeValve::Filled, 22.0);
    part("a park brake being drained", 0.06, move || {
        brake.step(STEP_S, BrakeValve::Drained, 22.0);
        1.0 - brake.pressure_bar() / 22.0
    })
}

/// τ = 0.1 s held for 10 ms: b = 0.09516258, a = 0.90483742 (any text on sampled systems; recomputed with scipy 1.17).
#[test]
fn the_plain_lag_has_the_coefficients_of_a_held_first_order_lag() {
    let mut rising = Lag::new(0.1, 0.0).unwrap();
    assert_abs_diff_eq!(rising.step(0.01, 1.0), 0.095_162_58, epsilon = 5e-9);
    let mut falling = Lag::new(0.1, 1.0).unwrap();
    assert_abs_diff_eq!(falling.step(0.01, 0.0), 0.904_837_42, epsilon = 5e-9);
}
