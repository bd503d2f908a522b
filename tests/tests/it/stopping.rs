//! A controlled stop, from the core's ramp through pump, oil, motor and tyres to the ground.
//!
//! - s = v·t_r + v²/(2a) (elementary mechanics; t_r includes the lag of valve and pump). A ramp to zero in a time T
//!   behind a first-order lag τ is a = v/T with t_r = τ: the lag shifts the area under the speed by τ.
//! - Published stopping distances: 30 CFR 57.14101, table M-1 (US federal text), 0–36 000 lb: 10 to 20 mph → 34 38 43 48
//!   53 59 64 70 76 83 89 ft. Brakes of mines' surface machines, reaction of the driver included: an upper bound here.
//!
//! The drive's values are those of this project's loader; its engine is taken to hold its speed.
//!
//! Checks: ramp/pair_ramp

use loader::declaration::Parameters;
use trunnion::propel::Sides as Command;
use trunnion::quantity::{Period, Ratio};
use trunnion::ramp::{MotionRates, PairRamp, PairRampConfig, StopRequest};
use trunnion_rig::plant::{
    BrakeValve, CoilMap, Ground, GroundConfig, GroundInputs, Line, LineConfig, Motor, MotorConfig,
    MotorSpeeds, ParkBrake, ParkBrakeConfig, Pump, PumpConfig, PumpControl, PushLaw, SideControl, SideDrive,
    Sides, SpeedRange, Surface, TyreConfig,
};

use crate::trade_units::rad_s_from_rpm;

const STEP_S: f64 = 1e-4;
const SWASH_S: f64 = 0.08;
const TICK: Period = Period::from_micros(10_000).unwrap();
const THRESHOLD_A: f64 = 0.43;
const SPAN_A: f64 = 0.71;

/// What takes from the textbook's way.
#[derive(Clone, Copy)]
struct Losses {
    volumetric_efficiency: f64,
    half_slip: f64,
}

const NEXT_TO_NONE: Losses = Losses { volumetric_efficiency: 1.0, half_slip: 0.005 };
const OF_THE_LOADER: Losses = Losses { volumetric_efficiency: 0.95, half_slip: 0.06 };

struct DriveTrain {
    ramp: PairRamp,
    sides: [SideDrive; 2],
    ground: Ground,
    range: SpeedRange,
}

fn side(losses: Losses) -> SideDrive {
    let coil = CoilMap { threshold_a: THRESHOLD_A, end_a: THRESHOLD_A + SPAN_A, hysteresis_a: 0.0 };
    let pump = Pump::new(PumpConfig {
        displacement_cm3: 45.0,
        speed_ratio: 1.0,
        forward: coil,
        reverse: coil,
        swash_time_s: SWASH_S,
        volumetric_efficiency: losses.volumetric_efficiency,
        hydromechanical_efficiency: 0.92,
        rated_rpm: 2600.0,
        rated_bar: 250.0,
        control_start_bar: 8.0,
        control_full_bar: 14.0,
    });
    let line = Line::new(LineConfig {
        volume_l: 1.0,
        bulk_modulus_gpa: 1.2,
        relief_bar: 330.0,
        relief_override_bar: 15.0,
        relief_flow_l_min: 120.0,
    });
    let motor = Motor::new(MotorConfig {
        displacement_cm3: 95.0,
        speeds: MotorSpeeds::Two { reduced_cm3: 60.0, shift_time_s: 0.15 },
        volumetric_efficiency: losses.volumetric_efficiency,
        hydromechanical_efficiency: 0.93,
        rated_rpm: 1200.0,
        rated_bar: 250.0,
        friction_half_rpm: 10.0,
    });
    let brake = ParkBrake::new(ParkBrakeConfig {
        holding_torque_nm: 450.0,
        release_start_bar: 9.0,
        release_full_bar: 14.0,
        fill_time_s: 0.06,
        wind_up_rad: 0.01,
        damping_time_s: 0.002,
    });
    SideDrive::new(pump.unwrap(), line.unwrap(), motor.unwrap(), brake.unwrap())
}

fn ground(losses: Losses) -> Ground {
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
        final_drive_ratio: 14.0,
        tyre: TyreConfig { half_slip: losses.half_slip, deflection_m: 0.02, damping_time_s: 0.02 },
        surface: Surface { longitudinal_friction: 0.7, lateral_friction: 0.6, rolling_resistance: 0.05 },
    })
    .unwrap()
}

