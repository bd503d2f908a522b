use proptest::prelude::*;
use std::vec::Vec;

use super::*;
use crate::quantity::{Permille, Ratio};

const TICK_MS: u32 = 10;
const TICK: Period = Period::from_micros(TICK_MS * 1000).unwrap();

fn ratio() -> impl Strategy<Value = Ratio> {
    prop_oneof![
        2 => (-1000..=1000).prop_map(|permille| Ratio::from_permille(permille).unwrap()),
        2 => (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap()),
        1 => prop_oneof![Just(Ratio::ZERO), Just(Ratio::ONE), Just(Ratio::MINUS_ONE)],
    ]
}

fn sides() -> impl Strategy<Value = Sides> {
    prop_oneof![
        4 => (ratio(), ratio()).prop_map(|(left, right)| Sides { left, right }),
        1 => ratio().prop_map(Sides::spin),
        1 => ratio().prop_map(Sides::straight),
        1 => Just(Sides::ZERO),
    ]
}

fn rates() -> impl Strategy<Value = MotionRates> {
    (10u32..3_000, 10u32..3_000, 10u32..3_000).prop_map(|(accelerate, decelerate, reverse)| MotionRates {
        accelerate: Millis::millis(accelerate),
        decelerate: Millis::millis(decelerate),
        reverse: Millis::millis(reverse),
    })
}

fn config() -> impl Strategy<Value = PairRampConfig> {
    (rates(), rates(), rates(), 10u32..2_000, 0u32..300).prop_map(
        |(forward, reverse, rotation, stop, dwell)| PairRampConfig {
            forward,
            reverse,
            rotation,
            stop: Millis::millis(stop),
            dwell: Millis::millis(dwell),
        },
    )
}

/// What the levers ask, each for some ticks.
fn stream() -> impl Strategy<Value = Vec<(Sides, usize)>> {
    proptest::collection::vec((sides(), 1usize..80), 1..8)
}

fn ramp(config: PairRampConfig) -> PairRamp {
    PairRamp::new(config, TICK).unwrap()
}

fn drive(ramp: &mut PairRamp, stream: &[(Sides, usize)]) {
    for &(target, ticks) in stream {
        for _ in 0..ticks {
            ramp.step(target, StopRequest::None);
        }
    }
}

/// (L − R) / (L + R) where |L + R| is at least a tenth of full scale.
fn shape(sides: Sides) -> Option<f64> {
    let (left, right) = (f64::from(sides.left.to_bits()), f64::from(sides.right.to_bits()));
    let sum = left + right;
    (sum.abs() >= 0.1 * f64::from(Ratio::ONE_BITS)).then(|| (left - right) / sum)
}

fn keeps_shape(now: Sides, commanded: Sides) -> bool {
    match (shape(now), shape(commanded)) {
        (Some(now), Some(commanded)) => (now - commanded).abs() <= 0.01,
        _ => true,
    }
}

fn moves_towards_zero(before: Ratio, after: Ratio) -> bool {
    after.magnitude() <= before.magnitude() && !before.opposite_direction(after)
}

/// Travel and rotation doubled, exact.
fn travel_and_rotation(sides: Sides) -> (i64, i64) {
    let (left, right) = (i64::from(sides.left.to_bits()), i64::from(sides.right.to_bits()));
    (left + right, left - right)
}

