//! A coil in closed loop: no false alarm, no missed one.

use super::*;
use crate::quantity::{Centiohms, Permille};
use crate::valve::coil_model::*;
use crate::valve::{CurrentLoopConfig, DitherConfig};
use proptest::prelude::*;
use std::vec::Vec;

const STEP: Period = Period::from_micros(1_000).unwrap();

fn config(resistance: f64, inductance: f64, dither: u16) -> CoilConfig {
    CoilConfig {
        control: tuned(resistance, inductance),
        dither: DitherConfig { amplitude: milliamps(dither), cycle: Millis::from_ticks(10) },
        averaging: Millis::from_ticks(10),
        tolerance: Permille::new(100).unwrap(),
        offset: milliamps(40),
        stray: milliamps(60),
    }
}

/// A coil, its driver and its loop.
struct Bench {
    coil: Coil,
    model: CoilModel,
    measured: Milliamps,
    duty: Duty,
    wire: Wire,
    /// Each reading is off by up to this many milliamperes.
    noise: i64,
    steps: i64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Wire {
    Sound,
    Broken,
    TurnsShorted,
    OnSupply,
}

impl Bench {
    fn new(resistance: f64, inductance: f64, celsius: f64, dither: u16) -> Self {
        Self {
            coil: Coil::new(config(resistance, inductance, dither), STEP).unwrap(),
            model: CoilModel::new(at_temperature(resistance, celsius), inductance),
            measured: Milliamps::ZERO,
            duty: Duty::ZERO,
            wire: Wire::Sound,
            noise: 0,
            steps: 0,
        }
    }

