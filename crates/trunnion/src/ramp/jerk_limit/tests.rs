use super::*;
use proptest::prelude::*;
use std::vec::Vec;

const TICK: Period = Period::from_micros(10_000).unwrap();

fn ratio() -> impl Strategy<Value = Ratio> {
    prop_oneof![
        4 => (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap()),
        1 => (-9..=9).prop_map(|bits| Ratio::from_bits(bits).unwrap()),
        1 => Just(Ratio::ONE),
    ]
}

fn limit(full_scale: u32, build_up: u32) -> JerkLimit {
    let config =
        JerkLimitConfig { full_scale: Millis::millis(full_scale), build_up: Millis::millis(build_up) };
    JerkLimit::new(config, TICK).unwrap()
}

fn targets() -> impl Strategy<Value = Vec<(Ratio, usize)>> {
    proptest::collection::vec((ratio(), 1usize..120), 1..8)
}

/// What coming to rest takes, step by step.
fn way_to_rest(rate: i64, jerk: i64) -> i64 {
    std::iter::successors(Some(rate), |rate| Some(rate - jerk)).take_while(|rate| *rate > 0).sum()
}

proptest! {
    #[test]
    fn a_root_is_rounded_down(value in 0_u64..1 << 62, small in 0_u64..2_000) {
        for value in [value, small, small * small, u64::MAX - small] {
            let root = u128::from(root_of(value));
            prop_assert!(root * root <= u128::from(value) && (root + 1) * (root + 1) > u128::from(value));
        }
    }

    #[test]
    fn the_output_never_passes_its_target_nor_moves_away_from_it(
        full_scale in 10u32..3_000, build_up in 10u32..2_000, targets in targets()
    ) {
        let mut limit = limit(full_scale, build_up);
        for (target, ticks) in targets {
            for _ in 0..ticks {
                let before = limit.position;
                limit.step(target);
                let goal = fine::from_ratio(target);
                prop_assert!(limit.position >= before.min(goal) && limit.position <= before.max(goal));
                prop_assert!(limit.position != before || before == goal, "stalled");
            }
        }
    }

    #[test]
    fn rate_and_jerk_keep_their_limits_while_the_target_stands_still(
        full_scale in 10u32..3_000, build_up in 10u32..2_000, targets in targets()
    ) {
        let mut limit = limit(full_scale, build_up);
        for (target, ticks) in targets {
            for tick in 0..ticks {
                let before = limit.rate;
                limit.step(target);
                prop_assert!(limit.rate.abs() <= limit.full_rate);
                prop_assert!(limit.rate.abs() - before.abs() <= limit.jerk, "it never builds up faster");
                // The first step may meet a target that came nearer or went behind.
                prop_assert!(tick == 0 || (limit.rate - before).abs() <= limit.jerk);
            }
        }
    }

    #[test]
    fn a_target_farther_on_the_way_causes_no_jolt(
        full_scale in 10u32..3_000, build_up in 10u32..2_000, a in ratio(), b in ratio(), ticks in 1usize..200
    ) {
        let (near, far) = (a.magnitude().at_most(b.magnitude()), a.magnitude().at_least(b.magnitude()));
        let mut limit = limit(full_scale, build_up);
        for _ in 0..ticks {
            limit.step(near);
        }
        let before = limit.rate;
        limit.step(far);
        prop_assert!((limit.rate - before).abs() <= limit.jerk);
    }

    #[test]
    fn the_rate_taken_is_the_largest_that_stops_in_time(distance in 0..=2 * fine::ONE, full_scale in 10u32..=120_000, build_up in 10u32..=10_000) {
        let limit = limit(full_scale, build_up);
        let rate = limit.rate_that_stops_in(distance);
        // Far above the full rate the sum is long: there the closed form is trusted.
        prop_assume!(rate / limit.jerk < 20_000);
        prop_assert!(way_to_rest(rate, limit.jerk) <= distance);
        prop_assert!(way_to_rest(rate + 1, limit.jerk) > distance);
    }

    #[test]
    fn both_directions_are_treated_alike(full_scale in 10u32..3_000, build_up in 10u32..2_000, targets in targets()) {
        let (mut positive, mut negative) = (limit(full_scale, build_up), limit(full_scale, build_up));
        for (target, ticks) in targets {
            for _ in 0..ticks {
                prop_assert_eq!(positive.step(target).reversed(), negative.step(target.reversed()));
            }
        }
    }

    /// T = h/v + v/a for a trapezoid of speed that reaches v (Biagiotti and Melchiorri, *Trajectory Planning for
    /// Automatic Machines and Robots*, ch. 3, from memory), here one derivative higher.
    #[test]
    fn a_way_that_reaches_the_full_rate_lasts_its_time_plus_the_build_up(
        build_up in 10u32..=10_000, longer in 0u32..60_000, micros in prop_oneof![Just(1_000u32), Just(10_000)]
    ) {
        let period = Period::from_micros(micros).unwrap();
        let full_scale = Millis::millis(build_up + longer);
        let config = JerkLimitConfig { full_scale, build_up: Millis::millis(build_up) };
        let mut limit = JerkLimit::new(config, period).unwrap();
        let expected = period.steps(full_scale) + period.steps(config.build_up);
        let mut ticks = 0;
        while limit.position != fine::ONE {
            limit.step(Ratio::ONE);
            ticks += 1;
            prop_assert!(ticks <= expected + 1, "not there after {} ticks", ticks);
        }
        prop_assert!(ticks + 3 >= expected, "{} instead of {}", ticks, expected);
    }
}

