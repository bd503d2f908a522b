use super::*;
use crate::plant::tyre::TyreConfig;
use approx::assert_relative_eq;
use proptest::prelude::*;

const DT: f64 = 1e-4;

/// The worked example for four tyres: W = 35 kN, l = 1.1 m, B = 1.5 m, equal loads.
const CONFIG: GroundConfig = GroundConfig {
    mass_kg: 35_000.0 / GRAVITY_M_S2,
    yaw_inertia_kg_m2: 3800.0,
    front_axle_m: 0.55,
    rear_axle_m: 0.55,
    track_width_m: 1.5,
    height_m: 0.0,
    wheel_radius_m: 0.4,
    side_inertia_kg_m2: 14.0,
    motor_inertia_kg_m2: 0.02,
    final_drive_ratio: 14.0,
    tyre: TyreConfig { half_slip: 0.06, deflection_m: 0.02, damping_time_s: 0.02 },
    surface: Surface { longitudinal_friction: 0.6, lateral_friction: 0.6, rolling_resistance: 0.0 },
};

fn loader(height_m: f64, front_axle_m: f64) -> GroundConfig {
    GroundConfig {
        front_axle_m,
        rear_axle_m: 1.1 - front_axle_m,
        height_m,
        surface: Surface { rolling_resistance: 0.05, ..CONFIG.surface },
        ..CONFIG
    }
}

/// A drive so stiff that it sets the motor's speed.
fn turning(motor_rad_s: f64) -> TorqueLaw {
    TorqueLaw { torque_nm: 1e6 * motor_rad_s, damping_nm_s: 1e6 }
}

fn drive(left: TorqueLaw, right: TorqueLaw) -> GroundInputs {
    GroundInputs { drive: Sides { left, right }, push: PushLaw::NONE }
}

fn run(ground: &mut Ground, seconds: f64, inputs: &GroundInputs) {
    for _ in 0..(seconds / DT) as u64 {
        ground.step(DT, inputs);
    }
}

fn yaw_moment_of_lateral_forces(ground: &Ground) -> f64 {
    ground.wheels.iter().map(|wheel| wheel.ahead_m * wheel.forces.across_n).sum()
}

#[test]
fn straight_ahead_the_vehicle_moves_at_the_wheels_speed() {
    // v = ω·r (Siegwart & Nourbakhsh, Introduction to Autonomous Mobile Robots, ch. 3, v_r = v_l).
    let mut ground = Ground::new(CONFIG).unwrap();
    run(&mut ground, 5.0, &drive(turning(70.0), turning(70.0)));
    assert_relative_eq!(ground.forward_m_s(), 70.0 / 14.0 * 0.4, max_relative = 1e-6);
    let start = ground.x_m();
    run(&mut ground, 5.0, &drive(turning(70.0), turning(70.0)));
    assert_relative_eq!(ground.x_m() - start, 10.0, max_relative = 1e-5);
    assert_eq!(ground.y_m(), 0.0);
    assert_eq!(ground.yaw_rad(), 0.0);
}

#[test]
fn without_lateral_grip_turns_follow_differential_drive_kinematics() {
    // ω = (v_r − v_l)/B, R = (B/2)·(v_r + v_l)/(v_r − v_l) (Siegwart & Nourbakhsh, ch. 3). With lateral
    // friction at 1/300 of the longitudinal one, nothing resists the turn; slow enough for that friction to
    // hold the centripetal force (m·v·ω = 15 N of 70 N). What is left is slip.
    let slippery = Surface { lateral_friction: 0.002, ..CONFIG.surface };
    let mut ground = Ground::new(GroundConfig { surface: slippery, ..CONFIG }).unwrap();
    run(&mut ground, 10.0, &drive(turning(-14.0), turning(14.0)));
    assert_relative_eq!(ground.yaw_rad_s(), 2.0 * 0.4 / 1.5, max_relative = 2e-3);
    let mut ground = Ground::new(GroundConfig { surface: slippery, ..CONFIG }).unwrap();
    run(&mut ground, 20.0, &drive(turning(1.4), turning(4.2)));
    assert_relative_eq!(ground.yaw_rad_s(), (0.12 - 0.04) / 1.5, max_relative = 2e-3);
    let radius = ground.forward_m_s() / ground.yaw_rad_s();
    assert_relative_eq!(radius, 0.75 * 0.16 / 0.08, max_relative = 2e-3);
}

