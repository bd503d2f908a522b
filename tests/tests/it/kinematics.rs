//! The vehicle on the ground against textbook kinematics and statics.
//!
//! - v = (v_r + v_l)/2, ω = (v_r − v_l)/B, R = (B/2)·(v_r + v_l)/(v_r − v_l): R. Siegwart, I. R. Nourbakhsh,
//!   *Introduction to Autonomous Mobile Robots*, ch. 3. Skidding vehicles: B becomes χ·B, χ > 1: A. Mandow et al.,
//!   "Experimental kinematics for wheeled skid-steer mobile robots", IROS 2007.
//! - Turning: outer and inner thrust F = f_r·W/2 ± M_r/B with the turning resistance M_r: J. Y. Wong, *Theory of Ground
//!   Vehicles*, 3rd ed. 2001, "Steering of tracked vehicles" (from memory). For four tyres at ±l/2 with equal loads
//!   M_r = μ_t·W·l/2, twice the value of a uniformly loaded track. W = 35 kN, l = 1.1 m, B = 1.5 m, μ_t = 0.6,
//!   f_r = 0.05: M_r = 11 550 N·m, F = 8575 and −6825 N.
//! - Friction circle and stopping distance s = v·t + v²/(2a), on a downgrade a less g·sin θ; tipping over when braking
//!   downhill at a = g·(l_f·cos θ/h − sin θ): elementary mechanics.

use approx::assert_relative_eq;
use trunnion_rig::plant::{
    Disturbance, Ground, GroundConfig, GroundInputs, PushLaw, Sides, Surface, TorqueLaw, TyreConfig,
};

const STEP_S: f64 = 1e-4;
/// Standard acceleration of free fall, 3rd CGPM 1901.
const GRAVITY: f64 = 9.806_65;
const WEIGHT_N: f64 = 35_000.0;
const WHEELBASE_M: f64 = 1.1;
const WIDTH_M: f64 = 1.5;
const RADIUS_M: f64 = 0.4;
const RATIO: f64 = 14.0;

const EQUAL_LOADS: GroundConfig = GroundConfig {
    mass_kg: WEIGHT_N / GRAVITY,
    yaw_inertia_kg_m2: 3800.0,
    front_axle_m: 0.55,
    rear_axle_m: 0.55,
    track_width_m: WIDTH_M,
    height_m: 0.0,
    wheel_radius_m: RADIUS_M,
    side_inertia_kg_m2: 14.0,
    motor_inertia_kg_m2: 0.02,
    final_drive_ratio: RATIO,
    tyre: TyreConfig { half_slip: 0.06, deflection_m: 0.02, damping_time_s: 0.02 },
    surface: Surface { longitudinal_friction: 0.6, lateral_friction: 0.6, rolling_resistance: 0.0 },
};

/// Full friction at hardly any slip.
const STIFF_TYRE: TyreConfig = TyreConfig { half_slip: 0.005, deflection_m: 0.02, damping_time_s: 0.02 };

/// A loader as it is: heavier on one axle, its mass above the ground, rolling resistance.
const LOADER: GroundConfig = GroundConfig {
    front_axle_m: 0.72,
    rear_axle_m: 0.38,
    height_m: 0.75,
    surface: Surface { longitudinal_friction: 0.7, lateral_friction: 0.6, rolling_resistance: 0.05 },
    ..EQUAL_LOADS
};

fn ground(config: GroundConfig) -> Ground {
    Ground::new(config).unwrap()
}

/// A drive that holds a wheel's circumferential speed, m/s.
fn holding(speed_m_s: f64) -> TorqueLaw {
    let motor_rad_s = speed_m_s / RADIUS_M * RATIO;
    TorqueLaw { torque_nm: 1e6 * motor_rad_s, damping_nm_s: 1e6 }
}

/// A drive that gives a thrust at the wheels of one side, N.
fn thrusting(force_n: f64) -> TorqueLaw {
    TorqueLaw { torque_nm: force_n * RADIUS_M / RATIO, damping_nm_s: 0.0 }
}

