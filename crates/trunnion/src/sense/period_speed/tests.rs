use super::*;
use proptest::prelude::*;

const TICK: Period = Period::from_micros(10_000).unwrap();

fn wheel(teeth: u16, fastest: i32, glitches: u8) -> PeriodSpeedConfig {
    PeriodSpeedConfig {
        teeth,
        zero_speed_after: Millis::millis(200),
        fastest: Rpm::from_whole(fastest),
        glitches,
    }
}

fn pickup(teeth: u16, fastest: i32, glitches: u8) -> PeriodSpeed {
    PeriodSpeed::new(wheel(teeth, fastest, glitches), TICK).unwrap()
}

proptest! {
    #[test]
    fn a_possible_period_reads_sixty_by_z_t_to_nearest(teeth in 1_u16..=200, raw in 1_000_u32..=10_000_000) {
        let exact = 4_800_000_000.0 / (f64::from(teeth) * f64::from(raw));
        let mut speed = pickup(teeth, 6_000, 0);
        match speed.step(SignalPeriod::new(raw)) {
            Reading::Valid(read) => prop_assert!((f64::from(read.raw()) - exact).abs() <= 0.5 + 1e-6),
            Reading::Faulted(flaw) => prop_assert!(exact > 47_999.0 && flaw == Flaw::TooFast),
        }
    }

    #[test]
    fn any_periods_read_between_zero_and_the_fastest_speed_and_a_glitch_never_raises_the_speed(
        stream in proptest::collection::vec(proptest::option::of(0_u32..100_000), 1..200), glitches in 0_u8..=20
    ) {
        let mut speed = pickup(60, 3_000, glitches);
        let mut before = Rpm::ZERO;
        for captured in stream {
            let possible = captured.is_some_and(|raw| speed.speed(raw).is_some());
            let reading = speed.step(captured.and_then(SignalPeriod::new));
            if let Some(now) = reading.valid() {
                prop_assert!(now >= Rpm::ZERO && now <= Rpm::from_whole(3_000));
                prop_assert!(possible || now <= before, "without a possible period it only slows down");
                before = now;
            }
        }
    }

    #[test]
    fn as_many_glitches_as_allowed_are_passed_over_and_one_more_faults(glitches in 0_u8..=15) {
        let mut speed = pickup(60, 3_000, glitches);
        let spark = Some(SignalPeriod::from_micros(20));
        speed.step(Some(SignalPeriod::from_micros(200_000)));
        for _ in 0..glitches {
            prop_assert!(speed.step(spark).is_valid());
        }
        prop_assert_eq!(speed.step(spark), Reading::Faulted(Flaw::TooFast));
        for _ in 0..50 {
            prop_assert_eq!(speed.step(None), Reading::Faulted(Flaw::TooFast), "nothing new is known");
        }
        let tooth = Some(SignalPeriod::from_micros(1_000));
        prop_assert_eq!(speed.step(tooth), Reading::Valid(Rpm::from_whole(1_000)));
    }

    #[test]
    fn a_wheel_that_stops_only_slows_down_and_stands_after_the_zero_speed_time(micros in 334_u32..100_000) {
        let mut speed = pickup(60, 3_000, 0);
        let mut before = speed.step(Some(SignalPeriod::from_micros(micros))).valid().unwrap();
        for silent in 1..=20_i64 {
            let now = speed.step(None).valid().unwrap();
            prop_assert!(now <= before);
            prop_assert!(i64::from(now.raw()) <= 480_000_000 / (60 * silent * 10_000) + 1);
            before = now;
        }
        prop_assert_eq!(before, Rpm::ZERO);
    }
}

#[test]
fn a_period_of_zero_is_a_glitch_and_a_reset_forgets_it() {
    let mut speed = pickup(60, 3_000, 0);
    assert_eq!(speed.step(Some(SignalPeriod::ZERO)), Reading::Faulted(Flaw::TooFast));
    speed.reset();
    assert_eq!(speed.step(None), Reading::Valid(Rpm::ZERO));
}

#[test]
fn each_broken_rule_is_refused_with_what_to_do_and_changes_nothing() {
    let mut speed = pickup(60, 3_000, 2);
    let refusals = [
        (wheel(0, 3_000, 2), "no teeth: set 1 or more"),
        (
            PeriodSpeedConfig { zero_speed_after: Millis::millis(9), ..wheel(60, 3_000, 2) },
            "standstill after 9 ms without a period: set 10 ms to 10000 ms",
        ),
        (
            wheel(60, 0, 2),
            "fastest speed of 0/8 rpm: set it above 0 rpm, and so that a tooth takes 1 µs or more",
        ),
        (
            wheel(60_000, 3_000, 2),
            "fastest speed of 24000/8 rpm: set it above 0 rpm, and so that a tooth takes 1 µs or more",
        ),
        (wheel(60, 3_000, 21), "21 glitches: set 0 to 20"),
    ];
    for (config, message) in refusals {
        assert_eq!(std::format!("{}", speed.reconfigure(config).unwrap_err()), message);
        assert_eq!(speed.config, wheel(60, 3_000, 2));
    }
    speed.reconfigure(wheel(30, 3_000, 2)).unwrap();
    assert_eq!(speed.step(Some(SignalPeriod::from_micros(1_000))), Reading::Valid(Rpm::from_whole(2_000)));
}

#[test]
fn without_a_period_the_speed_is_bounded_by_the_time_waited_until_the_wheel_stands() {
    let mut speed = pickup(60, 3_000, 0);
    speed.step(Some(SignalPeriod::from_micros(20_000)));
    assert_eq!(speed.step(None), Reading::Valid(Rpm::from_whole(50)), "one tooth in 10 ms would be 100 rpm");
    let silent = (2..=20).map(|_| speed.step(None).valid().unwrap().raw());
    // One tooth in 10 ms is 800 eighths of 1 rpm, in so many times 10 ms so many times less.
    assert!(silent.eq((2..=20).map(|steps| if steps < 20 { (1_600 + steps) / (2 * steps) } else { 0 })));
}

#[test]
fn a_new_wheel_keeps_the_reading_the_time_waited_and_the_glitches() {
    let spark = Some(SignalPeriod::from_micros(20));
    let mut speed = pickup(60, 3_000, 2);
    speed.step(Some(SignalPeriod::from_micros(20_000)));
    speed.step(spark);
    speed.step(spark);
    speed.reconfigure(wheel(60, 2_900, 2)).unwrap();
    assert_eq!(speed.reading, Reading::Valid(Rpm::from_whole(50)));
    assert_eq!(speed.step(spark), Reading::Faulted(Flaw::TooFast), "the third one behind the other");
    speed.reconfigure(wheel(60, 3_000, 2)).unwrap();
    assert_eq!(speed.step(None), Reading::Faulted(Flaw::TooFast), "nothing new is known");
    speed.step(Some(SignalPeriod::from_micros(20_000)));
    for _ in 0..12 {
        speed.step(None);
    }
    speed.reconfigure(wheel(30, 3_000, 2)).unwrap();
    let stands = (13..=20).map(|_| speed.step(None) == Reading::Valid(Rpm::ZERO));
    assert!(stands.eq((13..=20).map(|silent| silent == 20)));
}
