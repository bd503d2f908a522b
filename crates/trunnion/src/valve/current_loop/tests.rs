//! The loop with an exact coil.

use super::*;
use crate::valve::coil_model::*;
use proptest::prelude::*;

const STEP: Period = Period::from_micros(1_000).unwrap();
/// Coils of pump controls and spool valves of 12 V machines (from memory): Ω at 20 °C, H.
const COILS: [(f64, f64); 4] = [(5.3, 0.015), (5.3, 0.025), (7.2, 0.015), (7.2, 0.025)];

/// A loop and a coil.
#[derive(Clone)]
struct Bench {
    control: CurrentLoop,
    coil: CoilModel,
    measured: Milliamps,
    /// The output stage takes a duty over one step late.
    late: bool,
    last: Duty,
}

impl Bench {
    fn new(config: CurrentLoopConfig, coil: CoilModel) -> Self {
        let control = CurrentLoop::new(config, STEP).unwrap();
        Self { control, coil, measured: Milliamps::ZERO, late: false, last: Duty::ZERO }
    }

    fn at(resistance: f64, inductance: f64, celsius: f64) -> Self {
        let coil = CoilModel::new(at_temperature(resistance, celsius), inductance);
        Self::new(tuned(resistance, inductance), coil)
    }

    /// One step; `supply` is what the coil gets, `read` what the controller knows of it.
    fn step_reading(&mut self, set: u16, supply: f64, read: Option<f64>) -> Duty {
        let duty = self.control.step(milliamps(set), self.measured, read.map(millivolts));
        self.measured = self.coil.run(if self.late { self.last } else { duty }, supply);
        self.last = duty;
        duty
    }

    fn step(&mut self, set: u16, supply: f64) -> Duty {
        self.step_reading(set, supply, Some(supply))
    }

    /// Distance of the current from a set-point, as a share of it.
    fn error(&self, set: u16) -> f64 {
        (self.coil.current * 1000.0 - f64::from(set)).abs() / f64::from(set)
    }
}

fn each_condition(mut test: impl FnMut(Bench, f64, u16)) {
    for (resistance, inductance) in COILS {
        for told_to_true in [0.6, 1.0, 1.4] {
            for celsius in [-20.0, 20.0, 100.0] {
                for supply in [9.0, 12.0, 16.0] {
                    for set in [100, 250, 600, 900] {
                        let mut bench = Bench::at(resistance, inductance, celsius);
                        bench.coil.inductance *= told_to_true;
                        test(bench, supply, set);
                    }
                }
            }
        }
    }
}

fn resting() -> CurrentLoop {
    CurrentLoop::new(tuned(6.0, 0.02), STEP).unwrap()
}

#[test]
fn resistance_and_duty_are_rounded_to_nearest() {
    let mut control = resting();
    for (fine, whole) in [(FINE / 2 - 1, 600), (FINE / 2, 601)] {
        control.resistance = 600 * FINE + fine;
        assert_eq!(control.resistance().raw(), whole);
    }
    control.supply = Millivolts::new(12_000).unwrap();
    // 0.6 mV of 12 V is half of 0.01 %.
    assert_eq!([59, 60].map(|voltage| control.drive(voltage).raw()), [0, 1]);
}

#[test]
fn the_lag_is_sampled_in_the_middle_of_a_step() {
    let control = resting();
    let tau = f64::from(control.config.time_constant.ticks());
    for (share, lag) in [(control.gains.smoothing, 2.0 * tau), (control.gains.approach, tau)] {
        let exact = f64::from(FINE) / (lag + 0.5);
        assert!((f64::from(share) - exact).abs() < 1.0, "{share} is not {exact}");
    }
}

#[test]
fn it_does_not_wind_up_at_either_end_of_the_duty() {
    let mut control = resting();
    let ceiling = 1_200_000;
    for (missing, wanted) in [(-100, 0), (-100, -1), (100, ceiling), (100, ceiling + 1)] {
        control.integrate(missing, wanted, ceiling);
        assert_eq!(control.integral, 0, "{missing} mA missing, {wanted} wanted");
    }
    control.integrate(-100, 1, ceiling);
    assert!(control.integral < 0);
    control.integral = 0;
    control.integrate(100, ceiling - 1, ceiling);
    assert!(control.integral > 0);
}

