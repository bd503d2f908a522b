//! The drive train joined: engine, charge pump, two sides, ground, pile.

use super::*;
use crate::plant::charge::{Charge, ChargeConfig};
use crate::plant::coil_map::CoilMap;
use crate::plant::engine::{Combustion, Engine, EngineConfig, EngineInputs, Key, StarterConfig};
use crate::plant::ground::{Ground, GroundConfig, GroundInputs, Sides};
use crate::plant::law::PushLaw;
use crate::plant::line::LineConfig;
use crate::plant::motor::{MotorConfig, MotorSpeeds};
use crate::plant::park_brake::ParkBrakeConfig;
use crate::plant::pile::{Pile, PileConfig};
use crate::plant::pump::PumpConfig;
use crate::plant::torque_curve::TorqueCurve;
use crate::plant::tyre::{Surface, TyreConfig};
use crate::plant::units::{bar_from_pa, rpm_from_rad_s};
use crate::plant::{
    Coil, CoilConfig, CoilDrive, ContactKind, Cylinder, CylinderConfig, FloatStage, OpenCentre,
    OpenCentreConfig, Pickup, PickupConfig, SplitMix64, Spool, SpoolConfig, SpoolCurrents, Switch,
    SwitchConfig,
};
use approx::assert_relative_eq;
use proptest::prelude::*;

const DT: f64 = 1e-4;
const BUCKET_EDGE_M: f64 = 1.9;

#[derive(Debug, Clone, PartialEq)]
struct DriveTrain {
    engine: Engine,
    charge: Charge,
    left: SideDrive,
    right: SideDrive,
    ground: Ground,
    pile: Pile,
    bite: f64,
    key: Key,
    throttle: f64,
}