#[test]
fn in_a_spin_the_effective_width_follows_from_the_balance_of_slip() {
    // Equal loads, no rolling resistance: friction points against sliding, and the moments of both
    // directions balance: s_along·B = s_across·l. With s_along = Ω·r − ω·B/2 and s_across = ω·l/2 the
    // effective width is χ·B with χ = 1 + (μ_across/μ_along)·(l/B)². Its use: Mandow et al., IROS 2007.
    for ratio in [1.0, 0.5] {
        let surface = Surface { lateral_friction: ratio * 0.6, ..CONFIG.surface };
        let mut ground = Ground::new(GroundConfig { surface, ..CONFIG }).unwrap();
        run(&mut ground, 10.0, &drive(turning(-28.0), turning(28.0)));
        let effective_width = 2.0 * 0.8 / ground.yaw_rad_s();
        let expected = 1.0 + ratio * (1.1_f64 / 1.5).powi(2);
        assert_relative_eq!(effective_width / 1.5, expected, max_relative = 1e-3);
    }
}

#[test]
fn turning_resistance_of_free_wheels_tends_to_four_tyres_at_half_the_wheelbase() {
    // μ_t·W·l/2 = 11 550 N·m for four tyres (twice Wong's uniform track pressure). Slip leaves
    // S/(1 + S) of it, S = (l/2)/(half_slip·B/2) in a turn with free wheels.
    for (half_slip, tolerance) in [(0.06, 0.01), (0.005, 0.01)] {
        let tyre = TyreConfig { half_slip, ..CONFIG.tyre };
        let mut ground = Ground::new(GroundConfig { tyre, ..CONFIG }).unwrap();
        ground.set_disturbance(Disturbance { yaw_nm: 12_000.0, ..Disturbance::default() });
        run(&mut ground, 4.0, &drive(TorqueLaw::NONE, TorqueLaw::NONE));
        let slip = 0.55 / (half_slip * 0.75);
        let moment = -yaw_moment_of_lateral_forces(&ground);
        assert_relative_eq!(moment, 11_550.0 * slip / (1.0 + slip), max_relative = tolerance);
    }
}

#[test]
fn turning_resistance_of_driven_wheels_is_smaller_because_they_share_one_friction_circle() {
    // In a spin friction points along (B, l)/√(B² + l²): the resisting moment is the lateral share.
    let mut ground = Ground::new(CONFIG).unwrap();
    run(&mut ground, 10.0, &drive(turning(-42.0), turning(42.0)));
    let sliding = ground.yaw_rad_s() * 0.55 * (1.0 + (1.1_f64 / 1.5).powi(2)).sqrt();
    let slip = sliding / (0.06 * 1.2);
    let expected = 11_550.0 * 1.5 / (1.5_f64.powi(2) + 1.1_f64.powi(2)).sqrt() * slip / (1.0 + slip);
    assert_relative_eq!(-yaw_moment_of_lateral_forces(&ground), expected, max_relative = 5e-3);
}

#[test]
fn a_locked_vehicle_stops_in_the_distance_of_sliding_friction() {
    // s = v²/(2·μ·g), the elementary stopping distance. The carcass needs a few centimetres to bite.
    let mut ground = Ground::new(CONFIG).unwrap();
    run(&mut ground, 5.0, &drive(turning(105.0), turning(105.0)));
    let (start, speed) = (ground.x_m(), ground.forward_m_s());
    run(&mut ground, 5.0, &drive(turning(0.0), turning(0.0)));
    let distance = speed * speed / (2.0 * 0.6 * GRAVITY_M_S2);
    assert_relative_eq!(ground.x_m() - start, distance, epsilon = 0.05);
    assert!(ground.forward_m_s().abs() < 1e-3);
}

