//! Flow, torque and power of the plant's pump and motor, in the trade's units.
//!
//! Formulas: any fluid-power handbook, e.g. the definitions of ISO 4391; Bosch, *Automotive Handbook*,
//! "Hydrostatic drives". V in cm³ a revolution, n in rpm, p in bar:
//!
//! - pump: Q [L/min] = V·n·ηv/1000, M [N·m] = V·Δp/(20π·ηhm)
//! - motor: n = Q·1000·ηv/V, M = V·Δp·ηhm/(20π)
//! - P [kW] = Q·p/600
//! - oil column: dp/dt = (E/V)·ΣQ (textbook)
//!
//! The parts compute in SI units with leaks instead of ηv, so that the formulas are met at the rated point.

use std::f64::consts::PI;

use approx::assert_relative_eq;
use trunnion_rig::plant::{
    BrakeValve, CoilMap, Line, LineConfig, LineFlows, Motor, MotorConfig, MotorSpeeds, ParkBrake,
    ParkBrakeConfig, Pump, PumpConfig, PumpControl, SideControl, SideDrive, SpeedRange,
};

use crate::trade_units::{
    CUBIC_INCH_CM3, GALLON_L, HORSEPOWER_KW, POUND_INCH_NM, PSI_BAR, l_min_from_m3_s, m3_rad_from_cm3,
    m3_s_from_l_min, rad_s_from_rpm, rpm_from_rad_s,
};

/// A pump or a motor at its rated point.
#[derive(Debug, Clone, Copy)]
struct Rated {
    cm3: f64,
    rpm: f64,
    bar: f64,
    volumetric: f64,
    hydromechanical: f64,
}

/// Many machines: every handbook formula has to hold for each.
fn sweep() -> Vec<Rated> {
    let mut machines = Vec::new();
    for cm3 in [8.0, 45.0, 100.0, 250.0] {
        for rpm in [600.0, 1800.0, 2600.0] {
            for bar in [20.0, 250.0, 420.0] {
                for (volumetric, hydromechanical) in [(1.0, 1.0), (0.95, 0.92), (0.8, 0.7)] {
                    machines.push(Rated { cm3, rpm, bar, volumetric, hydromechanical });
                }
            }
        }
    }
    machines
}

/// A pump at a stroke, −1 to 1.
fn pump(rated: Rated, stroke: f64) -> Pump {
    let coil = CoilMap { threshold_a: 0.4, end_a: 1.4, hysteresis_a: 0.0 };
    let mut pump = Pump::new(PumpConfig {
        displacement_cm3: rated.cm3,
        speed_ratio: 1.0,
        forward: coil,
        reverse: coil,
        swash_time_s: 0.001,
        volumetric_efficiency: rated.volumetric,
        hydromechanical_efficiency: rated.hydromechanical,
        rated_rpm: rated.rpm,
        rated_bar: rated.bar,
        control_start_bar: 8.0,
        control_full_bar: 14.0,
    })
    .unwrap();
    let current = |share: f64| if share > 0.0 { 0.4 + share } else { 0.0 };
    let control = PumpControl { forward_a: current(stroke), reverse_a: current(-stroke), charge_bar: 22.0 };
    for _ in 0..10 {
        pump.step(0.01, control);
    }
    pump
}

fn motor(rated: Rated) -> Motor {
    Motor::new(MotorConfig {
        displacement_cm3: rated.cm3,
        speeds: MotorSpeeds::Single,
        volumetric_efficiency: rated.volumetric,
        hydromechanical_efficiency: rated.hydromechanical,
        rated_rpm: rated.rpm,
        rated_bar: rated.bar,
        friction_half_rpm: 0.1,
    })
    .unwrap()
}

/// What leaves a pump against a pressure, L/min.
fn delivered_l_min(pump: &Pump, rpm: f64, bar: f64) -> f64 {
    l_min_from_m3_s(pump.flow_m3_s(rad_s_from_rpm(rpm)) - pump.leak_m3_s_pa() * bar * 1e5)
}