#[test]
fn it_learns_from_an_eighth_of_the_largest_current_on() {
    for (below, learns) in [(0, true), (1, false)] {
        let mut control = resting();
        let before = control.resistance;
        control.applied = 1_000_000;
        control.learn(milliamps(control.gains.least_to_learn_from - below));
        assert_eq!(control.resistance != before, learns);
    }
}

#[test]
fn what_was_learnt_is_brought_inside_the_bounds_of_another_coil() {
    for (other, percent) in [(3.0, HOTTEST_PERCENT), (12.0, COLDEST_PERCENT)] {
        let mut control = resting();
        control.reconfigure(tuned(other, 0.02)).unwrap();
        let nominal = i64::from(fine_resistance(control.config.resistance));
        assert_eq!(i64::from(control.resistance), nominal * percent / 100);
    }
}

#[test]
fn a_step_settles_within_60_ms_to_2_percent_and_overshoots_by_less_than_10() {
    each_condition(|bench, supply, set| {
        for late in [false, true] {
            let mut bench = Bench { late, ..bench.clone() };
            for step in 0..300 {
                bench.step(set, supply);
                let current = bench.coil.current * 1000.0;
                assert!(current < 1.1 * f64::from(set), "{set} mA, {supply} V, {step} ms: {current} mA");
                assert!(step < 60 || bench.error(set) < 0.02, "{set} mA, {supply} V: {current} mA");
            }
        }
    });
}

#[test]
fn the_current_is_held_within_2_percent_while_the_supply_falls_and_the_coil_heats_up() {
    for (resistance, inductance) in COILS {
        let mut bench = Bench::at(resistance, inductance, -20.0);
        for step in 0..20_000 {
            // 16 V down to 9 V and up again twice a second, −20 °C to 100 °C in 20 s
            let phase = f64::from(step % 500) / 250.0 - 1.0;
            let supply = 9.0 + 7.0 * phase.abs();
            bench.coil.resistance = at_temperature(resistance, -20.0 + f64::from(step) * 0.006);
            bench.step(800, supply);
            assert!(step < 60 || bench.error(800) < 0.02, "{supply} V, {step} ms: {}", bench.error(800));
        }
    }
}

#[test]
fn a_supply_dip_that_is_read_one_step_late_is_made_good_within_20_ms() {
    for (resistance, inductance) in COILS {
        let mut bench = Bench::at(resistance, inductance, 60.0);
        let mut read = 13.8;
        for step in 0..600 {
            let supply = if (300..450).contains(&step) { 9.5 } else { 13.8 };
            bench.step_reading(600, supply, Some(read));
            read = supply;
            let since = if step < 300 { step } else { (step - 300) % 150 };
            let allowed = if step < 60 || since < 20 { 1.0 } else { 0.02 };
            assert!(bench.error(600) < allowed, "{step} ms: {}", bench.error(600));
            assert!(step < 60 || bench.error(600) < 0.25, "{step} ms: {}", bench.error(600));
        }
    }
}

#[test]
fn a_current_that_hot_copper_or_cranking_keeps_away_is_told_and_forgotten_when_it_comes() {
    let mut bench = Bench::at(7.2, 0.020, 100.0);
    for _ in 0..200 {
        bench.step(1_200, 9.0);
    }
    assert!(bench.control.saturated());
    let most = 9_000.0 / bench.coil.resistance;
    let reachable = f64::from(bench.control.reachable().raw());
    for _ in 0..4_000 {
        bench.step(1_200, 9.0);
    }
    let learnt = f64::from(bench.control.reachable().raw());
    assert!(reachable >= most && (learnt - most).abs() < 0.02 * most, "{reachable} {learnt} {most}");
    for step in 0..60 {
        bench.step(1_200, 14.0);
        assert!(!bench.control.saturated() || step < 2);
        assert!(bench.coil.current < 1.2 * 1.1);
    }
    assert!(bench.error(1_200) < 0.02);
}

#[test]
fn saturation_is_told_after_five_time_constants_at_full_duty_and_not_for_a_shorter_dip() {
    let mut bench = Bench::at(7.2, 0.020, 20.0);
    for _ in 0..200 {
        bench.step(1_200, 14.0);
    }
    let mut dip = bench.clone();
    for _ in 0..14 {
        assert_eq!(dip.step(1_200, 8.2), Duty::MAX);
        assert!(!dip.control.saturated());
    }
    for _ in 0..50 {
        dip.step(1_200, 14.0);
        assert!(!dip.control.saturated());
    }
    for step in 1..30 {
        bench.step(1_200, 8.2);
        assert_eq!(bench.control.saturated(), step >= 15, "{step} ms"); // 5 · 3 ms
    }
}

