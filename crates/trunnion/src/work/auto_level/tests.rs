use super::*;
use crate::sense::Flaw;
use proptest::prelude::*;

const STEP_S: f64 = 0.01;

fn permille(raw: i16) -> Permille {
    Permille::new(raw).unwrap()
}

fn ratio(share: f64) -> Ratio {
    Ratio::saturating((share * f64::from(Ratio::ONE_BITS)).round() as i64)
}

fn real(ratio: Ratio) -> f64 {
    f64::from(ratio.to_bits()) / f64::from(Ratio::ONE_BITS)
}

fn any_ratio() -> impl Strategy<Value = Ratio> {
    (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
}

/// Four points; the bucket never falls and stays inside its stroke.
fn config() -> impl Strategy<Value = AutoLevelConfig<4>> {
    let times = (500_u32..10_000, 500_u32..10_000, 500_u32..10_000, 500_u32..10_000);
    (200_i16..400, 500_i16..800, proptest::array::uniform3(0_i16..=250), times, 100_u32..2_000).prop_map(
        |(second, third, rises, (raise, lower, dump, curl), settle)| {
            let [a, b, c] = rises;
            let point = |boom, bucket| LevelPoint { boom: permille(boom), bucket: permille(bucket) };
            AutoLevelConfig {
                line: [
                    point(0, 100),
                    point(second, 100 + a),
                    point(third, 100 + a + b),
                    point(1_000, 100 + a + b + c),
                ],
                raise: Millis::millis(raise),
                lower: Millis::millis(lower),
                dump: Millis::millis(dump),
                curl: Millis::millis(curl),
                settle: Millis::millis(settle),
                largest: permille(1_000),
                neutral: permille(50),
                way: LevelWay::BothWays,
            }
        },
    )
}

/// Both cylinders, in 64-bit floating point and from the points themselves: nothing of the block's arithmetic.
struct Linkage {
    config: AutoLevelConfig<4>,
    boom: f64,
    bucket: f64,
    /// The bucket is so much quicker than its stroke times say.
    quicker: f64,
}

impl Linkage {
    fn level(&self) -> f64 {
        let points =
            self.config.line.map(|point| (f64::from(point.boom.raw()), f64::from(point.bucket.raw())));
        let boom = self.boom * 1000.0;
        let place = points.iter().rposition(|point| point.0 <= boom).unwrap().min(2);
        let ((x, y), (right, up)) = (points[place], points[place + 1]);
        (y + (boom - x) / (right - x) * (up - y)) / 1000.0
    }

    fn steepest(&self) -> f64 {
        let pairs = self.config.line.iter().zip(&self.config.line[1..]);
        let slope = |(a, b): (&LevelPoint, &LevelPoint)| {
            f64::from(b.bucket.raw() - a.bucket.raw()) / f64::from(b.boom.raw() - a.boom.raw())
        };
        pairs.map(slope).fold(0.0, f64::max)
    }

    fn inputs(&self, boom: f64) -> AutoLevelInputs {
        AutoLevelInputs {
            on: true,
            boom: ratio(boom),
            lever: Ratio::ZERO,
            boom_position: Reading::Valid(ratio(self.boom)),
            bucket_position: Reading::Valid(ratio(self.bucket)),
        }
    }

    fn step(&mut self, boom: f64, bucket: Ratio) {
        let seconds = |time: Millis| f64::from(time.ticks()) / 1000.0;
        let boom_time = seconds(if boom > 0.0 { self.config.raise } else { self.config.lower });
        let bucket = real(bucket);
        let bucket_time = seconds(if bucket > 0.0 { self.config.dump } else { self.config.curl });
        self.boom = (self.boom + boom * STEP_S / boom_time).clamp(0.0, 1.0);
        self.bucket += bucket * self.quicker * STEP_S / bucket_time;
    }
}

proptest! {
    /// Over the whole lift and back down: off by less than what one period moves, and with wrong stroke times by their share.
    #[test]
    fn a_lifted_bucket_keeps_its_angle(config in config(), command in 0.1_f64..1.0, quicker in 0.8_f64..1.2) {
        let mut linkage = Linkage { config, boom: 0.0, bucket: 0.0, quicker };
        linkage.bucket = linkage.level() + 0.05;
        let mut block = AutoLevel::new(config).unwrap();
        let seconds = |time: Millis| f64::from(time.ticks()) / 1000.0;
        let steepest = linkage.steepest();
        // What is off on the way up is still off at the turn, and what the turn adds comes to it.
        let mut allowed = 0.0_f64;
        for (command, boom_time, bucket_time) in
            [(command, config.raise, config.dump), (-command, config.lower, config.curl)]
        {
            let fed = command.abs() * steepest * seconds(bucket_time) / seconds(boom_time);
            prop_assume!(fed * 1.4 < 1.0, "the bucket cannot follow so quick a boom");
            // A kink of the line is seen a period late, and what was fed for the other piece counts twice.
            let one_period = 2.0 * command.abs() * steepest * STEP_S / seconds(boom_time);
            let wrong = (1.0 - quicker).abs().max((1.0 - 1.0 / quicker).abs()) * fed * seconds(config.settle)
                / seconds(bucket_time);
            allowed += one_period + wrong + 1e-4;
            for _ in 0..(seconds(boom_time) / command.abs() / STEP_S) as usize + 10 {
                let given = block.step(linkage.inputs(command));
                linkage.step(command, given);
                let error = linkage.bucket - linkage.level() - 0.05;
                prop_assert!(error.abs() <= allowed, "off by {} of at most {}", error, allowed);
            }
        }
    }

    #[test]
    fn the_lever_beyond_neutral_always_passes_unchanged(
        config in config(), lever in any_ratio(), boom in any_ratio(), boom_position in any_ratio(), bucket_position in any_ratio()
    ) {
        prop_assume!(lever.magnitude() > Ratio::from(config.neutral));
        let mut block = AutoLevel::new(config).unwrap();
        for on in [true, false, true] {
            let inputs = AutoLevelInputs {
                on, boom, lever, boom_position: Reading::Valid(boom_position), bucket_position: Reading::Valid(bucket_position),
            };
            prop_assert_eq!(block.step(inputs), lever);
            prop_assert!(!block.is_levelling());
        }
    }

    #[test]
    fn nothing_is_added_with_the_boom_at_rest_or_without_a_position_or_while_it_is_off(
        config in config(), boom in any_ratio(), lever in -50_i32..=50, position in any_ratio(), lost in 0_u8..4
    ) {
        let mut block = AutoLevel::new(config).unwrap();
        let good = Reading::Valid(position);
        let broken = Reading::Faulted(Flaw::WireBreak);
        let lever = Ratio::from_permille(lever).unwrap();
        let mut inputs = AutoLevelInputs { on: true, boom, lever, boom_position: good, bucket_position: good };
        block.step(inputs);
        match lost {
            0 => inputs.boom = Ratio::ZERO,
            1 => inputs.boom_position = broken,
            2 => inputs.bucket_position = broken,
            _ => inputs.on = false,
        }
        prop_assert_eq!(block.step(inputs), lever);
        prop_assert!(!block.is_levelling());
    }

    #[test]
    fn the_command_stays_within_its_limit_and_never_drives_the_bucket_against_an_end(
        config in config(), largest in 10_i16..=1_000, stream in proptest::collection::vec((any_ratio(), any_ratio(), any_ratio()), 1..50)
    ) {
        let mut block = AutoLevel::new(AutoLevelConfig { largest: permille(largest), ..config }).unwrap();
        for (boom, boom_position, bucket_position) in stream {
            let given = block.step(AutoLevelInputs {
                on: true,
                boom,
                lever: Ratio::ZERO,
                boom_position: Reading::Valid(boom_position),
                bucket_position: Reading::Valid(bucket_position),
            });
            prop_assert!(given.magnitude() <= permille(largest).into());
            prop_assert!(bucket_position < Ratio::ONE || given <= Ratio::ZERO);
            prop_assert!(bucket_position > Ratio::ZERO || given >= Ratio::ZERO);
        }
    }
}

fn plain() -> AutoLevelConfig<2> {
    let point = |boom, bucket| LevelPoint { boom: permille(boom), bucket: permille(bucket) };
    AutoLevelConfig {
        line: [point(0, 100), point(1_000, 600)],
        raise: Millis::millis(4_000),
        lower: Millis::millis(4_000),
        dump: Millis::millis(2_000),
        curl: Millis::millis(2_000),
        settle: Millis::millis(500),
        largest: permille(800),
        neutral: permille(50),
        way: LevelWay::Raising,
    }
}

/// Feed-forward 0.25 · 500 ms / 2000 ms = 0.0625 of the stroke.
#[test]
fn a_stalled_boom_takes_the_bucket_off_by_what_the_docs_say_and_no_further() {
    let mut block = AutoLevel::new(plain()).unwrap();
    let mut bucket = 0.3;
    for _ in 0..1_000 {
        let given = block.step(AutoLevelInputs {
            on: true,
            boom: Ratio::ONE,
            lever: Ratio::ZERO,
            boom_position: Reading::Valid(ratio(0.4)),
            bucket_position: Reading::Valid(ratio(bucket)),
        });
        bucket += real(given) * STEP_S / 2.0;
    }
    assert!((bucket - 0.3 - 0.0625).abs() < 1e-4, "{bucket}");
}

#[test]
fn at_the_top_the_boom_feeds_nothing_forward_and_lowering_is_left_alone_where_asked() {
    let mut block = AutoLevel::new(plain()).unwrap();
    let at = |boom: f64, position: f64| AutoLevelInputs {
        on: true,
        boom: ratio(boom),
        lever: Ratio::ZERO,
        boom_position: Reading::Valid(ratio(position)),
        bucket_position: Reading::Valid(ratio(0.5)),
    };
    assert_eq!(block.step(at(1.0, 1.0)), Ratio::ZERO);
    assert_eq!(block.step(at(-1.0, 0.5)), Ratio::ZERO);
    assert!(!block.is_levelling());
    assert_eq!(block.step(at(1.0, 0.5)).to_permille().raw(), 250);
    assert!(block.is_levelling());
    block.reset();
    assert!(!block.is_levelling());
}

#[test]
fn each_broken_rule_is_refused_with_what_to_do() {
    let point = |boom, bucket| LevelPoint { boom: permille(boom), bucket: permille(bucket) };
    let good = plain();
    let refusals = [
        (
            AutoLevelConfig { line: [point(1, 100), point(1_000, 600)], ..good },
            "point 1 with the boom at 1 ‰ and the bucket at 100 ‰: let the boom ascend from 0 ‰ to 1000 ‰, and the bucket \
             with it, never back and at most 8 times as far",
        ),
        (
            AutoLevelConfig { raise: Millis::millis(499), ..good },
            "full stroke in 499 ms: set 500 ms to 60000 ms",
        ),
        (
            AutoLevelConfig { settle: Millis::millis(10_001), ..good },
            "error settled in 10001 ms: set 100 ms to 10000 ms",
        ),
        (AutoLevelConfig { largest: permille(9), ..good }, "9 ‰ at most: set 10 ‰ to 1000 ‰"),
        (AutoLevelConfig { neutral: permille(301), ..good }, "neutral band of 301 ‰: set 10 ‰ to 300 ‰"),
    ];
    let mut block = AutoLevel::new(good).unwrap();
    for (config, message) in refusals {
        assert_eq!(std::format!("{}", block.reconfigure(config).unwrap_err()), message);
    }
    for line in [
        [point(0, 100), point(999, 600)],
        [point(0, -1), point(1_000, 600)],
        [point(0, 600), point(1_000, 100)],
    ] {
        let refused = AutoLevel::new(AutoLevelConfig { line, ..good }).unwrap_err();
        assert!(matches!(refused, AutoLevelConfigError::Point { .. }), "{refused:?}");
    }
    let line = [point(0, 0), point(100, 801), point(1_000, 900)];
    let AutoLevelConfig { raise, lower, dump, curl, settle, largest, neutral, way, .. } = good;
    let steep = AutoLevelConfig { line, raise, lower, dump, curl, settle, largest, neutral, way };
    let refused = AutoLevel::new(steep).unwrap_err();
    assert_eq!(refused, AutoLevelConfigError::Point { point: 2, given: point(100, 801) });
    let line = [point(0, 0), point(100, 800), point(1_000, 900)];
    assert!(AutoLevel::new(AutoLevelConfig { line, ..steep }).is_ok());
}

#[test]
fn the_ends_of_the_ranges_are_taken_and_what_is_beyond_is_refused_with_what_to_set() {
    let good = plain();
    let strokes = |raw| {
        let stroke = Millis::millis(raw);
        AutoLevelConfig { raise: stroke, lower: stroke, dump: stroke, curl: stroke, ..good }
    };
    let settle = |raw| AutoLevelConfig { settle: Millis::millis(raw), ..good };
    let largest = |raw| AutoLevelConfig { largest: permille(raw), ..good };
    let neutral = |raw| AutoLevelConfig { neutral: permille(raw), ..good };
    crate::four_verbs::ends_are_taken_and_what_is_beyond_refused(
        AutoLevel::new,
        &[
            strokes(500),
            strokes(60_000),
            settle(100),
            settle(10_000),
            largest(10),
            largest(1_000),
            neutral(10),
            neutral(300),
        ],
        &[
            (strokes(499), "full stroke in 499 ms: set 500 ms to 60000 ms"),
            (strokes(60_001), "full stroke in 60001 ms: set 500 ms to 60000 ms"),
            (settle(99), "error settled in 99 ms: set 100 ms to 10000 ms"),
            (settle(10_001), "error settled in 10001 ms: set 100 ms to 10000 ms"),
            (largest(9), "9 ‰ at most: set 10 ‰ to 1000 ‰"),
            (neutral(9), "neutral band of 9 ‰: set 10 ‰ to 300 ‰"),
            (neutral(301), "neutral band of 301 ‰: set 10 ‰ to 300 ‰"),
        ],
    );
}

#[test]
fn at_its_end_the_bucket_is_driven_away_from_it_only() {
    let mut block = AutoLevel::new(AutoLevelConfig { way: LevelWay::BothWays, ..plain() }).unwrap();
    for (bucket, raising, lowering) in [(1.0, 0, -250), (0.5, 250, -250), (0.0, 250, 0)] {
        for (boom, given) in [(1.0, raising), (-1.0, lowering)] {
            block.reset();
            let inputs = AutoLevelInputs {
                on: true,
                boom: ratio(boom),
                lever: Ratio::ZERO,
                boom_position: Reading::Valid(ratio(0.5)),
                bucket_position: Reading::Valid(ratio(bucket)),
            };
            assert_eq!(block.step(inputs).to_permille().raw(), given, "{boom} at {bucket}");
        }
    }
}

proptest! {
    #[test]
    fn another_linkage_levels_as_one_built_with_it(
        one in config(), other in config(), stream in proptest::collection::vec((any_ratio(), any_ratio(), any_ratio()), 0..40)
    ) {
        let mut changed = AutoLevel::new(one).unwrap();
        changed.reconfigure(other).unwrap();
        let mut built = AutoLevel::new(other).unwrap();
        for (boom, boom_position, bucket_position) in stream {
            let inputs = AutoLevelInputs {
                on: true,
                lever: Ratio::ZERO,
                boom,
                boom_position: Reading::Valid(boom_position.magnitude()),
                bucket_position: Reading::Valid(bucket_position.magnitude()),
            };
            prop_assert_eq!(changed.step(inputs), built.step(inputs));
        }
    }
}
