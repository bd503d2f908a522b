//! Ramp times, the choice among them, and the pair ramp.
//!
//! - Times are chosen from the present motion (after the ramp) and the commanded motion (before it): forward, reverse,
//!   rotation; accelerate, decelerate, reverse. Common practice, no source.
//! - A ramp of time τ moves k·T/τ of full scale in k periods T: the definition of a ramp time.
//! - Turn shape, controlled stop: this project's own rules. Why a shape is worth keeping: R = (B/2)·(v_r + v_l)/(v_r − v_l)
//!   (Siegwart & Nourbakhsh, *Introduction to Autonomous Mobile Robots*, ch. 3) is the same while it is kept.
//!
//! Checks: ramp/rate_limit, ramp/motion_ramp, ramp/pair_ramp, ramp/independent_ramps

use loader::declaration::Parameters;
use trunnion::propel::Sides;
use trunnion::quantity::{Millis, Period, Ratio};
use trunnion::ramp::{
    IndependentRamps, MotionPhase, MotionRamp, MotionRampConfig, MotionRates, PairRamp, PairRampConfig,
    RateLimit, RateLimitConfig, StopRequest,
};
use trunnion_rig::plant::SplitMix64;

const TICK_MS: f64 = 10.0;
const TICK: Period = Period::from_micros(10_000).unwrap();

fn share(permille: i32) -> Ratio {
    Ratio::from_permille(permille).unwrap()
}

fn sides(left: i32, right: i32) -> Sides {
    Sides { left: share(left), right: share(right) }
}

fn real(ratio: Ratio) -> f64 {
    f64::from(ratio.to_bits()) / f64::from(Ratio::ONE_BITS)
}

/// The loader's own times: nine different ones, so that a wrong choice shows.
fn loader_times() -> PairRampConfig {
    let p = Parameters::default();
    PairRampConfig {
        forward: MotionRates {
            accelerate: p.forward_accelerate(),
            decelerate: p.forward_decelerate(),
            reverse: p.forward_reverse(),
        },
        reverse: MotionRates {
            accelerate: p.reverse_accelerate(),
            decelerate: p.reverse_decelerate(),
            reverse: p.reverse_reverse(),
        },
        rotation: MotionRates {
            accelerate: p.rotation_accelerate(),
            decelerate: p.rotation_decelerate(),
            reverse: p.rotation_reverse(),
        },
        stop: p.drive_stop(),
        dwell: p.drive_dwell(),
    }
}

fn pair_ramp(config: PairRampConfig) -> PairRamp {
    PairRamp::new(config, TICK).unwrap()
}

fn ms(time: Millis) -> f64 {
    f64::from(time.ticks())
}

#[test]
fn a_rate_limit_is_a_straight_line_of_its_time() {
    for micros in [1_000, 10_000, 20_000] {
        for (rise, fall) in [(10, 40), (350, 200), (1_800, 1_200), (7_777, 333), (120_000, 100)] {
            let (rise_time, fall_time) = (Millis::millis(rise), Millis::millis(fall));
            let config = RateLimitConfig { rise: rise_time, fall: fall_time };
            let mut limit = RateLimit::new(config, Period::from_micros(micros).unwrap()).unwrap();
            let period_ms = f64::from(micros) / 1000.0;
            let mut follow = |target: Ratio, time: f64, from: f64, to: f64| {
                let periods = (time / period_ms).ceil() as u32;
                for step in 1..=periods {
                    let way = (f64::from(step) * period_ms / time).min(1.0);
                    let expected = from + (to - from) * way;
                    // One part in 2³⁰ of rounding, and a rate that is rounded up by less than 2⁻⁴² a step.
                    let error = (real(limit.step(target)) - expected).abs();
                    assert!(error < 2e-9 + f64::from(step) * 3e-13, "{time} ms, step {step}: {error}");
                }
                assert_eq!(limit.output(), target, "reached after {time} ms");
            };
            follow(Ratio::ONE, f64::from(rise), 0.0, 1.0);
            follow(Ratio::ZERO, f64::from(fall), 1.0, 0.0);
            follow(Ratio::MINUS_ONE, f64::from(rise), 0.0, -1.0);
            follow(Ratio::ZERO, f64::from(fall), -1.0, 0.0);
        }
    }
}

/// One leg of a journey: where to, through which time of full scale, over which share of it.
struct Leg {
    name: &'static str,
    target: Sides,
    until: Sides,
    time: Millis,
    share: f64,
}