#[test]
fn a_current_that_can_be_reached_is_never_told_as_saturated() {
    each_condition(|mut bench, supply, set| {
        let most = supply / bench.coil.resistance * 1000.0;
        if f64::from(set) > 0.95 * most {
            return;
        }
        for _ in 0..300 {
            bench.step(set, supply);
            assert!(!bench.control.saturated(), "{set} mA, {supply} V, most {most} mA");
        }
    });
}

#[test]
fn without_a_supply_reading_the_duty_starts_lower_and_the_current_still_arrives() {
    for (resistance, inductance) in COILS {
        let mut blind = Bench::at(resistance, inductance, 20.0);
        let mut seeing = blind.clone();
        let blind_start = blind.step_reading(600, 12.0, None);
        assert!(blind_start < seeing.step(600, 12.0));
        for step in 0..400 {
            blind.step_reading(600, 12.0, None);
            assert!(blind.coil.current <= 0.66);
            assert!(step < 250 || blind.error(600) < 0.02, "{step} ms: {}", blind.error(600));
        }
        assert_eq!(blind.control.resistance(), tuned(resistance, inductance).resistance);
    }
}

#[test]
fn an_implausible_supply_reading_counts_as_the_nearer_end_of_its_range() {
    for (read, nearest) in [(0.0, 8.0), (7.9, 8.0), (16.1, 16.0), (60.0, 16.0)] {
        let mut wild = Bench::at(5.3, 0.020, 20.0);
        let mut held = wild.clone();
        for _ in 0..50 {
            let duty = wild.step_reading(500, 12.0, Some(read));
            assert_eq!(duty, held.step_reading(500, 12.0, Some(nearest)));
        }
    }
}

#[test]
fn the_resistance_is_learnt_in_3_s_at_half_current_and_kept_through_zero_but_not_through_reset() {
    for celsius in [-20.0, 100.0] {
        let mut bench = Bench::at(7.2, 0.020, celsius);
        for _ in 0..3_000 {
            bench.step(1_000, 14.0); // three time constants of 0.5 s · 2 A / 1 A: 5 % of 31 % are left
        }
        let learnt = f64::from(bench.control.resistance().raw());
        assert!((learnt / 100.0 / bench.coil.resistance - 1.0).abs() < 0.02, "{learnt} cΩ at {celsius} °C");
        bench.step(0, 14.0);
        assert_eq!(f64::from(bench.control.resistance().raw()), learnt);
        bench.control.reset();
        assert_eq!(bench.control.resistance().raw(), 720);
    }
}

#[test]
fn the_estimate_stays_within_copper_for_a_shorted_an_open_and_a_hardly_driven_coil() {
    let mut shorted = Bench::at(7.2, 0.020, 20.0);
    shorted.coil.resistance = 1.0;
    for _ in 0..5_000 {
        shorted.step(800, 14.0);
        assert!((540..=1_044).contains(&shorted.control.resistance().raw()));
    }
    let mut open = CurrentLoop::new(tuned(7.2, 0.020), STEP).unwrap();
    let mut small = Bench::at(7.2, 0.020, 100.0);
    for _ in 0..5_000 {
        open.step(milliamps(800), Milliamps::ZERO, Some(millivolts(14.0)));
        small.step(200, 14.0);
    }
    assert_eq!((open.resistance().raw(), small.control.resistance().raw()), (720, 720));
}

fn config() -> impl Strategy<Value = CurrentLoopConfig> {
    (50u16..=10_000, 1u32..=50, 0u32..=100, 1u32..=100, 1u16..=5_000).prop_map(
        |(resistance, time_constant, gain, integral, largest)| {
            let least = u32::from(resistance) / 4;
            let most = (u32::from(resistance) * time_constant / 2).min(10_000);
            let proportional = least + (most - least.min(most)) * gain / 100;
            CurrentLoopConfig {
                resistance: Centiohms::new(resistance).unwrap(),
                time_constant: Millis::from_ticks(time_constant),
                proportional: Centiohms::new(proportional.min(most) as u16).unwrap(),
                integral_time: Millis::from_ticks(integral.max(time_constant)),
                lowest_supply: millivolts(8.0),
                highest_supply: millivolts(32.0),
                largest: milliamps(largest),
            }
        },
    )
}