/// Speed of a motor that takes a flow at a pressure, rpm.
fn speed_rpm(motor: &Motor, l_min: f64, bar: f64) -> f64 {
    let swept = m3_s_from_l_min(l_min) - motor.leak_m3_s_pa() * bar * 1e5;
    rpm_from_rad_s(swept / motor.displacement_m3_rad())
}

/// 45 cm³, 2600 rpm, ηv 0.95 → 111.15 L/min; 250 bar, ηhm 0.92 → 194.62 N·m; together 46.31 kW.
#[test]
fn the_worked_pump_of_the_handbook_formulas_comes_out() {
    let rated = Rated { cm3: 45.0, rpm: 2600.0, bar: 250.0, volumetric: 0.95, hydromechanical: 0.92 };
    let pump = pump(rated, 1.0);
    let flow = delivered_l_min(&pump, 2600.0, 250.0);
    let torque = pump.torque_nm(rad_s_from_rpm(2600.0), 250e5);
    assert_relative_eq!(flow, 111.15, epsilon = 5e-3);
    assert_relative_eq!(torque, 194.62, epsilon = 5e-3);
    assert_relative_eq!(flow * 250.0 / 600.0, 46.31, epsilon = 5e-3);
    // What the shaft puts in comes out as oil, less both losses.
    let shaft_kw = torque * rad_s_from_rpm(2600.0) / 1000.0;
    assert_relative_eq!(flow * 250.0 / 600.0, shaft_kw * 0.95 * 0.92, max_relative = 1e-9);
}

#[test]
fn every_pump_meets_the_formulas_at_its_rated_point_forward_and_in_reverse() {
    for rated in sweep() {
        let Rated { cm3, rpm, bar, volumetric, hydromechanical } = rated;
        for sign in [1.0, -1.0] {
            let pump = pump(rated, sign);
            let flow = delivered_l_min(&pump, rpm, sign * bar);
            assert_relative_eq!(flow, sign * cm3 * rpm * volumetric / 1000.0, max_relative = 1e-9);
            let torque = pump.torque_nm(rad_s_from_rpm(rpm), sign * bar * 1e5);
            assert_relative_eq!(torque, cm3 * bar / (20.0 * PI * hydromechanical), max_relative = 1e-9);
            // Driven by the oil it gives back what friction leaves.
            let overrun = pump.torque_nm(rad_s_from_rpm(rpm), -sign * bar * 1e5);
            assert_relative_eq!(overrun, -cm3 * bar * hydromechanical / (20.0 * PI), max_relative = 1e-9);
        }
    }
}

#[test]
fn flow_and_torque_are_in_proportion_to_the_stroke() {
    let rated = Rated { cm3: 45.0, rpm: 2600.0, bar: 250.0, volumetric: 1.0, hydromechanical: 1.0 };
    for stroke in [-1.0, -0.6, -0.1, 0.25, 0.5, 0.9] {
        let pump = pump(rated, stroke);
        let ideal_l_min = stroke * 45.0 * 1700.0 / 1000.0;
        assert_relative_eq!(delivered_l_min(&pump, 1700.0, 0.0), ideal_l_min, max_relative = 1e-9);
        let ideal_nm = stroke * 45.0 * 130.0 / (20.0 * PI);
        let torque = pump.torque_nm(rad_s_from_rpm(1700.0), 130e5);
        assert_relative_eq!(torque, ideal_nm, max_relative = 1e-9);
    }
}