#[test]
fn coasting_loses_speed_by_rolling_resistance_over_all_that_turns() {
    // a = f_r·g/(1 + J/(m·r²)), J of both sides.
    let config = loader(0.0, 0.55);
    let mut ground = Ground::new(config).unwrap();
    run(&mut ground, 5.0, &drive(turning(105.0), turning(105.0)));
    let speed = ground.forward_m_s();
    run(&mut ground, 3.0, &drive(TorqueLaw::NONE, TorqueLaw::NONE));
    let turning_mass = 2.0 * (14.0 + 14.0 * 14.0 * 0.02) / (0.4 * 0.4);
    let deceleration = 0.05 * GRAVITY_M_S2 / (1.0 + turning_mass / config.mass_kg);
    assert_relative_eq!(speed - ground.forward_m_s(), 3.0 * deceleration, max_relative = 0.02);
}

#[test]
fn a_locked_vehicle_on_a_slope_does_not_drift() {
    for uphill in [0.0, 1.0, 2.5] {
        let mut ground = Ground::new(loader(0.75, 0.7)).unwrap();
        ground.set_slope(0.25, uphill);
        run(&mut ground, 10.0, &drive(turning(0.0), turning(0.0)));
        let (x, y, yaw) = (ground.x_m(), ground.y_m(), ground.yaw_rad());
        run(&mut ground, 120.0, &drive(turning(0.0), turning(0.0)));
        assert!((ground.x_m() - x).abs() < 1e-3, "{}", ground.x_m() - x);
        assert!((ground.y_m() - y).abs() < 1e-3, "{}", ground.y_m() - y);
        assert!((ground.yaw_rad() - yaw).abs() < 1e-3);
    }
}

#[test]
fn a_slope_steeper_than_friction_lets_it_slide() {
    // a = g·(sin θ − μ·cos θ), once the carcasses are at their limit.
    let mut ground = Ground::new(CONFIG).unwrap();
    ground.set_slope(0.65, 0.0);
    run(&mut ground, 2.0, &drive(turning(0.0), turning(0.0)));
    let before = ground.forward_m_s();
    run(&mut ground, 2.0, &drive(turning(0.0), turning(0.0)));
    let (sin, cos) = libm::sincos(0.65);
    let acceleration = GRAVITY_M_S2 * (sin - 0.6 * cos);
    assert_relative_eq!(before - ground.forward_m_s(), 2.0 * acceleration, max_relative = 1e-3);
}

#[test]
fn wheel_loads_follow_axles_payload_slope_and_drive() {
    let mut ground = Ground::new(loader(0.75, 0.7)).unwrap();
    let front = |ground: &Ground| ground.wheels()[0].load_n + ground.wheels()[1].load_n;
    let sum = |ground: &Ground| ground.wheels().iter().map(|wheel| wheel.load_n).sum::<f64>();
    assert_relative_eq!(front(&ground), 35_000.0 * 0.4 / 1.1, max_relative = 1e-12);
    assert_relative_eq!(sum(&ground), 35_000.0, max_relative = 1e-12);
    ground.set_payload(1000.0, 1.9);
    let rest = drive(turning(0.0), turning(0.0));
    run(&mut ground, 2.0, &rest);
    let payload_n = 1000.0 * GRAVITY_M_S2;
    let expected = (35_000.0 * 0.4 + payload_n * (0.4 + 1.9)) / 1.1;
    assert_relative_eq!(front(&ground), expected, max_relative = 1e-6);
    ground.set_payload(0.0, 0.0);
    ground.set_slope(0.2, 0.0);
    run(&mut ground, 10.0, &rest);
    let (sin, cos) = libm::sincos(0.2);
    assert_relative_eq!(sum(&ground), 35_000.0 * cos, max_relative = 1e-9);
    assert_relative_eq!(front(&ground), 35_000.0 * (cos * 0.4 - sin * 0.75) / 1.1, max_relative = 1e-3);
}

#[test]
fn on_a_side_slope_the_lower_wheels_carry_more() {
    // Roll about the contact line: N_low − N_high = 2·W·sin θ·h/B.
    let mut ground = Ground::new(loader(0.75, 0.7)).unwrap();
    ground.set_slope(0.2, core::f64::consts::FRAC_PI_2);
    run(&mut ground, 10.0, &drive(turning(0.0), turning(0.0)));
    let [front_left, front_right, rear_left, rear_right] = ground.wheels().map(|wheel| wheel.load_n);
    let difference = front_right + rear_right - front_left - rear_left;
    let expected = 2.0 * 35_000.0 * libm::sin(0.2) * 0.75 / 1.5;
    assert_relative_eq!(difference, expected, max_relative = 1e-3);
}