    fn step(&mut self, set: u16, supply: f64, read: Option<f64>) -> CoilConditions {
        self.duty = self.coil.step(milliamps(set), self.measured, read.map(millivolts));
        let (duty, share) = match self.wire {
            Wire::Sound | Wire::Broken => (self.duty, 1.0),
            Wire::TurnsShorted => (self.duty, 0.3),
            Wire::OnSupply => (Duty::MAX, 1.0),
        };
        let mut model = CoilModel { resistance: self.model.resistance * share, ..self.model };
        self.measured = model.run(duty, supply);
        self.model.current = model.current;
        self.steps += 1;
        let off = (self.steps * 7_919 % 11 - 5) * self.noise / 5;
        self.measured = Milliamps::saturating(i64::from(self.measured.raw()) + off);
        if self.wire == Wire::Broken {
            self.model.current = 0.0;
            self.measured = Milliamps::ZERO;
        }
        self.coil.monitor().conditions()
    }
}

/// Set-points as a lever gives them through a ramp: a new one each 10 ms, towards a target at some rate.
fn lever(moves: &[(u16, u16, usize)]) -> Vec<u16> {
    let mut set_points = Vec::new();
    let mut set = 0_u16;
    for &(target, rate, ticks) in moves {
        for _ in 0..ticks {
            set = if set < target { (set + rate).min(target) } else { set.saturating_sub(rate).max(target) };
            set_points.extend([set; 10]);
        }
    }
    set_points
}

fn moves() -> impl Strategy<Value = Vec<(u16, u16, usize)>> {
    let target = prop_oneof![Just(0u16), 100u16..=800, 100u16..=800];
    let rate = prop_oneof![1u16..10, 10u16..100, Just(1_000)];
    proptest::collection::vec((target, rate, 1usize..40), 1..12)
}

/// Supply in volts: level, depth of the dips, every so many milliseconds.
fn supply_at(step: usize, (level, dip, every): (f64, f64, usize)) -> f64 {
    if step % every < every / 3 { (level - dip).max(9.0) } else { level }
}

fn coil() -> impl Strategy<Value = (f64, f64, f64, f64)> {
    (5.3..7.2, 0.015..0.025, 0.6..1.4, -20.0..100.0)
}

proptest! {
    #[test]
    fn a_sound_coil_is_never_at_fault_for_30_ms_over_ramps_steps_dither_dips_and_temperature(
        (resistance, inductance, told_to_true, celsius) in coil(),
        moves in moves(),
        dip in (9.0..16.0, 0.0..5.0, 30usize..400),
        dither in 0u16..=40,
        noise in 0i64..=10,
        sense_fails: bool,
    ) {
        let mut bench = Bench::new(resistance, inductance, celsius, dither);
        bench.noise = noise;
        bench.model.inductance *= told_to_true;
        let mut in_a_row = 0;
        for (step, set) in lever(&moves).into_iter().enumerate() {
            let supply = supply_at(step, dip);
            let seen = bench.step(set, supply, (!sense_fails).then_some(supply));
            let least = (dip.0 - dip.1).max(9.0);
            let reachable = least > f64::from(set) * 1.1 * bench.model.resistance / 1000.0;
            let excused = if reachable { CoilConditions::NONE } else { CoilConditions { unreachable: true, ..CoilConditions::NONE } };
            // After a step on a hot coil whose resistance is still learnt the current may be off for a moment: in one
            // of 305 000 of these stories. Blind to the supply the loop is slower.
            let told = seen != CoilConditions::NONE && seen != excused;
            let (counts, longest) = if sense_fails { (seen.any() && reachable, 50) } else { (told, 30) };
            prop_assert!(!seen.open && !seen.short && !seen.stray, "{} ms, {} mA: {:?}", step, set, seen);
            in_a_row = if counts { in_a_row + 1 } else { 0 };
            prop_assert!(in_a_row <= longest, "{} ms, {} mA: {:?}", step, set, seen);
        }
    }

    #[test]
    fn every_wiring_fault_is_found_within_the_stated_time(
        (resistance, inductance, told_to_true, celsius) in coil(),
        set in 160u16..=800,
        supply in 11.0..15.0,
        before in 0usize..100,
        dither in 0u16..=30,
        noise in 0i64..=10,
        wire in prop_oneof![Just(Wire::Broken), Just(Wire::TurnsShorted), Just(Wire::OnSupply)],
    ) {
        let mut bench = Bench::new(resistance, inductance, celsius, dither);
        bench.noise = noise;
        bench.model.inductance *= told_to_true;
        for _ in 0..before {
            bench.step(set, supply, Some(supply));
        }
        bench.wire = wire;
        let steps = bench.coil.monitor().detection_steps();
        for _ in 0..steps {
            bench.step(set, supply, Some(supply));
        }
        let seen = bench.coil.monitor().conditions();
        match wire {
            Wire::Broken => prop_assert!(seen.open, "{:?}", seen),
            _ => prop_assert!(seen.short, "{:?}", seen),
        }
        for _ in 0..steps {
            bench.step(0, supply, Some(supply));
        }
        let left = bench.coil.monitor().conditions();
        prop_assert_eq!(left, CoilConditions { stray: wire == Wire::OnSupply, ..CoilConditions::NONE });
    }
}

#[test]
fn a_hot_coil_at_low_supply_is_told_as_unreachable_with_what_can_be_reached() {
    let mut bench = Bench::new(7.2, 0.020, 100.0, 0);
    for _ in 0..4_000 {
        bench.step(1_200, 9.0, Some(9.0));
    }
    bench.coil.take_report();
    for _ in 0..10 {
        bench.step(1_200, 9.0, Some(9.0));
    }
    let report = bench.coil.take_report();
    assert_eq!(report.conditions, CoilConditions { unreachable: true, ..CoilConditions::NONE });
    let most = 9_000.0 / bench.model.resistance;
    assert!((f64::from(report.reachable.raw()) - most).abs() < 0.02 * most);
    assert!((f64::from(report.average_current.raw()) - most).abs() < 5.0);
    assert_eq!(report.average_duty, Duty::MAX);
}

#[test]
fn a_report_covers_what_happened_since_the_last_one() {
    let mut bench = Bench::new(6.0, 0.020, 20.0, 0);
    for _ in 0..300 {
        bench.step(600, 12.0, Some(12.0));
    }
    bench.coil.take_report();
    bench.wire = Wire::Broken;
    for _ in 0..100 {
        bench.step(600, 12.0, Some(12.0));
    }
    bench.wire = Wire::Sound;
    for _ in 0..100 {
        bench.step(600, 12.0, Some(12.0));
    }
    assert!(bench.coil.take_report().conditions.open, "an open coil that came and went is still told");
    for _ in 0..10 {
        bench.step(600, 12.0, Some(12.0));
    }
    let report = bench.coil.take_report();
    assert_eq!(report.conditions, CoilConditions::NONE);
    assert!(report.average_current.distance(milliamps(600)) <= milliamps(6));
    bench.coil.reset();
    assert_eq!(bench.coil.take_report().average_duty, Duty::ZERO);
}

#[test]
fn dither_moves_the_current_and_not_its_mean() {
    let (mut still, mut dithered) = (Bench::new(6.0, 0.020, 20.0, 0), Bench::new(6.0, 0.020, 20.0, 40));
    let (mut sum, mut least, mut most) = (0.0, 9.0_f64, 0.0_f64);
    for step in 0..1_200 {
        still.step(500, 12.0, Some(12.0));
        dithered.step(500, 12.0, Some(12.0));
        if step >= 1_000 {
            sum += dithered.model.current;
            least = least.min(dithered.model.current);
            most = most.max(dithered.model.current);
        }
    }
    assert!((sum / 200.0 - still.model.current).abs() < 0.003);
    assert!((0.030..0.120).contains(&(most - least)), "{}", most - least);
}

#[test]
fn an_averaging_time_that_splits_the_dither_is_refused_and_nothing_changes() {
    let good = config(6.0, 0.020, 30);
    let bad = CoilConfig { averaging: Millis::from_ticks(15), ..good };
    let mut coil = Coil::new(good, STEP).unwrap();
    let error = coil.reconfigure(bad).unwrap_err();
    assert_eq!(
        std::format!("{error}"),
        "averaging time 15 ms is not a whole number of dither cycles of 10 ms"
    );
    let still = DitherConfig { amplitude: Milliamps::ZERO, ..good.dither };
    assert!(coil.reconfigure(CoilConfig { dither: still, ..bad }).is_ok());
    let low = CurrentLoopConfig { resistance: Centiohms::ZERO, ..good.control };
    assert!(matches!(
        coil.reconfigure(CoilConfig { control: low, ..good }),
        Err(CoilConfigError::Control(_))
    ));
}

#[test]
fn at_zero_asked_the_current_is_below_a_tenth_of_the_threshold_within_50_ms() {
    for (resistance, inductance) in [(5.3, 0.025), (7.2, 0.015)] {
        let mut bench = Bench::new(resistance, inductance, -20.0, 30);
        bench.model.inductance *= 1.4;
        for _ in 0..200 {
            bench.step(900, 14.0, Some(14.0));
        }
        for _ in 0..50 {
            bench.step(0, 14.0, Some(14.0));
            assert_eq!(bench.duty, Duty::ZERO);
        }
        assert!(bench.model.current < 0.024, "{} A of 0.24 A", bench.model.current);
    }
}

#[test]
fn a_reading_that_stands_still_is_found_and_does_not_drive_the_coil_to_its_end() {
    let mut coil = Coil::new(config(5.3, 0.020, 40), STEP).unwrap();
    let mut model = CoilModel::new(at_temperature(5.3, 40.0), 0.020);
    let mut found = false;
    let mut worst = 0.0_f64;
    let mut measured = Milliamps::ZERO;
    for step in 0..2_000 {
        let duty = coil.step(milliamps(700), measured, Some(millivolts(13.8)));
        let current = model.run(duty, 13.8);
        if step < 300 {
            measured = current;
        } else if step == 300 {
            measured = milliamps(690);
        } else {
            found |= coil.monitor().conditions().deviation;
            if step > 1_500 {
                worst = worst.max(f64::from(current.raw()));
            }
        }
    }
    assert!(found);
    assert!(worst < 1.3 * 700.0, "{worst} mA flow for 700 asked");
}

#[test]
fn a_live_reconfiguration_with_current_flowing_raises_nothing() {
    let mut bench = Bench::new(5.3, 0.020, 40.0, 40);
    for _ in 0..300 {
        bench.step(900, 13.8, Some(13.8));
    }
    bench.coil.reconfigure(config(5.3, 0.020, 40)).unwrap();
    for _ in 0..300 {
        assert!(!bench.step(900, 13.8, Some(13.8)).any());
    }
}

#[test]
fn a_broken_sense_wire_does_not_drive_its_coil_to_full_current() {
    let mut bench = Bench::new(5.3, 0.020, 20.0, 40);
    for _ in 0..300 {
        bench.step(800, 14.0, Some(14.0));
    }
    let mut model = bench.model;
    for step in 0..300 {
        let duty = bench.coil.step(milliamps(800), Milliamps::ZERO, Some(millivolts(14.0)));
        model.run(duty, 14.0);
        if step > 150 {
            assert!(bench.coil.monitor().conditions().open);
            assert!((model.current - 0.8).abs() < 0.15, "{} A instead of 0.8 A", model.current);
        }
    }
}

/// Good for a loop of 1 ms, in every value other than [`config`] of the bench.
fn other() -> CoilConfig {
    CoilConfig {
        dither: DitherConfig { amplitude: milliamps(60), cycle: Millis::millis(8) },
        averaging: Millis::millis(16),
        tolerance: Permille::new(200).unwrap(),
        offset: milliamps(80),
        stray: milliamps(120),
        ..config(7.0, 0.028, 0)
    }
}

/// One wrong value each, and what is said of it.
fn refused() -> Vec<(CoilConfig, &'static str)> {
    let good = config(6.0, 0.024, 0);
    let control = |control| CoilConfig { control, ..good };
    let loop_of = good.control;
    let ohms = |raw| Centiohms::new(raw).unwrap();
    let volts = |raw| Millivolts::new(raw).unwrap();
    std::vec![
        (
            control(CurrentLoopConfig { resistance: ohms(49), ..loop_of }),
            "coil resistance 49 cΩ is outside 50 to 10000 cΩ"
        ),
        (
            control(CurrentLoopConfig { resistance: ohms(10_001), ..loop_of }),
            "coil resistance 10001 cΩ is outside 50 to 10000 cΩ"
        ),
        (
            control(CurrentLoopConfig { time_constant: Millis::millis(0), ..loop_of }),
            "coil time constant 0 ms is outside 1 to 50 ms"
        ),
        (
            control(CurrentLoopConfig { time_constant: Millis::millis(51), ..loop_of }),
            "coil time constant 51 ms is outside 1 to 50 ms"
        ),
        (
            control(CurrentLoopConfig { proportional: ohms(0), ..loop_of }),
            "proportional gain 0 cΩ is outside 1 to 1200 cΩ for this coil: a larger one would ring"
        ),
        (
            control(CurrentLoopConfig { proportional: ohms(1_201), ..loop_of }),
            "proportional gain 1201 cΩ is outside 1 to 1200 cΩ for this coil: a larger one would ring"
        ),
        (
            control(CurrentLoopConfig { integral_time: Millis::millis(3), ..loop_of }),
            "integral time 3 ms is outside 4 ms (the time constant) to 1000 ms"
        ),
        (
            control(CurrentLoopConfig { integral_time: Millis::millis(1_001), ..loop_of }),
            "integral time 1001 ms is outside 4 ms (the time constant) to 1000 ms"
        ),
        (
            control(CurrentLoopConfig { lowest_supply: volts(0), ..loop_of }),
            "lowest plausible supply 0 mV must be above zero and below the highest, 16000 mV"
        ),
        (
            control(CurrentLoopConfig { lowest_supply: volts(16_000), ..loop_of }),
            "lowest plausible supply 16000 mV must be above zero and below the highest, 16000 mV"
        ),
        (
            control(CurrentLoopConfig { largest: milliamps(0), ..loop_of }),
            "largest current 0 mA is outside 1 to 5000 mA"
        ),
        (
            control(CurrentLoopConfig { largest: milliamps(5_001), ..loop_of }),
            "largest current 5001 mA is outside 1 to 5000 mA"
        ),
        (
            CoilConfig { dither: DitherConfig { amplitude: milliamps(501), ..good.dither }, ..good },
            "dither amplitude 501 mA is above 500 mA"
        ),
        (CoilConfig { averaging: Millis::millis(0), ..good }, "averaging time 0 ms is outside 1 to 500 ms"),
        (
            CoilConfig { averaging: Millis::millis(501), ..good },
            "averaging time 501 ms is outside 1 to 500 ms"
        ),
        (
            CoilConfig { tolerance: Permille::new(-1).unwrap(), ..good },
            "current tolerance -1 ‰ is outside 0 to 500 ‰"
        ),
        (
            CoilConfig { tolerance: Permille::new(501).unwrap(), ..good },
            "current tolerance 501 ‰ is outside 0 to 500 ‰"
        ),
        (CoilConfig { offset: milliamps(0), ..good }, "current offset 0 mA is outside 1 to 1000 mA"),
        (CoilConfig { offset: milliamps(1_001), ..good }, "current offset 1001 mA is outside 1 to 1000 mA"),
        (CoilConfig { stray: milliamps(0), ..good }, "stray current 0 mA is outside 1 to 1000 mA"),
        (CoilConfig { stray: milliamps(1_001), ..good }, "stray current 1001 mA is outside 1 to 1000 mA"),
        (
            CoilConfig { averaging: Millis::millis(15), ..config(6.0, 0.024, 40) },
            "averaging time 15 ms is not a whole number of dither cycles of 10 ms"
        ),
    ]
}

/// At the ends of each range.
fn accepted() -> Vec<CoilConfig> {
    let good = config(6.0, 0.024, 0);
    let with = |control| CoilConfig { control, ..good };
    let ohms = |raw| Centiohms::new(raw).unwrap();
    let loop_of = |resistance, time_constant| CurrentLoopConfig {
        resistance: ohms(resistance),
        time_constant: Millis::millis(time_constant),
        proportional: ohms(1),
        integral_time: Millis::millis(1_000),
        ..good.control
    };
    std::vec![
        with(loop_of(50, 1)),
        with(loop_of(10_000, 50)),
        with(CurrentLoopConfig { proportional: ohms(1_200), ..good.control }),
        with(CurrentLoopConfig { integral_time: Millis::millis(4), ..good.control }),
        with(CurrentLoopConfig {
            lowest_supply: Millivolts::new(1).unwrap(),
            largest: milliamps(1),
            ..good.control
        }),
        with(CurrentLoopConfig {
            lowest_supply: Millivolts::new(15_999).unwrap(),
            largest: milliamps(5_000),
            ..good.control
        }),
        CoilConfig {
            averaging: Millis::millis(1),
            tolerance: Permille::ZERO,
            offset: milliamps(1),
            stray: milliamps(1),
            ..good
        },
        CoilConfig {
            averaging: Millis::millis(500),
            tolerance: Permille::new(500).unwrap(),
            offset: milliamps(1_000),
            stray: milliamps(1_000),
            ..good
        },
    ]
}

#[test]
fn the_ends_of_the_ranges_are_taken_and_what_is_beyond_is_refused_with_what_to_set() {
    crate::four_verbs::ends_are_taken_and_what_is_beyond_refused(
        |config| Coil::new(config, STEP),
        &accepted(),
        &refused(),
    );
}

/// Set-point, measured current and supply of a step.
fn readings() -> impl Strategy<Value = Vec<(u16, u16, Option<u16>)>> {
    let supply = prop_oneof![4 => (9_000_u16..15_000).prop_map(Some), 1 => Just(None)];
    crate::four_verbs::lasting((prop_oneof![Just(0_u16), 0_u16..1_200], 0_u16..1_500, supply))
}

/// All that can be seen of a coil in a step.
fn seen(
    coil: &mut Coil,
    (set, measured, supply): (u16, u16, Option<u16>),
) -> impl PartialEq + std::fmt::Debug + use<> {
    let supply = supply.map(|raw| Millivolts::new(raw).unwrap());
    let duty = coil.step(milliamps(set), milliamps(measured), supply);
    assert_eq!(duty, coil.duty());
    (
        duty,
        coil.take_report(),
        coil.control().resistance(),
        coil.control().reachable(),
        coil.monitor().conditions(),
    )
}

proptest! {
    #[test]
    fn after_a_reset_it_is_as_new(before in readings(), after in readings()) {
        let new = |config| Coil::new(config, STEP);
        crate::four_verbs::reset_forgets(config(6.0, 0.024, 40), new, |coil| coil.reset(), seen, (&before, &after))?;
    }

    #[test]
    fn a_refused_configuration_changes_nothing(before in readings(), after in readings()) {
        crate::four_verbs::refusals_change_nothing(
            (config(6.0, 0.024, 0), &refused()), |config| Coil::new(config, STEP),
            |coil, config| coil.reconfigure(config), seen, (&before, &after)
        )?;
    }

    #[test]
    fn a_coil_at_rest_with_a_new_configuration_is_as_if_built_with_it(stream in readings()) {
        let mut changed = Coil::new(config(6.0, 0.024, 40), STEP).unwrap();
        changed.reconfigure(other()).unwrap();
        // A loop keeps what it knows of its coil; a reset makes it forget.
        changed.reset();
        let mut built = Coil::new(other(), STEP).unwrap();
        for readings in stream {
            prop_assert_eq!(seen(&mut changed, readings), seen(&mut built, readings));
        }
    }
}

#[test]
fn the_mean_of_a_report_is_rounded_to_nearest() {
    for (readings, mean) in [([1, 0, 0, 0], 0), ([1, 1, 0, 0], 1), ([1, 1, 1, 0], 1), ([9, 9, 9, 8], 9)] {
        let mut coil = Coil::new(config(6.0, 0.020, 0), STEP).unwrap();
        for measured in readings {
            coil.step(Milliamps::ZERO, milliamps(measured), Some(millivolts(12.0)));
        }
        assert_eq!(coil.take_report().average_current, milliamps(mean), "{readings:?}");
    }
}