proptest! {
    #[test]
    fn nothing_asked_is_nothing_done(config in config(), ticks in 1usize..100) {
        let mut ramp = ramp(config);
        drive(&mut ramp, &[(Sides::ZERO, ticks)]);
        prop_assert_eq!(ramp.output(), Sides::ZERO);
        prop_assert_eq!(ramp.state(), MotionState::Standing);
        prop_assert_eq!(ramp.phase(), MotionPhase::Holding);
    }

    #[test]
    fn what_is_asked_for_long_enough_is_reached_exactly(config in config(), before in stream(), target in sides()) {
        let mut ramp = ramp(config);
        drive(&mut ramp, &before);
        // To zero, dwell, and out again, each at most 3 s; rotation may wait for travel.
        drive(&mut ramp, &[(target, 1_300)]);
        prop_assert_eq!(ramp.output(), target);
        prop_assert_eq!(ramp.phase(), MotionPhase::Holding);
    }

    #[test]
    fn no_side_ever_needs_the_stop_at_full_scale(config in config(), stream in stream()) {
        let mut ramp = ramp(config);
        for (target, ticks) in stream {
            for _ in 0..ticks {
                ramp.step(target, StopRequest::None);
                prop_assert!(ramp.present.left.abs() <= fine::ONE && ramp.present.right.abs() <= fine::ONE);
            }
        }
    }

    #[test]
    fn travel_and_rotation_never_exceed_the_larger_of_done_and_asked(config in config(), stream in stream()) {
        let mut ramp = ramp(config);
        for (target, ticks) in stream {
            let (asked_travel, asked_rotation) = travel_and_rotation(target);
            for _ in 0..ticks {
                let (travel, rotation) = travel_and_rotation(ramp.output());
                let (next_travel, next_rotation) = travel_and_rotation(ramp.step(target, StopRequest::None));
                prop_assert!(next_travel.abs() <= travel.abs().max(asked_travel.abs()) + 2);
                prop_assert!(next_rotation.abs() <= rotation.abs().max(asked_rotation.abs()) + 2);
            }
        }
    }

    #[test]
    fn travel_and_rotation_never_change_faster_than_their_rates(config in config(), stream in stream()) {
        let mut ramp = ramp(config);
        let fastest = |rates: &Rates| 2 * rates.decelerate.max(rates.reverse);
        let limits = ramp.limits;
        for (target, ticks) in stream {
            for _ in 0..ticks {
                let before = ramp.present;
                ramp.step(target, StopRequest::None);
                let drive = limits.drive(before.sum() + ramp.present.sum());
                let rotation = &limits.rotation;
                let travel = ramp.present.sum().abs() - before.sum().abs();
                let turn = ramp.present.difference().abs() - before.difference().abs();
                prop_assert!(travel <= 2 * drive.accelerate + 1 && -travel <= fastest(drive) + 20);
                prop_assert!(turn <= 2 * rotation.accelerate + 1 && -turn <= fastest(rotation) + 20);
                prop_assert!(before.sum().signum() * ramp.present.sum().signum() >= 0);
                prop_assert!(before.difference().signum() * ramp.present.difference().signum() >= 0);
            }
        }
    }

    #[test]
    fn from_rest_the_shape_of_the_turn_is_kept_and_the_slower_motion_sets_the_time(
        config in config(), target in sides()
    ) {
        let mut ramp = ramp(config);
        let (travel, rotation) = travel_and_rotation(target);
        let drive = if travel < 0 { config.reverse } else { config.forward };
        let share = |doubled: i64| doubled.abs() as f64 / 2.0 / f64::from(Ratio::ONE_BITS);
        let time = (share(travel) * f64::from(drive.accelerate.ticks()))
            .max(share(rotation) * f64::from(config.rotation.accelerate.ticks()));
        let mut ticks = 0;
        while ramp.output() != target {
            prop_assert!(keeps_shape(ramp.step(target, StopRequest::None), target), "{:?}", ramp.output());
            ticks += 1;
            prop_assert!(f64::from(ticks - 1) * f64::from(TICK_MS) <= time + f64::from(TICK_MS), "{} ticks", ticks);
        }
        prop_assert!(f64::from(ticks + 1) * f64::from(TICK_MS) >= time);
    }

    #[test]
    fn released_levers_keep_the_shape_of_the_turn_and_stop_both_sides_in_the_same_step(
        config in config(), before in stream()
    ) {
        let mut ramp = ramp(config);
        drive(&mut ramp, &before);
        let turn = ramp.output();
        while !ramp.present.is_zero() {
            let last = ramp.output();
            let now = ramp.step(Sides::ZERO, StopRequest::None);
            prop_assert!(keeps_shape(now, turn), "{:?} became {:?}", turn, now);
            prop_assert!(moves_towards_zero(last.left, now.left) && moves_towards_zero(last.right, now.right));
// A side of at least 1 ‰ rounds to zero only when the other is within 1000 of half a rounding.
            let both_move = turn.left.to_permille() != Permille::ZERO && turn.right.to_permille() != Permille::ZERO;
            if both_move && now.largest() > Ratio::saturating(1_000) {
                prop_assert!(!now.left.is_zero() && !now.right.is_zero(), "{:?} stopped one side: {:?}", turn, now);
            }
        }
    }

    #[test]
    fn a_controlled_stop_brings_both_sides_to_zero_in_time_with_no_sign_change_whatever_is_asked(
        config in config(), before in stream(), meanwhile in proptest::collection::vec(sides(), 1..5)
    ) {
        let mut ramp = ramp(config);
        drive(&mut ramp, &before);
        let turn = ramp.output();
        let allowed = TICK.steps(config.stop) + 1;
        let mut asked = meanwhile.iter().cycle();
        for _ in 0..allowed {
            let last = ramp.output();
            let now = ramp.step(*asked.next().unwrap(), StopRequest::Controlled);
            prop_assert!(moves_towards_zero(last.left, now.left), "left {:?} to {:?}", last, now);
            prop_assert!(moves_towards_zero(last.right, now.right), "right {:?} to {:?}", last, now);
            prop_assert!(keeps_shape(now, turn));
        }
        prop_assert!(ramp.present.is_zero());
    }

    #[test]
    fn a_controlled_stop_is_never_slower_than_released_levers(config in config(), before in stream()) {
        let mut stopped = ramp(config);
        drive(&mut stopped, &before);
        let mut released = stopped;
        while !released.present.is_zero() {
            released.step(Sides::ZERO, StopRequest::None);
            stopped.step(Sides::ZERO, StopRequest::Controlled);
            prop_assert!(stopped.output().largest() <= released.output().largest());
        }
    }

    #[test]
    fn a_reversal_keeps_the_turn_down_to_exactly_zero_and_rests_there_for_the_dwell(
        config in config(), turn in sides(), reversed in sides()
    ) {
        let opposes = |other| Pair::from_sides(turn).opposes(Pair::from_sides(other));
        let candidates = [reversed, reversed.reversed(), turn.reversed()];
        let reversed = candidates.into_iter().find(|candidate| opposes(*candidate));
        prop_assume!(reversed.is_some());
        let reversed = reversed.unwrap();
        let mut ramp = ramp(config);
        drive(&mut ramp, &[(turn, 1_300)]);
        while !ramp.present.is_zero() {
            let last = ramp.output();
            let now = ramp.step(reversed, StopRequest::None);
            prop_assert_eq!(ramp.phase(), MotionPhase::Reversing);
            prop_assert!(keeps_shape(now, turn));
            prop_assert!(moves_towards_zero(last.left, now.left) && moves_towards_zero(last.right, now.right));
        }
        let mut at_zero = 0;
        while ramp.present.is_zero() {
            at_zero += 1;
            ramp.step(reversed, StopRequest::None);
        }
        prop_assert_eq!(at_zero, TICK.steps(config.dwell).max(1));
    }

    #[test]
    fn a_rest_before_the_opposite_is_asked_counts_as_dwell(config in config()) {
        for turn in [Sides::straight(Ratio::ONE), Sides::spin(Ratio::ONE)] {
            let mut ramp = ramp(config);
            drive(&mut ramp, &[(turn, 1)]);
            while !ramp.present.is_zero() {
                ramp.step(Sides::ZERO, StopRequest::None);
            }
            drive(&mut ramp, &[(Sides::ZERO, TICK.steps(config.dwell) as usize)]);
            ramp.step(turn.reversed(), StopRequest::None);
            prop_assert!(!ramp.present.is_zero());
        }
    }

    #[test]
    fn a_reversal_takes_the_reversal_time(
        config in config(), forward in 1i32..=1000, back in 1i32..=1000
    ) {
        let mut ramp = ramp(config);
        drive(&mut ramp, &[(Sides::straight(Ratio::from_permille(forward).unwrap()), 400)]);
        let target = Sides::straight(Ratio::from_permille(-back).unwrap());
        let mut ticks = 0;
        while !ramp.present.is_zero() {
            ramp.step(target, StopRequest::None);
            ticks += 1;
        }
        let micros = u64::from(config.forward.reverse.ticks()) * forward as u64;
        prop_assert!(ticks <= micros.div_ceil(1000 * u64::from(TICK_MS)) + 1);
        prop_assert!((ticks + 1) * 1000 * u64::from(TICK_MS) >= micros);
    }

    #[test]
    fn in_spin_both_sides_scale_with_one_factor(config in config(), spins in proptest::collection::vec(ratio(), 1..8)) {
        let mut ramp = ramp(config);
        for spin in spins {
            for _ in 0..60 {
                let now = ramp.step(Sides::spin(spin), StopRequest::None);
                prop_assert_eq!(now.left, now.right.reversed());
            }
        }
    }

    #[test]
    fn slowing_down_and_speeding_up_on_the_same_turn_keep_its_shape(
        config in config(), turn in sides(), shares in proptest::collection::vec(100i32..=1000, 1..5)
    ) {
        let mut ramp = ramp(config);
        for share in shares {
            let target = turn.scaled(Ratio::from_permille(share).unwrap());
            while ramp.output() != target {
                prop_assert!(keeps_shape(ramp.step(target, StopRequest::None), turn), "{:?}", ramp.output());
            }
        }
    }

    #[test]
    fn steering_while_accelerating_finds_the_turn_in_twice_the_time_that_rotation_takes_to_what_is_asked(
        config in config(), travel in 300i32..=600, first in -400i32..=400, second in -400i32..=400, ticks in 1usize..100
    ) {
        let turn = |rotation: i32| Sides {
            left: Ratio::from_permille(travel + rotation).unwrap(),
            right: Ratio::from_permille(travel - rotation).unwrap(),
        };
        let mut ramp = ramp(config);
        drive(&mut ramp, &[(turn(first), ticks)]);
        let (done, asked) = (travel_and_rotation(ramp.output()), travel_and_rotation(turn(second)));
        // Travel grows meanwhile, and with it what the shape asks of rotation, up to what is asked in the end.
        let in_shape = asked.1 as f64 / asked.0 as f64 * done.0 as f64;
        let farthest = (in_shape - done.1 as f64).abs().max((asked.1 - done.1).abs() as f64);
        let difference = farthest / 2.0 / f64::from(Ratio::ONE_BITS);
        let slowest = config.rotation.accelerate.max(config.rotation.decelerate).max(config.rotation.reverse);
        let allowed = (2.0 * difference * f64::from(slowest.ticks()) / f64::from(TICK_MS)).ceil() as usize + 2;
        drive(&mut ramp, &[(turn(second), allowed)]);
        while ramp.output() != turn(second) {
            prop_assert!(keeps_shape(ramp.step(turn(second), StopRequest::None), turn(second)), "{:?}", ramp.output());
        }
    }

    #[test]
    fn easing_a_tight_turn_while_slowing_finds_the_turn_in_twice_the_time_that_rotation_takes_for_the_difference(
        config in config(), travel in 300i32..=500, slower in 100i32..=800, tight in 500i32..=1000, eased in 50i32..=450
    ) {
        let turn = |travel: i32, shape: i32| Sides {
            left: Ratio::from_quotient(i64::from(travel * (1000 + shape)), 1_000_000),
            right: Ratio::from_quotient(i64::from(travel * (1000 - shape)), 1_000_000),
        };
        let (from, to) = (turn(travel, tight), turn(travel * slower / 1000, eased));
        let mut ramp = ramp(config);
        drive(&mut ramp, &[(from, 1_300)]);
        let difference = f64::from(travel * (tight - eased)) / 1e6;
        let time = difference * f64::from(config.rotation.decelerate.ticks());
        drive(&mut ramp, &[(to, (2.0 * time / f64::from(TICK_MS)).ceil() as usize + 2)]);
        while ramp.output() != to {
            prop_assert!(keeps_shape(ramp.step(to, StopRequest::None), to), "{:?}", ramp.output());
        }
    }

    #[test]
    fn the_mirrored_machine_does_the_mirrored_thing(config in config(), stream in stream()) {
        let mut machine = ramp(config);
        let mut mirror = ramp(config);
        for (target, ticks) in stream {
            for _ in 0..ticks {
                let sides = machine.step(target, StopRequest::None);
                prop_assert_eq!(mirror.step(target.swapped(), StopRequest::None), sides.swapped());
                prop_assert_eq!(mirror.state(), machine.state());
                prop_assert_eq!(mirror.phase(), machine.phase());
            }
        }
    }

    #[test]
    fn reverse_does_what_forward_does_with_the_same_times(config in config(), stream in stream()) {
        let config = PairRampConfig { reverse: config.forward, ..config };
        let mut forward = ramp(config);
        let mut reverse = ramp(config);
        for (target, ticks) in stream {
            for _ in 0..ticks {
                let sides = forward.step(target, StopRequest::None);
                prop_assert_eq!(reverse.step(target.reversed(), StopRequest::None), sides.reversed());
            }
        }
    }

    #[test]
    fn a_refused_config_changes_nothing(config in config(), before in stream(), target in sides()) {
        let mut refused = ramp(config);
        drive(&mut refused, &before);
        let mut untouched = refused;
        let stop = Millis::millis(9);
        prop_assert_eq!(
            refused.reconfigure(PairRampConfig { stop, ..config }),
            Err(PairRampConfigError::Stop(stop))
        );
        for _ in 0..50 {
            prop_assert_eq!(refused.step(target, StopRequest::None), untouched.step(target, StopRequest::None));
        }
    }
}