#[test]
fn thrust_in_steady_travel_is_the_rolling_resistance() {
    // F = f_r·W/2 a side (Wong, Theory of Ground Vehicles, straight motion).
    let mut ground = Ground::new(loader(0.0, 0.55)).unwrap();
    let torque_nm = 0.05 * 35_000.0 / 2.0 * 0.4 / 14.0;
    run(&mut ground, 5.0, &drive(turning(70.0), turning(70.0)));
    let before = ground.forward_m_s();
    let law = TorqueLaw { torque_nm, damping_nm_s: 0.0 };
    run(&mut ground, 5.0, &drive(law, law));
    // The fade of rolling resistance near rest takes 1 % off it at 2 m/s.
    assert_relative_eq!(ground.forward_m_s(), before, epsilon = 0.03);
}

#[test]
fn a_push_law_acts_at_its_point_and_turns_the_vehicle() {
    let mut ground = Ground::new(CONFIG).unwrap();
    ground
        .set_surface(Surface {
            longitudinal_friction: 0.001,
            lateral_friction: 0.001,
            rolling_resistance: 0.0,
        })
        .unwrap();
    let push = PushLaw { ahead_m: 2.0, forward: 0.0, leftward: 1.0, force_n: 1000.0, damping_n_s_m: 0.0 };
    let inputs = GroundInputs { push, ..drive(TorqueLaw::NONE, TorqueLaw::NONE) };
    run(&mut ground, 0.5, &inputs);
    assert_relative_eq!(ground.yaw_rad_s(), 2000.0 / 3800.0 * 0.5, max_relative = 0.05);
    assert_relative_eq!(ground.left_m_s(), 1000.0 / CONFIG.mass_kg * 0.5, max_relative = 0.15);
}

/// A vehicle on next to no friction.
fn on_ice() -> Ground {
    let surface = Surface { longitudinal_friction: 0.001, lateral_friction: 0.001, rolling_resistance: 0.0 };
    Ground::new(GroundConfig { surface, ..CONFIG }).unwrap()
}

#[test]
fn on_ice_a_turning_vehicle_slides_straight_on_in_the_world() {
    let mut ground = on_ice();
    ground.place(0.0, 0.0, 0.4);
    (ground.forward_m_s, ground.yaw_rad_s) = (3.0, 1.2);
    ground.wheel_rad_s = [3.0 / 0.4; 2];
    run(&mut ground, 2.0, &drive(TorqueLaw::NONE, TorqueLaw::NONE));
    // Friction of 0.001·g takes at most 2 cm off the way; the step, 0.1 mm.
    assert_relative_eq!(ground.x_m(), 6.0 * libm::cos(0.4), epsilon = 0.025);
    assert_relative_eq!(ground.y_m(), 6.0 * libm::sin(0.4), epsilon = 0.025);
    assert_relative_eq!(ground.yaw_rad(), 0.4 + 2.4, epsilon = 0.02);
}

#[test]
fn on_ice_a_slope_pulls_downhill_whatever_the_heading() {
    for heading in [0.0, 1.0, 2.5, -2.0] {
        let mut ground = on_ice();
        ground.place(5.0, -3.0, heading);
        ground.set_slope(0.3, 0.7);
        run(&mut ground, 1.0, &drive(TorqueLaw::NONE, TorqueLaw::NONE));
        let way = 0.5 * GRAVITY_M_S2 * libm::sin(0.3);
        // Friction of 0.001·g is a third of a per cent of the pull.
        let downhill = -(ground.x_m() - 5.0) * libm::cos(0.7) - (ground.y_m() + 3.0) * libm::sin(0.7);
        let sideways = (ground.x_m() - 5.0) * libm::sin(0.7) - (ground.y_m() + 3.0) * libm::cos(0.7);
        assert_relative_eq!(downhill, way, max_relative = 0.01);
        assert!(sideways.abs() < 0.01 * way, "{sideways} m sideways at heading {heading}");
    }
}

#[test]
fn a_broken_surface_is_refused_and_the_old_one_stays() {
    let mut ground = Ground::new(CONFIG).unwrap();
    let refusal = ground.set_surface(Surface { rolling_resistance: 0.9, ..CONFIG.surface }).unwrap_err();
    assert_eq!(refusal.to_string(), "surface: rolling_resistance is 0.9; choose a value from 0 to 0.5");
    assert_eq!(ground.surface, CONFIG.surface);
}