impl DriveTrain {
    fn new(range: SpeedRange, losses: Losses) -> Self {
        let p = Parameters::default();
        let rates = MotionRates {
            accelerate: p.forward_accelerate(),
            decelerate: p.forward_decelerate(),
            reverse: p.forward_reverse(),
        };
        let config = PairRampConfig {
            forward: rates,
            reverse: rates,
            rotation: rates,
            stop: p.drive_stop(),
            dwell: p.drive_dwell(),
        };
        let ramp = PairRamp::new(config, TICK).unwrap();
        DriveTrain { ramp, sides: [side(losses), side(losses)], ground: ground(losses), range }
    }

    /// One tick of ten milliseconds at full lever.
    fn tick(&mut self, stop: StopRequest) {
        let Command { left, right } = self.ramp.step(Command::straight(Ratio::ONE), stop);
        let controls = [left, right].map(|command| self.control(command));
        for _ in 0..100 {
            self.sub_step(&controls);
        }
    }

    fn control(&self, command: Ratio) -> SideControl {
        let share = f64::from(command.to_bits()) / f64::from(Ratio::ONE_BITS);
        let forward_a = if share > 0.0 { THRESHOLD_A + SPAN_A * share } else { 0.0 };
        SideControl {
            pump: PumpControl { forward_a, reverse_a: 0.0, charge_bar: 22.0 },
            range: self.range,
            brake: BrakeValve::Filled,
        }
    }

    fn sub_step(&mut self, controls: &[SideControl; 2]) {
        let engine = rad_s_from_rpm(2500.0);
        let Sides { left, right } = self.ground.motor_rad_s();
        let [left_side, right_side] = &mut self.sides;
        left_side.step(STEP_S, &controls[0]);
        right_side.step(STEP_S, &controls[1]);
        let drive =
            Sides { left: left_side.law(STEP_S, engine, left), right: right_side.law(STEP_S, engine, right) };
        self.ground.step(STEP_S, &GroundInputs { drive, push: PushLaw::NONE });
        let Sides { left, right } = self.ground.motor_rad_s();
        left_side.settle(STEP_S, left);
        right_side.settle(STEP_S, right);
    }

    /// Speed at the stop request in m/s, way to rest in m, time to rest in s.
    fn stopped(mut self) -> (f64, f64, f64) {
        for _ in 0..500 {
            self.tick(StopRequest::None);
        }
        let (speed, start) = (self.ground.forward_m_s(), self.ground.x_m());
        let mut ticks = 0;
        while self.ground.forward_m_s() > 0.02 {
            self.tick(StopRequest::Controlled);
            ticks += 1;
            assert!(ticks < 500, "it does not stop");
        }
        (speed, self.ground.x_m() - start, f64::from(ticks) * 0.01)
    }
}

/// s = v·t_r + v²/(2a) for the loader's stop time.
fn textbook_way(speed: f64, ramp_s: f64) -> f64 {
    let deceleration = speed / ramp_s;
    speed * SWASH_S + speed * speed / (2.0 * deceleration)
}

#[test]
fn a_controlled_stop_takes_the_way_of_its_ramp_behind_the_lag_of_the_pump() {
    let ramp_s = f64::from(Parameters::default().drive_stop().ticks()) / 1000.0;
    let (speed, way, time) = DriveTrain::new(SpeedRange::Low, NEXT_TO_NONE).stopped();
    let expected = textbook_way(speed, ramp_s);
    assert!(speed > 3.0, "a stop from walking pace would show little: {speed} m/s");
    assert!((way / expected - 1.0).abs() < 0.03, "{way} m instead of {expected} m");
    assert!(time < ramp_s + 5.0 * SWASH_S, "{time} s");
    // Tyres slip and pump and motor leak while they brake: longer, and by how much is seen.
    let (speed, way, time) = DriveTrain::new(SpeedRange::Low, OF_THE_LOADER).stopped();
    let longer = way / textbook_way(speed, ramp_s) - 1.0;
    assert!((0.05..0.25).contains(&longer), "{longer}");
    assert!(time < ramp_s + 5.0 * SWASH_S, "{time} s");
}

#[test]
fn a_controlled_stop_from_top_speed_is_far_inside_the_published_stopping_distances() {
    const FEET: [f64; 11] = [34.0, 38.0, 43.0, 48.0, 53.0, 59.0, 64.0, 70.0, 76.0, 83.0, 89.0];
    let (speed, way, _) = DriveTrain::new(SpeedRange::High, OF_THE_LOADER).stopped();
    let miles_an_hour = speed / 0.447_04;
    assert!((10.0..20.0).contains(&miles_an_hour), "{miles_an_hour} mph is in the table");
    let place = miles_an_hour - 10.0;
    let (below, above) = (FEET[place as usize], FEET[place as usize + 1]);
    let allowed = (below + (above - below) * place.fract()) * 0.3048;
    assert!(way < 0.5 * allowed, "{way} m of {allowed} m");
}
