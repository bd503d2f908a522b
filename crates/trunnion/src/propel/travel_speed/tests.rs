use super::*;
use crate::quantity::{Millis, Permille};
use crate::sense::Flaw;
use proptest::prelude::*;

const TICK: Period = Period::from_micros(10_000).unwrap();

fn rpm(whole: i32) -> Rpm {
    Rpm::from_whole(whole)
}

fn permille(raw: i16) -> Permille {
    Permille::new(raw).unwrap()
}

fn config(gain: i16, integral_time: u32, authority: i16) -> TravelSpeedConfig {
    TravelSpeedConfig {
        full_speed: rpm(2_000),
        gain: permille(gain),
        integral_time: Millis::millis(integral_time),
        authority: permille(authority),
    }
}

fn configs() -> impl Strategy<Value = TravelSpeedConfig> {
    (0_i16..=1000, 100_u32..=5_000, 10_i16..=1000)
        .prop_map(|(gain, time, authority)| config(gain, time, authority))
}

type Input = (Rpm, Reading<Rpm>, Ratio);

fn input() -> impl Strategy<Value = Input> {
    let target = prop_oneof![Just(0), -2_500..=2_500];
    let actual = prop_oneof![
        9 => (-3_000..=3_000).prop_map(|whole| Reading::Valid(rpm(whole))),
        1 => Just(Reading::Faulted(Flaw::Silent)),
    ];
    let allowed = prop_oneof![Just(Ratio::ONE_BITS), -Ratio::ONE_BITS..=Ratio::ONE_BITS];
    (target, actual, allowed)
        .prop_map(|(target, actual, allowed)| (rpm(target), actual, Ratio::from_bits(allowed).unwrap()))
}

/// A machine of first order: full command is 2000 rpm less the load, with a lag of 0.3 s.
struct Machine {
    speed: f64,
    load: f64,
}

impl Machine {
    fn drive(&mut self, command: Ratio) -> Reading<Rpm> {
        let settled = 2_000.0 * f64::from(command.to_bits()) / f64::from(Ratio::ONE_BITS) - self.load;
        self.speed += (settled - self.speed) * (1.0 - (-0.01_f64 / 0.3).exp());
        Reading::Valid(Rpm::new((self.speed * 8.0).round() as i32).unwrap())
    }
}

proptest! {
    #[test]
    fn the_command_stays_between_zero_and_what_is_allowed_in_the_direction_of_the_target(
        config in configs(), inputs in proptest::collection::vec(input(), 1..100)
    ) {
        let mut speed = TravelSpeed::new(config, TICK).unwrap();
        for (target, actual, allowed) in inputs {
            let command = speed.step(target, actual, allowed);
            prop_assert!(command.magnitude() <= allowed.at_least(Ratio::ZERO));
            prop_assert!(i64::from(command.to_bits()) * i64::from(target.raw()) >= 0);
            prop_assert!(target != Rpm::ZERO || command.is_zero());
            prop_assert!(speed.correction().magnitude() <= config.authority.into());
        }
    }

    #[test]
    fn both_directions_are_treated_alike(config in configs(), inputs in proptest::collection::vec(input(), 1..100)) {
        let (mut forward, mut reverse) = (TravelSpeed::new(config, TICK).unwrap(), TravelSpeed::new(config, TICK).unwrap());
        for (target, actual, allowed) in inputs {
            let mirrored = reverse.step(Rpm::ZERO.minus(target), actual.map(|actual| Rpm::ZERO.minus(actual)), allowed);
            prop_assert_eq!(forward.step(target, actual, allowed), mirrored.reversed());
        }
    }

    #[test]
    fn without_a_speed_the_command_is_open_loop_whatever_was_before(
        config in configs(), inputs in proptest::collection::vec(input(), 0..50), target in -2_000..=2_000
    ) {
        let mut speed = TravelSpeed::new(config, TICK).unwrap();
        for (target, actual, allowed) in inputs {
            speed.step(target, actual, allowed);
        }
        let open = speed.step(rpm(target), Reading::Faulted(Flaw::TooFast), Ratio::ONE);
        prop_assert_eq!(open, rpm(target).share_of(rpm(2_000)));
        prop_assert_eq!(speed.correction(), Ratio::ZERO);
    }

    #[test]
    fn a_machine_on_a_slope_settles_on_its_speed(
        gain in 0_i16..=600, integral_time in 500_u32..=2_000, target in 300..=1_400, load in -250..=500
    ) {
        let mut speed = TravelSpeed::new(config(gain, integral_time, 400), TICK).unwrap();
        let mut machine = Machine { speed: 0.0, load: f64::from(load) };
        let mut actual = Reading::Valid(Rpm::ZERO);
        for _ in 0..4_000 {
            actual = machine.drive(speed.step(rpm(target), actual, Ratio::ONE));
        }
        prop_assert!((machine.speed - f64::from(target)).abs() <= 0.5, "{} rpm", machine.speed);
    }

    #[test]
    fn on_a_downgrade_the_sum_takes_no_more_than_the_command_has(
        gain in 0_i16..=1000, target in 1..=2_000, faster in 0..=2_000, steps in 1..3_000
    ) {
        let mut speed = TravelSpeed::new(config(gain, 200, 1_000), TICK).unwrap();
        let (share, taken) = (f64::from(target) / 2_000.0, f64::from(gain) / 1_000.0 * f64::from(faster) / 2_000.0);
        for _ in 0..steps {
            speed.step(rpm(target), Reading::Valid(rpm(target + faster)), Ratio::ONE);
        }
        let correction = f64::from(speed.correction().to_bits()) / f64::from(Ratio::ONE_BITS);
        prop_assert!(correction >= -(share - taken).max(0.0) - 1e-8, "{} of {}", correction, share - taken);
    }

    /// The engine is in trouble and allows little for a long time; then it allows all again. Without anti-windup the sum
    /// would stand at its authority and throw the machine over its speed.
    #[test]
    fn after_any_time_at_a_limit_the_speed_overshoots_no_more_than_from_rest(limited_for in 1..6_000, allowed in 0..=300) {
        let from_rest = highest_speed(0, 0);
        prop_assert!(from_rest < 1_100.0, "{from_rest} rpm from rest");
        let highest = highest_speed(limited_for, allowed);
        prop_assert!(highest <= from_rest + 0.5, "{highest} rpm, and {from_rest} from rest");
    }
}