fn engine() -> Engine {
    let mut engine = Engine::new(EngineConfig {
        idle_rpm: 950.0,
        rated_rpm: 2600.0,
        droop: 0.06,
        torque_curve: TorqueCurve::new(&[(100.0, 120.0), (900.0, 190.0), (1600.0, 230.0), (2600.0, 176.0)])
            .unwrap(),
        drag_standstill_nm: 18.0,
        drag_rated_nm: 32.0,
        inertia_kg_m2: 1.2,
        accessory_torque_nm: 4.0,
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
    .unwrap();
    engine.reset_running(2700.0);
    engine
}

fn side() -> SideDrive {
    let coil = CoilMap { threshold_a: 0.35, end_a: 0.75, hysteresis_a: 0.02 };
    let pump = Pump::new(PumpConfig {
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
    });
    let line = Line::new(LineConfig {
        volume_l: 1.0,
        bulk_modulus_gpa: 1.2,
        relief_bar: 350.0,
        relief_override_bar: 15.0,
        relief_flow_l_min: 120.0,
    });
    let motor = Motor::new(MotorConfig {
        displacement_cm3: 65.0,
        speeds: MotorSpeeds::Two { reduced_cm3: 43.0, shift_time_s: 0.15 },
        volumetric_efficiency: 0.95,
        hydromechanical_efficiency: 0.93,
        rated_rpm: 1800.0,
        rated_bar: 250.0,
        friction_half_rpm: 10.0,
    });
    let brake = ParkBrake::new(ParkBrakeConfig {
        holding_torque_nm: 300.0,
        release_start_bar: 9.0,
        release_full_bar: 14.0,
        fill_time_s: 0.06,
        wind_up_rad: 0.01,
        damping_time_s: 0.002,
    });
    SideDrive::new(pump.unwrap(), line.unwrap(), motor.unwrap(), brake.unwrap())
}

fn ground() -> Ground {
    Ground::new(GroundConfig {
        mass_kg: 3600.0,
        yaw_inertia_kg_m2: 3800.0,
        front_axle_m: 0.72,
        rear_axle_m: 0.38,
        track_width_m: 1.5,
        height_m: 0.75,
        wheel_radius_m: 0.4,
        side_inertia_kg_m2: 14.0,
        motor_inertia_kg_m2: 0.02,
        final_drive_ratio: 22.0,
        tyre: TyreConfig { half_slip: 0.06, deflection_m: 0.02, damping_time_s: 0.02 },
        surface: Surface { longitudinal_friction: 0.7, lateral_friction: 0.6, rolling_resistance: 0.05 },
    })
    .unwrap()
}

fn drive_train() -> DriveTrain {
    let charge = Charge::new(ChargeConfig {
        displacement_cm3: 16.0,
        volumetric_efficiency: 0.93,
        relief_bar: 22.0,
        consumption_l_min: 12.0,
        rise_time_s: 0.05,
    });
    let pile = Pile::new(PileConfig {
        face_x_m: 10.0,
        face_y_m: 0.0,
        heading_rad: 0.0,
        stiffness_n_m: 25_000.0,
        limit_n: 60_000.0,
        give_m: 0.02,
    });
    DriveTrain {
        engine: engine(),
        charge: charge.unwrap(),
        left: side(),
        right: side(),
        ground: ground(),
        pile: pile.unwrap(),
        bite: 0.0,
        key: Key::Run,
        throttle: 1.0,
    }
}

/// A pump control from a command in −1 to 1.
fn control(command: f64, charge_bar: f64, brake: BrakeValve) -> SideControl {
    let current = |command: f64| if command > 0.0 { 0.36 + 0.40 * command } else { 0.0 };
    SideControl {
        pump: PumpControl { forward_a: current(command), reverse_a: current(-command), charge_bar },
        range: SpeedRange::Low,
        brake,
    }
}

impl DriveTrain {
    fn step(&mut self, dt_s: f64, left: f64, right: f64, brake: BrakeValve) {
        let charge_bar = self.charge.pressure_bar();
        let engine_rad_s = self.engine.speed_rad_s();
        let motors = self.ground.motor_rad_s();
        self.charge.step(dt_s, engine_rad_s);
        self.left.step(dt_s, &control(left, charge_bar, brake));
        self.right.step(dt_s, &control(right, charge_bar, brake));
        let edge = self.ground.point(BUCKET_EDGE_M);
        let inputs = GroundInputs {
            drive: Sides {
                left: self.left.law(dt_s, engine_rad_s, motors.left),
                right: self.right.law(dt_s, engine_rad_s, motors.right),
            },
            push: if self.bite > 0.0 { self.pile.law(dt_s, &edge, self.bite) } else { PushLaw::NONE },
        };
        self.ground.step(dt_s, &inputs);
        let motors = self.ground.motor_rad_s();
        self.left.settle(dt_s, motors.left);
        self.right.settle(dt_s, motors.right);
        self.pile.settle(dt_s, &self.ground.point(BUCKET_EDGE_M));
        let load_torque_nm = self.left.engine_torque_nm(engine_rad_s)
            + self.right.engine_torque_nm(engine_rad_s)
            + self.charge.torque_nm();
        let (key, throttle) = (self.key, self.throttle);
        self.engine.step(dt_s, &EngineInputs { key, throttle, supply_v: 12.6, load_torque_nm });
    }

    fn run(&mut self, seconds: f64, left: f64, right: f64, brake: BrakeValve) {
        for _ in 0..(seconds / DT) as u64 {
            self.step(DT, left, right, brake);
        }
    }
}

#[test]
fn full_strokes_drive_straight_at_the_speed_that_displacements_give() {
    let mut train = drive_train();
    train.run(6.0, 1.0, 1.0, BrakeValve::Filled);
    let ideal = train.engine.speed_rad_s() * 45.0 / 65.0;
    let motor = train.ground.motor_rad_s().left;
    assert!(motor < ideal && motor > 0.95 * ideal, "{motor} of {ideal} rad/s");
    assert!(train.ground.yaw_rad().abs() < 1e-9);
    assert!(train.engine.speed_rpm() > 2600.0);
}

#[test]
fn reverse_travel_mirrors_forward_travel_up_to_the_load_on_the_axles() {
    let mut ahead = drive_train();
    let mut back = drive_train();
    ahead.run(6.0, 0.5, 0.5, BrakeValve::Filled);
    back.run(6.0, -0.5, -0.5, BrakeValve::Filled);
    assert_relative_eq!(ahead.ground.forward_m_s(), -back.ground.forward_m_s(), max_relative = 1e-3);
}

#[test]
fn left_and_right_commands_give_mirrored_turns() {
    let mut left = drive_train();
    let mut right = drive_train();
    left.run(4.0, 0.2, 0.7, BrakeValve::Filled);
    right.run(4.0, 0.7, 0.2, BrakeValve::Filled);
    assert_relative_eq!(left.ground.yaw_rad(), -right.ground.yaw_rad(), max_relative = 1e-6);
    assert_relative_eq!(left.ground.y_m(), -right.ground.y_m(), max_relative = 1e-6);
    assert!(left.ground.yaw_rad() > 0.5, "the faster right side turns it to the left");
}

#[test]
fn a_spin_turns_on_the_spot_with_an_effective_width_seen_on_real_machines() {
    // χ between 1.125 and 1.875 on open robots.
    let mut train = drive_train();
    train.run(4.0, -0.5, 0.5, BrakeValve::Filled);
    let wheels = train.ground.wheel_rad_s();
    let chi = 0.4 * (wheels.right - wheels.left) / (train.ground.yaw_rad_s() * 1.5);
    assert!((1.1..1.9).contains(&chi), "{chi}");
    assert!(train.ground.forward_m_s().abs() < 0.3);
}

#[test]
fn the_pile_stops_the_machine_at_relief_pressure_or_by_spinning_wheels_and_nothing_moves_further() {
    let mut train = drive_train();
    train.bite = 1.0;
    train.run(12.0, 0.5, 0.5, BrakeValve::Filled);
    let thrust = train.pile.force_n();
    assert!(train.pile.penetration_m() > 0.3, "{} m", train.pile.penetration_m());
    assert!(bar_from_pa(train.left.line.difference_pa()) < 370.0);
    assert!(thrust > 5_000.0 && thrust < 0.7 * 36_000.0, "{thrust} N");
    let place = train.ground.x_m();
    train.run(2.0, 0.5, 0.5, BrakeValve::Filled);
    assert!(train.ground.x_m() - place < 0.02, "{}", train.ground.x_m() - place);
}

#[test]
fn an_engine_at_idle_dies_in_the_pile_at_full_stroke() {
    let mut train = drive_train();
    train.throttle = 0.0;
    train.engine.reset_running(980.0);
    train.run(3.0, 0.0, 0.0, BrakeValve::Filled);
    assert_eq!(train.engine.combustion(), Combustion::Running);
    train.bite = 1.0;
    train.run(20.0, 1.0, 1.0, BrakeValve::Filled);
    assert_eq!(train.engine.combustion(), Combustion::Stopped);
    assert_eq!(train.engine.stalls(), 1);
    assert!(train.charge.pressure_bar() < 0.1, "no engine, no charge pressure");
}

#[test]
fn the_park_brake_holds_the_dead_machine_on_a_slope_and_its_release_lets_it_creep_by_the_leaks() {
    let mut train = drive_train();
    train.key = Key::Off;
    train.ground.set_slope(0.2, 0.0);
    train.run(15.0, 0.0, 0.0, BrakeValve::Drained);
    let place = train.ground.x_m();
    train.run(30.0, 0.0, 0.0, BrakeValve::Drained);
    assert!((train.ground.x_m() - place).abs() < 1e-3, "{}", train.ground.x_m() - place);
    train.key = Key::Run;
    train.engine.reset_running(2700.0);
    train.run(10.0, 0.0, 0.0, BrakeValve::Filled);
    let creep = place - train.ground.x_m();
    assert!(creep > 0.05 && creep < 5.0, "{creep} m in 10 s");
}

#[test]
fn half_the_step_width_gives_the_same_journey() {
    let mut coarse = drive_train();
    let mut fine = drive_train();
    let journey = [(0.8, 0.8), (0.8, 0.3), (-0.5, 0.5), (-0.7, -0.7), (0.0, 0.0)];
    for (left, right) in journey {
        coarse.run(2.0, left, right, BrakeValve::Filled);
        for _ in 0..40_000 {
            fine.step(0.5 * DT, left, right, BrakeValve::Filled);
        }
    }
    let (a, b) = (&coarse.ground, &fine.ground);
    assert!((a.x_m() - b.x_m()).abs() < 0.02, "{} {}", a.x_m(), b.x_m());
    assert!((a.y_m() - b.y_m()).abs() < 0.02, "{} {}", a.y_m(), b.y_m());
    assert!((a.yaw_rad() - b.yaw_rad()).abs() < 0.01, "{} {}", a.yaw_rad(), b.yaw_rad());
}

#[test]
fn a_snapshot_continues_bit_for_bit() {
    let mut train = drive_train();
    train.run(1.0, 0.7, 0.2, BrakeValve::Filled);
    let mut copy = train.clone();
    train.run(1.0, -0.3, 0.9, BrakeValve::Filled);
    copy.run(1.0, -0.3, 0.9, BrakeValve::Filled);
    assert_eq!(train, copy);
}

/// What a loader steps every millisecond beside the drive train: coils, work hydraulics, sensors.
#[derive(Debug, Clone)]
struct Surroundings {
    coils: Vec<Coil>,
    spools: [Spool; 2],
    cylinders: [Cylinder; 2],
    supply: OpenCentre,
    pickups: Vec<Pickup>,
    switches: Vec<Switch>,
}

fn surroundings() -> Surroundings {
    let map = CoilMap { threshold_a: 0.5, end_a: 1.2, hysteresis_a: 0.04 };
    let coil = Coil::new(CoilConfig {
        resistance_20c_ohm: 5.0,
        inductance_h: 0.025,
        freewheel_drop_v: 0.7,
        series_ohm: 0.15,
    });
    let spool = Spool::new(SpoolConfig {
        positive: map,
        negative: map,
        shift_time_s: 0.04,
        float: FloatStage::Absent,
    });
    let cylinder = CylinderConfig {
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
    let supply = OpenCentre::new(OpenCentreConfig {
        displacement_cm3: 28.0,
        volumetric_efficiency: 0.92,
        hydromechanical_efficiency: 0.9,
        relief_bar: 210.0,
        centre_flow_l_min: 70.0,
        centre_drop_bar: 8.0,
    });
    let pickup = Pickup::new(PickupConfig { teeth: 60, lowest_hz: 0.0 }, SplitMix64::new(1));
    let switch =
        Switch::new(SwitchConfig { kind: ContactKind::NormallyOpen, bounce_ms: 5.0 }, SplitMix64::new(2));
    let (coil, spool) = (coil.unwrap(), spool.unwrap());
    Surroundings {
        coils: vec![coil; 14],
        spools: [spool.clone(), spool],
        cylinders: [0.2, 0.5].map(|position| Cylinder::new(cylinder, position).unwrap()),
        supply: supply.unwrap(),
        pickups: vec![pickup.unwrap(); 3],
        switches: vec![switch.unwrap(); 8],
    }
}

impl Surroundings {
    fn step(&mut self, engine_rad_s: f64, duty: f64) {
        let drive = CoilDrive { duty: duty.abs(), supply_v: 12.6, battery_v: 12.6 };
        self.coils.iter_mut().for_each(|coil| coil.step(1e-3, &drive));
        let current = self.coils[0].current_a();
        let currents = if duty > 0.0 {
            SpoolCurrents { positive_a: current, ..SpoolCurrents::default() }
        } else {
            SpoolCurrents { negative_a: current, ..SpoolCurrents::default() }
        };
        self.spools.iter_mut().for_each(|spool| spool.step(1e-3, &currents));
        let demands = [0, 1].map(|index| self.cylinders[index].demand(&self.spools[index], 600.0));
        let flows = self.supply.share(engine_rad_s, &demands);
        for (index, cylinder) in self.cylinders.iter_mut().enumerate() {
            cylinder.step(1e-3, &self.spools[index], flows[index], 600.0);
        }
        self.pickups.iter_mut().for_each(|pickup| pickup.step(1000, engine_rad_s));
        self.switches.iter_mut().for_each(|switch| {
            switch.step(1000);
        });
    }
}

/// Prints how many times faster than real time one core runs the joined parts; to be run in release on an
/// idle machine, or read by its processor time.
#[test]
#[ignore = "a measurement, not a check"]
fn real_time_factor() {
    for sub_steps in [10, 20] {
        let dt_s = 1e-3 / f64::from(sub_steps);
        let (mut train, mut around) = (drive_train(), surroundings());
        train.bite = 1.0;
        let started = std::time::Instant::now();
        for millisecond in 0..60_000 {
            let side = if millisecond / 1000 % 4 < 2 { 0.8 } else { -0.6 };
            around.step(train.engine.speed_rad_s(), side);
            for _ in 0..sub_steps {
                train.step(dt_s, side, 0.3, BrakeValve::Filled);
            }
        }
        println!(
            "{:.0} us: {:.0} x real time (ends at {:.3} m, {:.0} rpm, boom {:.3})",
            dt_s * 1e6,
            60.0 / started.elapsed().as_secs_f64(),
            train.ground.x_m(),
            rpm_from_rad_s(train.engine.speed_rad_s()),
            around.cylinders[0].position()
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn no_treatment_leaves_the_bounds_of_pressure_speed_and_number(
        steps in proptest::collection::vec(
            (-1.5f64..1.5, -1.5f64..1.5, any::<bool>(), any::<bool>(), 0.0f64..1.0, -0.6f64..0.6), 1..12
        )
    ) {
        let mut train = drive_train();
        for (left, right, released, running, bite, slope) in steps {
            train.bite = bite;
            train.key = if running { Key::Start } else { Key::Off };
            train.ground.set_slope(slope, 0.3);
            let brake = if released { BrakeValve::Filled } else { BrakeValve::Drained };
            for _ in 0..2000 {
                train.step(DT, left, right, brake);
                for side in [&train.left, &train.right] {
                    prop_assert!(side.line.difference_pa().abs() < 450e5, "{}", side.line.difference_pa());
                }
                prop_assert!(train.ground.energy_j() < 1e6);
                prop_assert!(train.engine.speed_rad_s() < 600.0);
            }
        }
    }
}