fn both(left: TorqueLaw, right: TorqueLaw) -> GroundInputs {
    GroundInputs { drive: Sides { left, right }, push: PushLaw::NONE }
}

fn run(ground: &mut Ground, seconds: f64, inputs: &GroundInputs) {
    for _ in 0..(seconds / STEP_S).round() as u64 {
        ground.step(STEP_S, inputs);
    }
}

/// Circumferential speeds, m/s.
fn sides_m_s(ground: &Ground) -> (f64, f64) {
    let Sides { left, right } = ground.wheel_rad_s();
    (left * RADIUS_M, right * RADIUS_M)
}

/// Pose of the textbook's two driven sides.
#[derive(Clone, Copy)]
struct Pose {
    x_m: f64,
    y_m: f64,
    yaw_rad: f64,
}

impl Pose {
    fn move_on(&mut self, (left, right): (f64, f64), width_m: f64) {
        let (speed, turn) = ((left + right) / 2.0, (right - left) / width_m * STEP_S);
        let heading = self.yaw_rad + turn / 2.0;
        self.x_m += speed * STEP_S * heading.cos();
        self.y_m += speed * STEP_S * heading.sin();
        self.yaw_rad += turn;
    }
}

#[test]
fn straight_ahead_and_back_the_way_is_that_of_the_wheels() {
    for speed in [-3.0, -0.5, 0.5, 3.0] {
        let mut ground = ground(EQUAL_LOADS);
        run(&mut ground, 4.0, &both(holding(speed), holding(speed)));
        let start = ground.x_m();
        run(&mut ground, 5.0, &both(holding(speed), holding(speed)));
        assert_relative_eq!(ground.x_m() - start, 5.0 * speed, max_relative = 1e-5);
        assert_eq!((ground.y_m(), ground.yaw_rad()), (0.0, 0.0));
    }
}

/// Hardly anything resists a turn where hardly anything holds sideways: χ = 1. The path is followed through curves
/// both ways, a spin and reverse, so slowly that what friction there is holds the machine in its curves.
#[test]
fn without_grip_sideways_a_journey_ends_where_the_textbook_says() {
    let surface = Surface { lateral_friction: 0.003, ..EQUAL_LOADS.surface };
    let mut ground = ground(GroundConfig { surface, ..EQUAL_LOADS });
    let mut pose = Pose { x_m: 0.0, y_m: 0.0, yaw_rad: 0.0 };
    let legs = [(0.03, 0.03), (0.01, 0.03), (0.025, 0.015), (-0.015, 0.015), (-0.02, -0.01), (0.025, 0.025)];
    let mut way_m = 0.0;
    for (left, right) in legs {
        for _ in 0..250_000 {
            ground.step(STEP_S, &both(holding(left), holding(right)));
            let sides = sides_m_s(&ground);
            pose.move_on(sides, WIDTH_M);
            way_m += (sides.0 + sides.1).abs() / 2.0 * STEP_S;
        }
    }
    let off_m = (ground.x_m() - pose.x_m).hypot(ground.y_m() - pose.y_m);
    assert!(way_m > 2.5 && ground.yaw_rad() > 0.5, "{way_m} m, {} rad", ground.yaw_rad());
    assert!(off_m < 0.005 * way_m, "{off_m} m off after {way_m} m");
    assert!((ground.yaw_rad() - pose.yaw_rad).abs() < 0.005, "{} {}", ground.yaw_rad(), pose.yaw_rad);
}

/// Multiplier of the width that explains a yaw rate.
fn chi(ground: &Ground) -> f64 {
    let (left, right) = sides_m_s(ground);
    (right - left) / (ground.yaw_rad_s() * WIDTH_M)
}

fn spinning(config: GroundConfig, speed: f64) -> Ground {
    let mut ground = ground(config);
    run(&mut ground, 6.0, &both(holding(-speed), holding(speed)));
    ground
}