#[test]
fn every_motor_meets_the_formulas_at_its_rated_point() {
    for rated in sweep() {
        let Rated { cm3, rpm, bar, volumetric, hydromechanical } = rated;
        let motor = motor(rated);
        let flow = cm3 * rpm / volumetric / 1000.0;
        assert_relative_eq!(
            speed_rpm(&motor, flow, bar),
            flow * 1000.0 * volumetric / cm3,
            max_relative = 1e-9
        );
        let torque = motor.torque_nm(bar * 1e5, rad_s_from_rpm(rpm));
        // Friction fades below its half speed of 0.1 rpm: 0.02 % of it at 600 rpm.
        let expected = cm3 * bar * hydromechanical / (20.0 * PI);
        assert_relative_eq!(torque, expected, max_relative = 2e-4);
    }
}

/// J. A. Sullivan, *Fluid Power: Theory and Applications*, 4th ed., ch. 9: 28.39 L/min through 0.03281 L a
/// revolution → 865.285 rpm; 0.55 in³ at 3400 rpm → 8.095 gpm.
#[test]
fn sullivans_worked_examples_come_out() {
    let ideal = Rated { cm3: 32.81, rpm: 865.0, bar: 100.0, volumetric: 1.0, hydromechanical: 1.0 };
    assert_relative_eq!(speed_rpm(&motor(ideal), 28.39, 100.0), 865.285, epsilon = 1e-3);
    let pump = pump(Rated { cm3: 0.55 * CUBIC_INCH_CM3, rpm: 3400.0, ..ideal }, 1.0);
    assert_relative_eq!(delivered_l_min(&pump, 3400.0, 100.0) / GALLON_L, 8.095, epsilon = 1e-3);
}

/// A. Esposito, *Fluid Power with Applications*, ex. 7-2: a motor of 5 in³ at 1000 psi and 10 gpm, no losses →
/// 462 rpm, 795 in·lb, 5.83 hp.
#[test]
fn espositos_worked_motor_comes_out() {
    let bar = 1000.0 * PSI_BAR;
    let rated = Rated { cm3: 5.0 * CUBIC_INCH_CM3, rpm: 462.0, bar, volumetric: 1.0, hydromechanical: 1.0 };
    let motor = motor(rated);
    let speed = speed_rpm(&motor, 10.0 * GALLON_L, bar);
    let torque = motor.torque_nm(bar * 1e5, rad_s_from_rpm(speed));
    assert_relative_eq!(speed, 462.0, epsilon = 0.5);
    assert_relative_eq!(torque / POUND_INCH_NM, 795.0, epsilon = 1.0);
    assert_relative_eq!(torque * rad_s_from_rpm(speed) / 1000.0 / HORSEPOWER_KW, 5.83, epsilon = 5e-3);
}

/// A published motor (worked example): 100 cm³ at 250 bar and 120 L/min, ηm 0.93, ηv 0.95 → 398 N·m ideal,
/// 370 actual, 1140 rpm, 44.2 kW.
#[test]
fn a_published_motor_comes_out() {
    let rated = Rated { cm3: 100.0, rpm: 1140.0, bar: 250.0, volumetric: 0.95, hydromechanical: 0.93 };
    let motor = motor(rated);
    let speed = speed_rpm(&motor, 120.0, 250.0);
    let torque = motor.torque_nm(250e5, rad_s_from_rpm(speed));
    assert_relative_eq!(speed, 1140.0, epsilon = 0.5);
    assert_relative_eq!(motor.displacement_m3_rad() * 250e5, 398.0, epsilon = 0.5);
    assert_relative_eq!(torque, 370.0, epsilon = 0.5);
    assert_relative_eq!(torque * rad_s_from_rpm(speed) / 1000.0, 44.2, epsilon = 0.05);
}

fn line() -> Line {
    Line::new(LineConfig {
        volume_l: 1.0,
        bulk_modulus_gpa: 1.2,
        relief_bar: 450.0,
        relief_override_bar: 15.0,
        relief_flow_l_min: 300.0,
    })
    .unwrap()
}