#[test]
fn the_time_is_chosen_from_what_is_done_and_what_is_asked() {
    let times = loader_times();
    let PairRampConfig { forward, reverse, rotation, .. } = times;
    let leg = |name, target, until, time, share| Leg { name, target, until, time, share };
    let (rest, ahead, back) = (Sides::ZERO, sides(1000, 1000), sides(-1000, -1000));
    let (right, left) = (sides(1000, -1000), sides(-1000, 1000));
    let journeys = [
        leg("forward, speed up", ahead, ahead, forward.accelerate, 1.0),
        leg("forward, slow down", sides(400, 400), sides(400, 400), forward.decelerate, 0.6),
        leg("forward, speed up again", ahead, ahead, forward.accelerate, 0.6),
        leg("forward, lever released", rest, rest, forward.decelerate, 1.0),
        leg("forward again", ahead, ahead, forward.accelerate, 1.0),
        leg("forward, reverse asked", back, rest, forward.reverse, 1.0),
        leg("reverse, speed up", back, back, reverse.accelerate, 1.0),
        leg("reverse, slow down", sides(-300, -300), sides(-300, -300), reverse.decelerate, 0.7),
        leg("reverse, speed up again", back, back, reverse.accelerate, 0.7),
        leg("reverse, forward asked", ahead, rest, reverse.reverse, 1.0),
        leg("and on forward", ahead, ahead, forward.accelerate, 1.0),
        leg("stop before the spin", rest, rest, forward.decelerate, 1.0),
        leg("spin, speed up", right, right, rotation.accelerate, 1.0),
        leg("spin, slow down", sides(250, -250), sides(250, -250), rotation.decelerate, 0.75),
        leg("spin, speed up again", right, right, rotation.accelerate, 0.75),
        leg("spin, the other way asked", left, rest, rotation.reverse, 1.0),
        leg("and on the other way", left, left, rotation.accelerate, 1.0),
        leg("spin, lever released", rest, rest, rotation.decelerate, 1.0),
    ];
    let mut ramp = pair_ramp(times);
    for Leg { name, target, until, time, share } in journeys {
        let start = ramp.output();
        let line = |from: Ratio, to: Ratio, way: f64| real(from) + (real(to) - real(from)) * way;
        let mut ticks = 0;
        while ramp.output() != until {
            ramp.step(target, StopRequest::None);
            ticks += 1;
            let way = (f64::from(ticks) * TICK_MS / (ms(time) * share)).min(1.0);
            let expected = (line(start.left, until.left, way), line(start.right, until.right, way));
            let Sides { left, right } = ramp.output();
            let off = (real(left) - expected.0).abs().max((real(right) - expected.1).abs());
            assert!(off < 1e-8, "{name}, {ticks} ticks: {left:?} {right:?}, expected {expected:?}");
        }
        let expected = (ms(time) * share / TICK_MS).ceil();
        assert!((f64::from(ticks) - expected).abs() <= 1.0, "{name}: {ticks} ticks of {expected}");
    }
}

#[test]
fn a_single_motion_chooses_its_time_likewise_and_rests_for_its_dwell() {
    let PairRampConfig { forward, reverse, .. } = loader_times();
    let config = MotionRampConfig { positive: forward, negative: reverse, dwell: Millis::millis(150) };
    let mut ramp = MotionRamp::new(config, TICK).unwrap();
    let mut ticks_until = |target: Ratio, until: Ratio| {
        let mut ticks = 0;
        while ramp.output() != until {
            ramp.step(target);
            ticks += 1;
        }
        f64::from(ticks) * TICK_MS
    };
    let near = |found: f64, time: Millis| (found - ms(time)).abs() <= TICK_MS;
    assert!(near(ticks_until(Ratio::ONE, Ratio::ONE), forward.accelerate));
    assert!(near(ticks_until(Ratio::MINUS_ONE, Ratio::ZERO), forward.reverse));
    let away = ticks_until(Ratio::MINUS_ONE, Ratio::MINUS_ONE) - ms(reverse.accelerate);
    assert!((140.0..=160.0).contains(&away), "a rest of 150 ms: {away}");
    assert!(near(ticks_until(Ratio::ZERO, Ratio::ZERO), reverse.decelerate));
}

/// (L − R)/(L + R) while |L + R| is at least a tenth of full scale.
fn shape(sides: Sides) -> Option<f64> {
    let (left, right) = (real(sides.left), real(sides.right));
    ((left + right).abs() >= 0.1).then(|| (left - right) / (left + right))
}

/// How far a motion is from the shape of a turn; nothing where it has none.
fn distortion(now: Sides, turn: Sides) -> f64 {
    match (shape(now), shape(turn)) {
        (Some(now), Some(turn)) => (now - turn).abs(),
        _ => 0.0,
    }
}