#[test]
fn a_short_way_at_full_jerk_takes_the_time_of_a_triangle() {
    // 2·√(h/a): 100 ‰ of 1 s in build-up 1 s, a = 1/s², is 632 ms.
    let mut limit = limit(1_000, 1_000);
    let target = Ratio::from_permille(100).unwrap();
    let ticks = (1..200).find(|_| limit.step(target) == target).unwrap();
    assert!((63..=65).contains(&ticks), "{ticks} ticks");
}

#[test]
fn a_released_lever_is_not_driven_past() {
    let mut limit = limit(500, 300);
    for _ in 0..30 {
        limit.step(Ratio::ONE);
    }
    let (there, rate) = (limit.output(), limit.rate);
    assert!(rate > limit.jerk && limit.step(Ratio::ZERO) < there);
}

#[test]
fn a_time_outside_the_range_is_refused_with_the_range_and_changes_nothing() {
    let mut limit = limit(100, 100);
    limit.step(Ratio::ONE);
    let before = limit.output();
    let good = JerkLimitConfig { full_scale: Millis::millis(100), build_up: Millis::millis(100) };
    let error = limit.reconfigure(JerkLimitConfig { build_up: Millis::millis(9), ..good }).unwrap_err();
    assert_eq!(std::format!("{error}"), "build-up of the rate in 9 ms: set 10 ms to 10000 ms");
    let error =
        limit.reconfigure(JerkLimitConfig { full_scale: Millis::millis(120_001), ..good }).unwrap_err();
    assert_eq!(std::format!("{error}"), "time of 120001 ms for full scale: set 10 ms to 120000 ms");
    assert_eq!(limit.output(), before);
    limit.reset();
    assert_eq!((limit.output(), limit.rate), (Ratio::ZERO, 0));
}

four_verbs! {
    new: |config| JerkLimit::new(config, TICK),
    configs: (JerkLimitConfig { full_scale: Millis::millis(800), build_up: Millis::millis(300) }, JerkLimitConfig { full_scale: Millis::millis(400), build_up: Millis::millis(900) }),
    accepted: [
        JerkLimitConfig { full_scale: Millis::millis(10), build_up: Millis::millis(10) },
        JerkLimitConfig { full_scale: Millis::millis(120000), build_up: Millis::millis(10000) },
    ],
    refused: [
        JerkLimitConfig { full_scale: Millis::millis(9), build_up: Millis::millis(10) } => "time of 9 ms for full scale: set 10 ms to 120000 ms",
        JerkLimitConfig { full_scale: Millis::millis(120001), build_up: Millis::millis(10) } => "time of 120001 ms for full scale: set 10 ms to 120000 ms",
        JerkLimitConfig { full_scale: Millis::millis(10), build_up: Millis::millis(9) } => "build-up of the rate in 9 ms: set 10 ms to 10000 ms",
        JerkLimitConfig { full_scale: Millis::millis(10), build_up: Millis::millis(10001) } => "build-up of the rate in 10001 ms: set 10 ms to 10000 ms",
    ],
    inputs: ratio(),
    step: |block, target| (block.step(target), block.output()),
    reset: |block| block.reset(),
}