#[test]
fn the_slowest_ramp_at_a_millisecond_arrives_in_time_within_one_tick() {
    let slowest = Millis::millis(120_000);
    let rates = MotionRates { accelerate: slowest, decelerate: slowest, reverse: slowest };
    let config = PairRampConfig {
        forward: rates,
        reverse: rates,
        rotation: rates,
        stop: slowest,
        dwell: Millis::millis(0),
    };
    let mut ramp = PairRamp::new(config, Period::from_micros(1_000).unwrap()).unwrap();
    let pivot = Sides { left: Ratio::ONE, right: Ratio::ZERO };
    for (target, far) in [(pivot, Sides::ZERO), (Sides::ZERO, pivot)] {
        let mut ticks = 0;
        while ramp.output() != target {
            ramp.step(target, StopRequest::None);
            ticks += 1;
            assert!(ticks <= 60_001, "stuck between {far:?} and {target:?}");
        }
        assert!(ticks >= 59_999, "travel and rotation are each half: {ticks} ticks");
    }
}

#[test]
fn stopping_a_turn_as_a_pair_does_not_hook_where_independent_sides_do() {
    let second = Millis::millis(1_000);
    let rates = MotionRates { accelerate: second, decelerate: second, reverse: second };
    let dwell = Millis::millis(0);
    let mut pair =
        ramp(PairRampConfig { forward: rates, reverse: rates, rotation: rates, stop: second, dwell });
    let mut independent = crate::ramp::IndependentRamps::new(
        crate::ramp::MotionRampConfig { positive: rates, negative: rates, dwell },
        TICK,
    )
    .unwrap();
    let turn = Sides { left: Ratio::ONE, right: Ratio::from_permille(500).unwrap() };
    drive(&mut pair, &[(turn, 200)]);
    for _ in 0..200 {
        independent.step(turn);
    }

    let worst = |stop: &mut dyn FnMut() -> Sides| {
        (0..100)
            .filter_map(|_| shape(stop()))
            .map(|now| (now - shape(turn).unwrap()).abs())
            .fold(0.0, f64::max)
    };
    let hooked = worst(&mut || independent.step(Sides::ZERO));
    let kept = worst(&mut || pair.step(Sides::ZERO, StopRequest::None));
    assert!(hooked > 0.6, "independent sides bend the turn by {hooked}");
    assert!(kept < 1e-6, "the pair bends the turn by {kept}");
}