/// Turns of all kinds, from straight to pivot, forward and in reverse, and spins.
fn turns(count: usize) -> Vec<Sides> {
    let mut random = SplitMix64::new(6);
    let mut side = || (random.next_unit() * 2001.0) as i32 - 1000;
    let mut turns: Vec<_> = (0..count).map(|_| sides(side(), side())).collect();
    turns.extend([sides(1000, 400), sides(1000, 0), sides(-1000, -10), sides(700, -700), sides(1000, -1000)]);
    turns
}

#[test]
fn a_turn_keeps_its_shape_from_rest_and_to_rest_within_a_hundredth() {
    let mut times = loader_times();
    for turn in turns(300) {
        // The stop is as likely the slower as the faster of the two ways to rest.
        times.stop = if times.stop.ticks() == 800 { Millis::millis(1500) } else { Millis::millis(800) };
        let mut ramp = pair_ramp(times);
        let mut largest = 0.0_f64;
        while ramp.output() != turn {
            largest = largest.max(distortion(ramp.step(turn, StopRequest::None), turn));
        }
        let (mut released, mut stopped) = (ramp, ramp);
        while !released.output().is_zero() {
            largest = largest.max(distortion(released.step(Sides::ZERO, StopRequest::None), turn));
        }
        while !stopped.output().is_zero() {
            largest = largest.max(distortion(stopped.step(turn, StopRequest::Controlled), turn));
        }
        assert!(largest <= 0.01, "{turn:?} is bent by {largest}");
    }
}

/// Travel (mean of the sides) and rotation (half their difference) have their own times: the slower sets the pace.
#[test]
fn a_turn_takes_the_longer_of_the_times_of_its_travel_and_its_rotation() {
    let times = loader_times();
    let mut by_rotation = 0;
    for turn in turns(300) {
        let travel = (real(turn.left) + real(turn.right)) / 2.0;
        let rotation = (real(turn.left) - real(turn.right)) / 2.0;
        let drive = if travel < 0.0 { times.reverse } else { times.forward };
        let longer = |drive: Millis, turn: Millis| {
            (travel.abs() * ms(drive) / TICK_MS).max(rotation.abs() * ms(turn) / TICK_MS)
        };
        let mut ramp = pair_ramp(times);
        let mut ticks_to = |target: Sides| {
            let mut ticks = 0;
            while ramp.output() != target {
                ramp.step(target, StopRequest::None);
                ticks += 1;
            }
            f64::from(ticks)
        };
        let there = longer(drive.accelerate, times.rotation.accelerate);
        let back = longer(drive.decelerate, times.rotation.decelerate);
        let (found_there, found_back) = (ticks_to(turn), ticks_to(Sides::ZERO));
        // Rounded up to whole periods, and a side may round to its goal a period early.
        let near = |found: f64, expected: f64| found >= expected - 1.0 && found < expected + 1.5;
        assert!(near(found_there, there), "{turn:?} from rest: {found_there} of {there}");
        assert!(near(found_back, back), "{turn:?} to rest: {found_back} of {back}");
        by_rotation += u32::from(rotation.abs() * ms(times.rotation.decelerate) / TICK_MS > 0.99 * back);
    }
    assert!((50..250).contains(&by_rotation), "both set the pace: {by_rotation}");
}

#[test]
fn both_sides_reach_zero_in_the_same_step_and_neither_turns_round() {
    for turn in turns(300) {
        for (target, stop) in [(Sides::ZERO, StopRequest::None), (turn, StopRequest::Controlled)] {
            let mut ramp = pair_ramp(loader_times());
            while ramp.output() != turn {
                ramp.step(turn, StopRequest::None);
            }
            while !ramp.output().is_zero() {
                let before = ramp.output();
                let now = ramp.step(target, stop);
                for (before, now) in [(before.left, now.left), (before.right, now.right)] {
                    let towards = now.magnitude() <= before.magnitude() && !now.opposite_direction(before);
                    assert!(towards, "{turn:?}: {before:?} to {now:?}");
                }
                // A side below a thousandth may round to zero a step before a faster one.
                let moving = turn.left.magnitude().at_most(turn.right.magnitude()) >= share(1);
                let hooks = now.left.is_zero() != now.right.is_zero();
                let slow = now.largest() <= Ratio::from_bits(1000).unwrap();
                assert!(!moving || !hooks || slow, "{turn:?} hooks at {now:?}");
            }
        }
    }
}