/// χ from 1.125 to 1.875 is in use on open robots, 1.37 was measured by a user.
#[test]
fn a_width_measured_in_one_spin_predicts_other_spins_and_is_one_seen_on_machines() {
    for config in [EQUAL_LOADS, LOADER] {
        let measured = chi(&spinning(config, 0.8));
        assert!((1.125..=1.875).contains(&measured), "{measured}");
        for speed in [-1.2, -0.4, 0.4, 1.2] {
            let ground = spinning(config, speed);
            let predicted = 2.0 * speed / (measured * WIDTH_M);
            // Centripetal force moves the pivot of a machine that is heavier in front: 3.5 % at 1.2 m/s.
            assert_relative_eq!(ground.yaw_rad_s(), predicted, max_relative = 0.04);
            let along = ground.forward_m_s();
            assert!(along.abs() < 0.1 * speed.abs(), "on the spot: {along} m/s");
        }
    }
}

/// A reference of the steady spin that shares nothing with the plant's stepping: each wheel slides with full
/// friction against its own sliding velocity, times S/(1 + S), S = sliding over rolling · half slip; yaw rate and
/// sideways speed are those at which force sideways and moment vanish.
struct SteadySpin {
    yaw_rad_s: f64,
    left_m_s: f64,
    /// Moment of the forces across the wheels.
    resistance_nm: f64,
}

fn steady_spin(config: &GroundConfig, speed: f64) -> SteadySpin {
    let friction = config.surface.lateral_friction;
    assert_eq!(friction, config.surface.longitudinal_friction, "a circle, not an ellipse");
    let wheelbase = config.front_axle_m + config.rear_axle_m;
    let axles = [
        (config.front_axle_m, config.rear_axle_m / wheelbase),
        (-config.rear_axle_m, config.front_axle_m / wheelbase),
    ];
    // Force across and moments of all wheels at a yaw rate and a speed to the left.
    let forces = |yaw: f64, left: f64| {
        let mut sum = (0.0, 0.0, 0.0);
        for (ahead, share) in axles {
            let load = WEIGHT_N * share / 2.0;
            // Right side forward, left side back: the same sliding, mirrored.
            let along = speed - yaw * WIDTH_M / 2.0;
            let across = -(left + ahead * yaw);
            let sliding = along.hypot(across);
            let slip = sliding / (config.tyre.half_slip * speed);
            let force = friction * load * slip / (1.0 + slip) / sliding;
            sum.0 += 2.0 * force * across;
            sum.1 += 2.0 * force * across * ahead;
            sum.2 += 2.0 * force * along * WIDTH_M / 2.0;
        }
        sum
    };
    let balanced_left = |yaw: f64| root(-yaw, yaw, |left| forces(yaw, left).0);
    let moment = |yaw: f64| {
        let (_, across, along) = forces(yaw, balanced_left(yaw));
        across + along
    };
    let fastest = 2.0 * speed / WIDTH_M;
    let yaw_rad_s = root(1e-3 * fastest, 0.999_999 * fastest, moment);
    let left_m_s = balanced_left(yaw_rad_s);
    SteadySpin { yaw_rad_s, left_m_s, resistance_nm: -forces(yaw_rad_s, left_m_s).1 }
}

/// Where a falling function is zero.
fn root(mut low: f64, mut high: f64, function: impl Fn(f64) -> f64) -> f64 {
    assert!(function(low) > 0.0 && function(high) < 0.0, "a root is between {low} and {high}");
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if function(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low + high) / 2.0
}

/// Moment of the forces across the wheels against a turn to the left: front left, front right, rear left, rear right.
fn turning_resistance_nm(ground: &Ground, config: &GroundConfig) -> f64 {
    let [fl, fr, rl, rr] = ground.wheels();
    (rl.across_n + rr.across_n) * config.rear_axle_m - (fl.across_n + fr.across_n) * config.front_axle_m
}