#[test]
fn state_and_phase_say_what_the_machine_does() {
    let rates = MotionRates {
        accelerate: Millis::millis(500),
        decelerate: Millis::millis(300),
        reverse: Millis::millis(200),
    };
    let mut ramp = ramp(PairRampConfig {
        forward: rates,
        reverse: rates,
        rotation: rates,
        stop: Millis::millis(300),
        dwell: Millis::millis(100),
    });
    let forward = Sides::straight(Ratio::ONE);
    let mut after = |target, stop| {
        ramp.step(target, stop);
        (ramp.state(), ramp.phase())
    };
    assert_eq!(after(forward, StopRequest::None), (MotionState::Forward, MotionPhase::Accelerating));
    assert_eq!(after(forward, StopRequest::Controlled), (MotionState::Standing, MotionPhase::Decelerating));
    assert_eq!(after(forward.reversed(), StopRequest::None), (MotionState::Standing, MotionPhase::Reversing));
    assert_eq!(after(forward, StopRequest::None), (MotionState::Forward, MotionPhase::Accelerating));
    for _ in 0..60 {
        after(Sides::spin(Ratio::ONE), StopRequest::None);
    }
    assert_eq!(
        after(Sides::spin(Ratio::ONE), StopRequest::None),
        (MotionState::Rotation, MotionPhase::Holding)
    );
    assert_eq!(after(Sides::ZERO, StopRequest::None), (MotionState::Rotation, MotionPhase::Decelerating));
}