fn any_law() -> impl Strategy<Value = TorqueLaw> {
    (-5000.0f64..5000.0, 0.0f64..1e4)
        .prop_map(|(torque_nm, damping_nm_s)| TorqueLaw { torque_nm, damping_nm_s })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn left_and_right_are_mirror_images(
        laws in proptest::collection::vec((any_law(), any_law()), 1..12), payload in 0.0f64..2000.0
    ) {
        let mut ground = Ground::new(loader(0.75, 0.7)).unwrap();
        ground.set_payload(payload, 1.9);
        let mut mirror = ground.clone();
        for (left, right) in laws {
            for _ in 0..200 {
                ground.step(DT, &drive(left, right));
                mirror.step(DT, &drive(right, left));
            }
            // Sums are taken in another order: equal up to rounding.
            prop_assert!((ground.forward_m_s() - mirror.forward_m_s()).abs() < 1e-9);
            prop_assert!((ground.left_m_s() + mirror.left_m_s()).abs() < 1e-9);
            prop_assert!((ground.yaw_rad_s() + mirror.yaw_rad_s()).abs() < 1e-9);
            prop_assert!((ground.y_m() + mirror.y_m()).abs() < 1e-9);
        }
    }

    #[test]
    fn forward_and_reverse_are_mirror_images_on_equal_axles(
        laws in proptest::collection::vec((any_law(), any_law()), 1..12)
    ) {
        let back = |law: TorqueLaw| TorqueLaw { torque_nm: -law.torque_nm, ..law };
        let mut ground = Ground::new(loader(0.6, 0.55)).unwrap();
        let mut mirror = ground.clone();
        for (left, right) in laws {
            for _ in 0..200 {
                ground.step(DT, &drive(left, right));
                mirror.step(DT, &drive(back(left), back(right)));
            }
            prop_assert!((ground.forward_m_s() + mirror.forward_m_s()).abs() < 1e-9);
            prop_assert!((ground.yaw_rad_s() + mirror.yaw_rad_s()).abs() < 1e-9);
        }
    }

    #[test]
    fn without_drive_on_the_level_energy_never_grows_by_more_than_the_carcass_gives_back(
        forward in -8.0f64..8.0, left in -8.0f64..8.0, yaw in -6.0f64..6.0,
        wheels in proptest::array::uniform2(-40.0f64..40.0), dt in 1e-5f64..2e-3
    ) {
        let mut ground = Ground::new(loader(0.75, 0.7)).unwrap();
        (ground.forward_m_s, ground.left_m_s, ground.yaw_rad_s) = (forward, left, yaw);
        ground.wheel_rad_s = wheels;
        let at_start = ground.energy_j();
        for _ in 0..2000 {
            ground.step(dt, &drive(TorqueLaw::NONE, TorqueLaw::NONE));
            // Four tyres hold at most ½·μ·N·deflection each: 0.5·0.6·35 kN·0.02 m = 210 J.
            prop_assert!(ground.energy_j() <= at_start + 210.0);
        }
    }

    #[test]
    fn extreme_inputs_leave_everything_finite_and_friction_in_its_circle(
        laws in proptest::collection::vec((any_law(), any_law(), -1.0f64..1.0, -7.0f64..7.0), 1..12)
    ) {
        let mut ground = Ground::new(loader(0.75, 0.7)).unwrap();
        for (left, right, slope, uphill) in laws {
            ground.set_slope(slope, uphill);
            for _ in 0..300 {
                ground.step(DT, &drive(left, right));
                for wheel in ground.wheels() {
                    let force = (wheel.along_n * wheel.along_n + wheel.across_n * wheel.across_n).sqrt();
                    // The renewal rate is taken at the start of a step: a wheel that gathers speed within
                    // one step may pass the circle by that share.
                    prop_assert!(force <= 0.6 * wheel.load_n * 1.05 + 1.0, "{} of {}", force, 0.6 * wheel.load_n);
                }
            }
            for value in [ground.x_m(), ground.y_m(), ground.yaw_rad(), ground.energy_j()] {
                prop_assert!(value.is_finite());
            }
        }
    }
}