#[test]
fn a_spin_settles_where_friction_of_each_wheel_is_in_balance() {
    for (front_axle_m, half_slip) in [(0.55, 0.06), (0.55, 0.2), (0.72, 0.06), (0.4, 0.1)] {
        let config = GroundConfig {
            front_axle_m,
            rear_axle_m: WHEELBASE_M - front_axle_m,
            tyre: TyreConfig { half_slip, ..EQUAL_LOADS.tyre },
            ..EQUAL_LOADS
        };
        // So slow that the way of the centre of gravity round the pivot asks for no force.
        let expected = steady_spin(&config, 0.15);
        let mut ground = ground(config);
        run(&mut ground, 30.0, &both(holding(-0.15), holding(0.15)));
        assert_relative_eq!(ground.yaw_rad_s(), expected.yaw_rad_s, max_relative = 2e-3);
        assert_relative_eq!(ground.left_m_s(), expected.left_m_s, epsilon = 2e-4);
        let resistance = turning_resistance_nm(&ground, &config);
        assert_relative_eq!(resistance, expected.resistance_nm, max_relative = 5e-3);
    }
}

/// Free wheels, turned by a moment from outside: all friction is there to resist, M_r = μ_t·W·l/2 = 11 550 N·m, less
/// what slip leaves of it: S/(1 + S), S = (l/2)/(half slip · B/2).
#[test]
fn four_tyres_resist_a_turn_with_friction_at_half_the_wheelbase() {
    let mut ground = ground(EQUAL_LOADS);
    ground.set_disturbance(Disturbance { yaw_nm: 12_000.0, ..Disturbance::default() });
    run(&mut ground, 4.0, &both(TorqueLaw::NONE, TorqueLaw::NONE));
    let slip = (WHEELBASE_M / 2.0) / (0.06 * WIDTH_M / 2.0);
    let expected = 0.6 * WEIGHT_N * WHEELBASE_M / 2.0 * slip / (1.0 + slip);
    let found = turning_resistance_nm(&ground, &EQUAL_LOADS);
    assert_relative_eq!(found, expected, max_relative = 0.005);
    // A moment below the friction turns nothing but the carcasses.
    let mut held = self::ground(EQUAL_LOADS);
    held.set_disturbance(Disturbance { yaw_nm: 10_500.0, ..Disturbance::default() });
    run(&mut held, 4.0, &both(holding(0.0), holding(0.0)));
    assert!(held.yaw_rad().abs() < 0.05 && held.yaw_rad_s().abs() < 1e-3, "{}", held.yaw_rad());
}

/// Wong's F = f_r·W/2 ± M_r/B. A tenth of the worked example's coefficients, and grip along the wheels well above,
/// so that pushing hardly takes from what the circle leaves for the turn: 857.5 and −682.5 N.
#[test]
fn thrust_of_the_outer_and_the_inner_side_is_that_of_the_worked_example() {
    let surface = Surface { longitudinal_friction: 1.2, lateral_friction: 0.06, rolling_resistance: 0.005 };
    let config = GroundConfig { surface, tyre: STIFF_TYRE, ..EQUAL_LOADS };
    let mut ground = ground(config);
    // Slow: in a fast curve friction has to hold the machine against its centripetal force too.
    let (left, right) = (0.05, 0.15);
    run(&mut ground, 20.0, &both(holding(left), holding(right)));
    let resistance = turning_resistance_nm(&ground, &config);
    let [fl, fr, rl, rr] = ground.wheels().map(|wheel| wheel.along_n);
    assert_relative_eq!((fr + rr - fl - rl) * WIDTH_M / 2.0, resistance, max_relative = 1e-3);
    // In steady motion a side's drive carries its tyres' forces and its rolling resistance.
    let thrust = |law: TorqueLaw, motor_rad_s: f64| law.at(motor_rad_s) * RATIO / RADIUS_M;
    let motors = ground.motor_rad_s();
    let inner = thrust(holding(left), motors.left);
    let outer = thrust(holding(right), motors.right);
    // Slip keeps 2 % of friction back, and rolling resistance fades towards standstill.
    assert_relative_eq!(resistance, 1155.0, max_relative = 0.04);
    assert_relative_eq!(outer, 857.5, max_relative = 0.05);
    assert_relative_eq!(inner, -682.5, max_relative = 0.05);
    let rolling = (outer + inner) / (0.005 * WEIGHT_N);
    assert!((0.7..=1.0).contains(&rolling), "{rolling} of the rolling resistance");
}