/// Within the stop time and one period, whatever the levers ask meanwhile, in any motion.
#[test]
fn a_controlled_stop_ends_in_its_time_from_any_motion() {
    let times = loader_times();
    let turns = turns(200);
    let most = (ms(times.stop) / TICK_MS) as u32 + 1;
    for (first, second) in turns.iter().zip(&turns[1..]) {
        let mut ramp = pair_ramp(times);
        for _ in 0..250 {
            ramp.step(*first, StopRequest::None);
        }
        for _ in 0..30 {
            ramp.step(*second, StopRequest::None);
        }
        let start = ramp.output();
        let mut ticks = 0;
        while !ramp.output().is_zero() {
            let before = ramp.output();
            let asked = if ticks % 2 == 0 { *first } else { *second };
            let now = ramp.step(asked, StopRequest::Controlled);
            assert!(now.largest() < before.largest(), "monotone: {before:?} to {now:?}");
            assert!(!now.left.opposite_direction(start.left) && !now.right.opposite_direction(start.right));
            ticks += 1;
        }
        assert!(ticks <= most, "{start:?}: {ticks} ticks, {most} allowed");
    }
}

/// A reversal goes through zero with one factor for both sides, at the reversal time.
#[test]
fn a_reversed_turn_shrinks_to_zero_before_it_grows_the_other_way() {
    for turn in turns(100) {
        if shape(turn).is_none() {
            continue;
        }
        let mut ramp = pair_ramp(loader_times());
        while ramp.output() != turn {
            ramp.step(turn, StopRequest::None);
        }
        while !ramp.output().is_zero() {
            let now = ramp.step(turn.reversed(), StopRequest::None);
            assert_eq!(ramp.phase(), MotionPhase::Reversing);
            assert!(distortion(now, turn) <= 0.01, "{turn:?} at {now:?}");
        }
        while ramp.output() != turn.reversed() {
            let now = ramp.step(turn.reversed(), StopRequest::None);
            assert!(distortion(now, turn) <= 0.01, "{turn:?} at {now:?}");
        }
    }
}

/// Where a machine with sides of 3 m/s at full scale and a width of 1.5 m drives: pose by the textbook's equations.
struct Path {
    x_m: f64,
    y_m: f64,
    yaw_rad: f64,
}

impl Path {
    fn move_on(&mut self, sides: Sides) {
        let (left, right) = (3.0 * real(sides.left), 3.0 * real(sides.right));
        let (speed, turn) = ((left + right) / 2.0, (right - left) / 1.5 * TICK_MS / 1000.0);
        let heading = self.yaw_rad + turn / 2.0;
        self.x_m += speed * TICK_MS / 1000.0 * heading.cos();
        self.y_m += speed * TICK_MS / 1000.0 * heading.sin();
        self.yaw_rad += turn;
    }
}

/// How far the path to rest leaves the circle of the turn (1000 ‰, 400 ‰): R = 0.75 m · 1.4/0.6, centre on the right.
fn off_the_circle(mut step: impl FnMut() -> Sides) -> f64 {
    let radius = 0.75 * 1.4 / 0.6;
    let mut path = Path { x_m: 0.0, y_m: 0.0, yaw_rad: 0.0 };
    let mut off = 0.0_f64;
    loop {
        let now = step();
        if now.is_zero() {
            return off;
        }
        path.move_on(now);
        off = off.max((path.x_m.hypot(path.y_m + radius) - radius).abs());
    }
}

#[test]
fn a_stop_in_a_turn_stays_on_its_circle_where_independent_ramps_leave_it() {
    let (times, turn) = (loader_times(), sides(1000, 400));
    let mut pair = pair_ramp(times);
    let config =
        MotionRampConfig { positive: times.forward, negative: times.reverse, dwell: Millis::millis(0) };
    let mut independent = IndependentRamps::new(config, TICK).unwrap();
    for _ in 0..1000 {
        pair.step(turn, StopRequest::None);
        independent.step(turn);
    }
    assert_eq!((pair.output(), independent.output()), (turn, turn));
    let kept = off_the_circle(|| pair.step(Sides::ZERO, StopRequest::None));
    let left = off_the_circle(|| independent.step(Sides::ZERO));
    assert!(kept < 0.001, "{kept} m");
    assert!(left > 0.1, "the comparison shows something: {left} m");

    let mut bent = 0.0_f64;
    for _ in 0..1000 {
        independent.step(turn);
    }
    while !independent.output().is_zero() {
        bent = bent.max(distortion(independent.step(Sides::ZERO), turn));
    }
    assert!(bent > 0.3, "independent ramps break the bound of a hundredth: {bent}");
}