/// dp/dt = (E/V)·ΣQ: 1 L/min into a closed litre of 1.2 GPa raises the pressure by 200 bar a second.
#[test]
fn oil_that_cannot_leave_is_compressed_as_its_bulk_modulus_says() {
    let mut line = line();
    let flows = LineFlows { pump_m3_s: m3_s_from_l_min(1.0), leak_m3_s_pa: 0.0, motor_m3_rad: 0.0 };
    for milli in 1..=1000 {
        for _ in 0..10 {
            line.settle(1e-4, &flows, 0.0);
        }
        let expected_bar = 0.2 * f64::from(milli);
        assert_relative_eq!(line.difference_pa() / 1e5, expected_bar, max_relative = 1e-9);
    }
}

/// Pump and motor joined by oil, against a load that does not change: each formula at its own end.
#[test]
fn a_transmission_settles_where_the_formulas_of_pump_and_motor_meet() {
    let (bar, pump_rpm) = (250.0, 2600.0);
    let pump_rated = Rated { cm3: 45.0, rpm: pump_rpm, bar, volumetric: 0.95, hydromechanical: 0.92 };
    let motor_rpm = 45.0 * pump_rpm * 0.95 * 0.95 / 65.0;
    let motor_rated = Rated { cm3: 65.0, rpm: motor_rpm, bar, volumetric: 0.95, hydromechanical: 0.93 };
    let load_nm = 65.0 * bar * 0.93 / (20.0 * PI);
    let (side, speed) = driven_against(pump(pump_rated, 1.0), motor(motor_rated), pump_rpm, load_nm);
    assert_relative_eq!(side.line.difference_pa() / 1e5, bar, max_relative = 1e-4);
    assert_relative_eq!(rpm_from_rad_s(speed), motor_rpm, max_relative = 1e-4);
    let engine_nm = side.engine_torque_nm(rad_s_from_rpm(pump_rpm));
    assert_relative_eq!(engine_nm, 45.0 * bar / (20.0 * PI * 0.92), max_relative = 1e-4);
    // Engine to shaft: the product of the four efficiencies.
    let efficiency = load_nm * speed / (engine_nm * rad_s_from_rpm(pump_rpm));
    assert_relative_eq!(efficiency, 0.95 * 0.92 * 0.95 * 0.93, max_relative = 1e-4);
}

/// The joined parts and the motor's speed in rad/s after four seconds.
fn driven_against(pump: Pump, motor: Motor, engine_rpm: f64, load_nm: f64) -> (SideDrive, f64) {
    const STEP_S: f64 = 1e-4;
    const INERTIA: f64 = 0.4;
    let brake = ParkBrake::new(ParkBrakeConfig {
        holding_torque_nm: 450.0,
        release_start_bar: 9.0,
        release_full_bar: 14.0,
        fill_time_s: 0.001,
        wind_up_rad: 0.01,
        damping_time_s: 0.002,
    });
    let mut side = SideDrive::new(pump, line(), motor, brake.unwrap());
    let control = SideControl {
        pump: PumpControl { forward_a: 1.4, reverse_a: 0.0, charge_bar: 22.0 },
        range: SpeedRange::Low,
        brake: BrakeValve::Filled,
    };
    let (engine, mut speed) = (rad_s_from_rpm(engine_rpm), 0.0);
    for _ in 0..40_000 {
        side.step(STEP_S, &control);
        let law = side.law(STEP_S, engine, speed);
        let driven = law.torque_nm - load_nm;
        speed = (INERTIA * speed + STEP_S * driven) / (INERTIA + STEP_S * law.damping_nm_s);
        side.settle(STEP_S, speed);
    }
    (side, speed)
}

#[test]
fn a_displacement_in_si_is_that_of_the_data_sheet() {
    for cm3 in [1.0, 45.0, 65.0, 4999.0] {
        let rated = Rated { cm3, rpm: 1000.0, bar: 100.0, volumetric: 1.0, hydromechanical: 1.0 };
        assert_relative_eq!(motor(rated).displacement_m3_rad(), m3_rad_from_cm3(cm3), max_relative = 1e-12);
    }
}