/// s = v·t_r + v²/(2a), a less by g·sin θ on a downgrade. Wheels and rotors turn too: a = F/(m + J/r²).
#[test]
fn the_stopping_distance_is_that_of_elementary_mechanics() {
    let turning_kg = 2.0 * (14.0 + RATIO * RATIO * 0.02) / (RADIUS_M * RADIUS_M);
    let (reaction_s, braking_n) = (0.4, 9_000.0);
    for (downgrade, speed) in [(0.0_f64, 3.3), (0.0, 1.5), (0.15, 3.3), (-0.1, 2.0)] {
        let mut ground = ground(EQUAL_LOADS);
        // Heading east, uphill to the west on a downgrade.
        ground.set_slope(downgrade, std::f64::consts::PI);
        run(&mut ground, 6.0, &both(holding(speed), holding(speed)));
        let start = ground.x_m();
        let entry = ground.forward_m_s();
        run(&mut ground, reaction_s, &both(holding(speed), holding(speed)));
        let brake = thrusting(-braking_n / 2.0);
        while ground.forward_m_s() > 0.0 {
            ground.step(STEP_S, &both(brake, brake));
        }
        let mass = EQUAL_LOADS.mass_kg;
        let deceleration = (braking_n - mass * GRAVITY * downgrade.sin()) / (mass + turning_kg);
        let expected = entry * reaction_s + entry * entry / (2.0 * deceleration);
        // The wheels slip a little while they hold the slope and while they brake.
        assert_relative_eq!(ground.x_m() - start, expected, max_relative = 0.01);
    }
}

/// Rear wheels lift at a = g·(l_f·cos θ/h − sin θ); below, their load falls in a straight line towards zero there.
#[test]
fn braking_downhill_unloads_the_rear_wheels_as_the_tipping_limit_says() {
    let surface = Surface { longitudinal_friction: 1.5, lateral_friction: 0.6, rolling_resistance: 0.0 };
    let config = GroundConfig { front_axle_m: 0.5, rear_axle_m: 0.6, height_m: 0.9, surface, ..EQUAL_LOADS };
    let turning_kg = 2.0 * (14.0 + RATIO * RATIO * 0.02) / (RADIUS_M * RADIUS_M);
    for downgrade in [0.0_f64, 0.2] {
        let limit = GRAVITY * (0.5 * downgrade.cos() / 0.9 - downgrade.sin());
        for part in [0.3, 0.6, 0.95] {
            let mut ground = ground(config);
            ground.set_slope(downgrade, std::f64::consts::PI);
            run(&mut ground, 4.0, &both(holding(4.0), holding(4.0)));
            let deceleration = part * limit;
            let mass = config.mass_kg;
            let force = deceleration * (mass + turning_kg) + mass * GRAVITY * downgrade.sin();
            let brake = thrusting(-force / 2.0);
            let before = ground.forward_m_s();
            run(&mut ground, 0.6, &both(brake, brake));
            let found = (before - ground.forward_m_s()) / 0.6;
            assert_relative_eq!(found, deceleration, max_relative = 0.02);
            let rear: f64 = ground.wheels()[2..].iter().map(|wheel| wheel.load_n).sum();
            let standing = WEIGHT_N * downgrade.cos() * 0.5 / 1.1;
            let lifted = mass * 0.9 * (deceleration + GRAVITY * downgrade.sin()) / 1.1;
            assert_relative_eq!(rear, standing - lifted, epsilon = 0.01 * WEIGHT_N);
            assert!(part < 0.9 || rear < 0.06 * WEIGHT_N, "close to tipping: {rear} N left");
        }
    }
}
