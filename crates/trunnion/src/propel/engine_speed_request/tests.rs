use super::*;
use crate::sense::Flaw;
use proptest::prelude::*;
use std::vec::Vec;

const TICK: Period = Period::from_micros(10_000).unwrap();
const CONFIG: EngineSpeedRequestConfig = EngineSpeedRequestConfig {
    low_idle: Rpm::from_whole(900),
    high_idle: Rpm::from_whole(2_400),
    rise: Millis::millis(1_000),
    fall: Millis::millis(2_000),
};

fn ratio() -> impl Strategy<Value = Ratio> {
    (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
}

fn throttle() -> impl Strategy<Value = Reading<Ratio>> {
    prop_oneof![4 => ratio().prop_map(Reading::Valid), 1 => Just(Reading::Faulted(Flaw::WireBreak))]
}

fn inputs() -> impl Strategy<Value = EngineSpeedInputs> {
    (throttle(), throttle(), ratio(), ratio()).prop_map(|(hand, foot, least, most)| EngineSpeedInputs {
        hand,
        foot,
        least,
        most,
    })
}

fn stream() -> impl Strategy<Value = Vec<(EngineSpeedInputs, usize)>> {
    proptest::collection::vec((inputs(), 1_usize..80), 1..10)
}

/// Where the request comes to rest, in floating point and from the words of the docs.
fn rest(inputs: &EngineSpeedInputs) -> f64 {
    let real = |share: Ratio| f64::from(share.to_bits()) / f64::from(Ratio::ONE_BITS);
    let throttle =
        [inputs.hand, inputs.foot].into_iter().filter_map(Reading::valid).map(real).fold(0.0, f64::max);
    let share = throttle.max(real(inputs.least)).min(real(inputs.most)).max(0.0);
    900.0 + 1_500.0 * share
}

proptest! {
    #[test]
    fn the_request_stays_between_the_idles_and_keeps_its_pace(stream in stream()) {
        let mut engine = EngineSpeedRequest::new(CONFIG, TICK).unwrap();
        let mut before = engine.output();
        for (inputs, steps) in stream {
            for _ in 0..steps {
                let now = engine.step(inputs);
                prop_assert!(now >= CONFIG.low_idle && now <= CONFIG.high_idle);
                // 15 rpm a period up, 7.5 rpm down, and one eighth of rounding.
                prop_assert!(now.raw() - before.raw() <= 121 && before.raw() - now.raw() <= 61);
                before = now;
            }
        }
    }

    #[test]
    fn the_highest_throttle_wins_within_what_the_machine_needs_and_allows(inputs in inputs(), before in inputs()) {
        let mut engine = EngineSpeedRequest::new(CONFIG, TICK).unwrap();
        for _ in 0..201 {
            engine.step(before);
        }
        let from = engine.output();
        let goal = (rest(&inputs) * 8.0).round() as i32;
        for _ in 0..201 {
            let now = engine.step(inputs);
            prop_assert!(now.raw() >= from.raw().min(goal) - 1 && now.raw() <= from.raw().max(goal) + 1, "passed it");
        }
        prop_assert!((engine.output().raw() - goal).abs() <= 1, "{} instead of {}", engine.output().raw(), goal);
    }

    #[test]
    fn a_full_way_takes_its_time_and_at_most_one_period_less(time in 10_u32..=30_000) {
        let time = Millis::millis(time);
        let mut engine = EngineSpeedRequest::new(EngineSpeedRequestConfig { rise: time, fall: time, ..CONFIG }, TICK).unwrap();
        for (share, goal) in [(Ratio::ONE, CONFIG.high_idle), (Ratio::ZERO, CONFIG.low_idle)] {
            let inputs = EngineSpeedInputs { hand: Reading::Valid(share), foot: Reading::Valid(Ratio::ZERO), least: Ratio::ZERO, most: Ratio::ONE };
            let steps = (1..).find(|_| { engine.step(inputs); engine.share == share }).unwrap();
            prop_assert_eq!(engine.output(), goal);
            prop_assert!(steps <= TICK.steps(time) && steps + 1 >= TICK.steps(time), "{} steps", steps);
        }
    }
}

#[test]
fn each_broken_rule_is_refused_with_the_range_and_changes_nothing() {
    let mut engine = EngineSpeedRequest::new(CONFIG, TICK).unwrap();
    let refusals = [
        (
            EngineSpeedRequestConfig { low_idle: Rpm::from_whole(299), ..CONFIG },
            "low idle of 2392/8 rpm: set 300 to 2000 rpm",
        ),
        (
            EngineSpeedRequestConfig { high_idle: CONFIG.low_idle, ..CONFIG },
            "high idle of 7200/8 rpm: set it above low idle, up to 8000 rpm",
        ),
        (
            EngineSpeedRequestConfig { rise: Millis::millis(9), ..CONFIG },
            "low to high idle in 9 ms: set 10 ms to 30000 ms",
        ),
        (
            EngineSpeedRequestConfig { fall: Millis::millis(30_001), ..CONFIG },
            "high to low idle in 30001 ms: set 10 ms to 30000 ms",
        ),
    ];
    for (config, message) in refusals {
        assert_eq!(std::format!("{}", engine.reconfigure(config).unwrap_err()), message);
    }
    assert_eq!(engine.output(), CONFIG.low_idle);
}

#[test]
fn new_speeds_keep_the_share_of_the_way_and_a_reset_goes_to_low_idle() {
    let mut engine = EngineSpeedRequest::new(CONFIG, TICK).unwrap();
    let full = EngineSpeedInputs {
        hand: Reading::Valid(Ratio::ONE),
        foot: Reading::Valid(Ratio::ZERO),
        least: Ratio::ZERO,
        most: Ratio::from_permille(500).unwrap(),
    };
    for _ in 0..100 {
        engine.step(full);
    }
    assert_eq!(engine.output(), Rpm::from_whole(1_650));
    let other = EngineSpeedRequestConfig { high_idle: Rpm::from_whole(2_000), ..CONFIG };
    engine.reconfigure(other).unwrap();
    assert_eq!(engine.output(), Rpm::from_whole(1_450));
    engine.reset();
    assert_eq!(engine.output(), Rpm::from_whole(900));
}