#[test]
fn a_turn_about_a_standing_side_is_travel() {
    let time = Millis::millis(10);
    let rates = MotionRates { accelerate: time, decelerate: time, reverse: time };
    let dwell = Millis::millis(0);
    let new = ramp(PairRampConfig { forward: rates, reverse: rates, rotation: rates, stop: time, dwell });
    for (side, state) in [(Ratio::ONE, MotionState::Forward), (Ratio::MINUS_ONE, MotionState::Reverse)] {
        let pivot = Sides { left: side, right: Ratio::ZERO };
        for pivot in [pivot, pivot.swapped()] {
            let mut ramp = new;
            assert_eq!(ramp.step(pivot, StopRequest::None), pivot);
            assert_eq!(ramp.state(), state);
        }
    }
}

four_verbs! {
    new: |config| PairRamp::new(config, TICK),
    configs: (PairRampConfig { forward: MotionRates { accelerate: Millis::millis(800), decelerate: Millis::millis(400), reverse: Millis::millis(300) }, reverse: MotionRates { accelerate: Millis::millis(900), decelerate: Millis::millis(500), reverse: Millis::millis(200) }, rotation: MotionRates { accelerate: Millis::millis(500), decelerate: Millis::millis(350), reverse: Millis::millis(250) }, stop: Millis::millis(400), dwell: Millis::millis(100) }, PairRampConfig { forward: MotionRates { accelerate: Millis::millis(300), decelerate: Millis::millis(250), reverse: Millis::millis(600) }, reverse: MotionRates { accelerate: Millis::millis(450), decelerate: Millis::millis(650), reverse: Millis::millis(150) }, rotation: MotionRates { accelerate: Millis::millis(950), decelerate: Millis::millis(550), reverse: Millis::millis(850) }, stop: Millis::millis(200), dwell: Millis::millis(50) }),
    accepted: [
        PairRampConfig { forward: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, reverse: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, rotation: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, stop: Millis::millis(10), dwell: Millis::millis(0) },
        PairRampConfig { forward: MotionRates { accelerate: Millis::millis(120000), decelerate: Millis::millis(120000), reverse: Millis::millis(120000) }, reverse: MotionRates { accelerate: Millis::millis(120000), decelerate: Millis::millis(120000), reverse: Millis::millis(120000) }, rotation: MotionRates { accelerate: Millis::millis(120000), decelerate: Millis::millis(120000), reverse: Millis::millis(120000) }, stop: Millis::millis(120000), dwell: Millis::millis(5000) },
    ],
    refused: [
        PairRampConfig { forward: MotionRates { accelerate: Millis::millis(9), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, reverse: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, rotation: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, stop: Millis::millis(10), dwell: Millis::millis(0) } => "forward: acceleration time of 9 ms for full scale: set 10 ms to 120000 ms",
        PairRampConfig { forward: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, reverse: MotionRates { accelerate: Millis::millis(9), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, rotation: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, stop: Millis::millis(10), dwell: Millis::millis(0) } => "reverse: acceleration time of 9 ms for full scale: set 10 ms to 120000 ms",
        PairRampConfig { forward: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, reverse: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, rotation: MotionRates { accelerate: Millis::millis(9), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, stop: Millis::millis(10), dwell: Millis::millis(0) } => "rotation: acceleration time of 9 ms for full scale: set 10 ms to 120000 ms",
        PairRampConfig { forward: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, reverse: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, rotation: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, stop: Millis::millis(9), dwell: Millis::millis(0) } => "stop time of 9 ms: set 10 ms to 120000 ms",
        PairRampConfig { forward: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, reverse: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, rotation: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, stop: Millis::millis(120001), dwell: Millis::millis(0) } => "stop time of 120001 ms: set 10 ms to 120000 ms",
        PairRampConfig { forward: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, reverse: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, rotation: MotionRates { accelerate: Millis::millis(10), decelerate: Millis::millis(10), reverse: Millis::millis(10) }, stop: Millis::millis(10), dwell: Millis::millis(5001) } => "rest at zero of 5001 ms: set 0 ms to 5000 ms",
    ],
    inputs: (sides(), proptest::sample::select(&[StopRequest::None, StopRequest::None, StopRequest::Controlled])),
    step: |block, (target, stop)| (block.step(target, stop), block.output(), block.state(), block.phase()),
    reset: |block| block.reset(),
}