proptest! {
    #[test]
    fn every_accepted_config_comes_to_rest_at_its_set_point(
        config in config(), celsius in -20.0..100.0, inductance in 0.6..1.4, share in 0.2..0.9, late: bool
    ) {
        let nominal = f64::from(config.resistance.raw()) / 100.0;
        let henries = nominal * f64::from(config.time_constant.ticks()) / 1000.0 * inductance;
        let coil = CoilModel::new(at_temperature(nominal, celsius), henries);
        let most = (24_000.0 / coil.resistance).min(f64::from(config.largest.raw()));
        let set = (most * share) as u16;
        prop_assume!(set >= 50);
        let mut bench = Bench { late, ..Bench::new(config, coil) };
        for step in 0..4_000 {
            bench.step(set, 24.0);
            prop_assert!(bench.coil.current * 1000.0 < 1.5 * f64::from(set) + 5.0);
            prop_assert!(step < 3_900 || bench.error(set) < 0.02 + 2.0 / f64::from(set), "{}", bench.error(set));
        }
    }
}

proptest! {
    #[test]
    fn zero_asked_is_zero_duty_in_the_same_step_and_starts_from_nothing(
        config in config(), steps in proptest::collection::vec((any::<u16>(), any::<u16>(), any::<u16>(), any::<bool>()), 1..60)
    ) {
        let mut control = CurrentLoop::new(config, STEP).unwrap();
        for (set, measured, supply, seen) in steps {
            control.step(milliamps(set), milliamps(measured), seen.then(|| Millivolts::new(supply).unwrap()));
            let bounds = i64::from(config.resistance.raw()) * 75 - 100..=i64::from(config.resistance.raw()) * 145 + 100;
            prop_assert!(bounds.contains(&(i64::from(control.resistance().raw()) * 100)));
        }
        prop_assert_eq!(control.step(Milliamps::ZERO, Milliamps::MAX, None), Duty::ZERO);
        prop_assert!(!control.saturated());
        let mut fresh = CurrentLoop::new(config, STEP).unwrap();
        fresh.resistance = control.resistance;
        for _ in 0..20 {
            let asked = milliamps(300);
            let supply = Some(millivolts(12.0));
            prop_assert_eq!(control.step(asked, asked, supply), fresh.step(asked, asked, supply));
        }
    }
}

#[test]
fn a_config_that_cannot_work_is_refused_with_its_value_and_the_range() {
    let good = tuned(7.2, 0.020);
    let refused = |config| CurrentLoop::new(config, STEP).unwrap_err();
    let resistance = Centiohms::new(49).unwrap();
    assert_eq!(
        refused(CurrentLoopConfig { resistance, ..good }),
        CurrentLoopConfigError::Resistance(resistance)
    );
    let ringing = Centiohms::new(1_081).unwrap();
    let error = refused(CurrentLoopConfig { proportional: ringing, ..good });
    assert_eq!(
        std::format!("{error}"),
        "proportional gain 1081 cΩ is outside 1 to 1080 cΩ for this coil: a larger one would ring"
    );
    let hasty = Millis::from_ticks(2);
    let error = refused(CurrentLoopConfig { integral_time: hasty, ..good });
    assert_eq!(std::format!("{error}"), "integral time 2 ms is outside 3 ms (the time constant) to 1000 ms");
    let lowest = good.highest_supply;
    let error = refused(CurrentLoopConfig { lowest_supply: lowest, ..good });
    assert_eq!(error, CurrentLoopConfigError::Supply { lowest, highest: lowest });
    let error = refused(CurrentLoopConfig { largest: milliamps(5_001), ..good });
    assert!(std::format!("{error}").contains("5001 mA is outside 1 to 5000 mA"));
    let error = refused(CurrentLoopConfig { time_constant: Millis::from_ticks(51), ..good });
    assert_eq!(error, CurrentLoopConfigError::TimeConstant(Millis::from_ticks(51)));

    let mut control = CurrentLoop::new(good, STEP).unwrap();
    assert!(control.reconfigure(CurrentLoopConfig { proportional: ringing, ..good }).is_err());
    assert_eq!(control.config, good);
}