/// Towards 1000 rpm on the level, at first with less than that allowed.
fn highest_speed(limited_for: i32, allowed: i32) -> f64 {
    let mut speed = TravelSpeed::new(config(500, 1_000, 1_000), TICK).unwrap();
    let mut machine = Machine { speed: 0.0, load: 0.0 };
    let mut actual = Reading::Valid(Rpm::ZERO);
    let mut highest = 0.0_f64;
    for step in 0..limited_for + 2_000 {
        let allowed = if step < limited_for { Ratio::from_permille(allowed).unwrap() } else { Ratio::ONE };
        actual = machine.drive(speed.step(rpm(1_000), actual, allowed));
        highest = highest.max(machine.speed);
    }
    assert!((machine.speed - 1_000.0).abs() <= 0.5, "settled at {} rpm", machine.speed);
    highest
}

#[test]
fn new_values_keep_the_sum_within_their_authority_and_bad_ones_change_nothing() {
    let mut speed = TravelSpeed::new(config(0, 100, 1_000), TICK).unwrap();
    for _ in 0..100 {
        speed.step(rpm(400), Reading::Valid(Rpm::ZERO), Ratio::ONE);
    }
    let summed = speed.correction();
    assert!(summed > Ratio::from_permille(500).unwrap());
    for (bad, message) in [
        (
            TravelSpeedConfig { full_speed: rpm(7), ..config(0, 100, 10) },
            "speed at full command of 56/8 rpm: set 8 rpm to 16000 rpm",
        ),
        (config(-1, 100, 10), "gain of -1 ‰: set 0 ‰ to 1000 ‰"),
        (config(0, 99, 10), "integral time of 99 ms: set 100 ms to 60000 ms"),
        (config(0, 100, 9), "authority of the sum of 9 ‰: set 10 ‰ to 1000 ‰"),
    ] {
        assert_eq!(std::format!("{}", speed.reconfigure(bad).unwrap_err()), message);
        assert_eq!(speed.correction(), summed);
    }
    speed.reconfigure(config(0, 100, 200)).unwrap();
    assert_eq!(speed.correction(), Ratio::from_permille(200).unwrap());
    speed.reset();
    assert_eq!(speed.correction(), Ratio::ZERO);
}

#[test]
fn a_configuration_is_taken_up_to_its_bounds_and_no_further() {
    let sound = config(500, 1_000, 500);
    let with_speed = |whole: i32, part: i32| {
        let full_speed = Rpm::saturating(i64::from(rpm(whole).raw()) + i64::from(part));
        TravelSpeedConfig { full_speed, ..sound }
    };
    for (config, taken) in [
        (with_speed(8, 0), true),
        (with_speed(8, -1), false),
        (with_speed(16_000, 0), true),
        (with_speed(16_000, 1), false),
        (with_speed(16_000, 1_000), false),
        (config(0, 1_000, 500), true),
        (config(-1, 1_000, 500), false),
        (config(500, 100, 500), true),
        (config(500, 99, 500), false),
        (config(500, 60_000, 500), true),
        (config(500, 60_001, 500), false),
        (config(500, 90_000, 500), false),
        (config(500, 1_000, 10), true),
        (config(500, 1_000, 9), false),
    ] {
        assert_eq!(config.check().is_ok(), taken, "{config:?}");
    }
}

#[test]
fn other_settings_leave_what_was_learnt_of_the_load() {
    let mut speed = TravelSpeed::new(config(500, 1_000, 500), TICK).unwrap();
    let slow = (rpm(1_000), Reading::Valid(rpm(800)), Ratio::ONE);
    let mut last = Ratio::ZERO;
    for _ in 0..50 {
        last = speed.step(slow.0, slow.1, slow.2);
    }
    speed.reconfigure(config(500, 1_000, 500)).unwrap();
    assert!(speed.step(slow.0, slow.1, slow.2) >= last);
}
