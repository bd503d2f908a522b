//! Engine and motor speed from a toothed wheel: n = 60·f/z, and back f = z·n/60 (elementary; any text on
//! measurement of rotation).
//!
//! Two implementations that share nothing meet here: the plant turns a wheel and makes edges, the core reads
//! them. Their published points are z = 120, 2400 Hz, 1200 rpm (the formula's textbook example) and 135 teeth,
//! 4500 Hz, 2000 rpm (teeth from a published 1982 car manual).
//!
//! Checks: sense/pulse_speed

use trunnion::quantity::{Millis, Period, Rpm};
use trunnion::sense::{Flaw, PulseSpeed, PulseSpeedConfig, Reading};
use trunnion_rig::plant::{Pickup, PickupConfig, PickupFault, SplitMix64};

use crate::trade_units::rad_s_from_rpm;

const TICK: Period = Period::from_micros(10_000).unwrap();
const TICK_S: f64 = 0.01;
/// Teeth, frequency, speed.
const PUBLISHED: [(u16, f64, f64); 2] = [(120, 2400.0, 1200.0), (135, 4500.0, 2000.0)];
/// Half an eighth of a revolution a minute: what the nearest step of the reading is off by.
const HALF_A_STEP_RPM: f64 = 0.0625;

fn pickup(teeth: u16) -> Pickup {
    Pickup::new(PickupConfig { teeth, lowest_hz: 0.0 }, SplitMix64::new(1)).unwrap()
}

fn reader(teeth: u16, fastest_rpm: i32) -> PulseSpeed {
    let zero_speed_after = Millis::millis(500);
    let config = PulseSpeedConfig { teeth, zero_speed_after, fastest: Rpm::from_whole(fastest_rpm) };
    PulseSpeed::new(config, TICK).unwrap()
}

fn rpm(reading: Reading<Rpm>) -> f64 {
    match reading {
        Reading::Valid(speed) => f64::from(speed.raw()) / 8.0,
        Reading::Faulted(flaw) => panic!("no speed: {flaw:?}"),
    }
}

/// One tick of the wheel in steps of the rig, up to a speed, and what the core reads of it.
fn turn(wheel: &mut Pickup, reader: &mut PulseSpeed, speed_rpm: f64) -> Reading<Rpm> {
    for _ in 0..10 {
        wheel.step(1000, rad_s_from_rpm(speed_rpm));
    }
    reader.step(wheel.count(), wheel.stamp_us())
}

/// What the reading may be off by: whole microseconds of two stamps that are at least half a tick apart.
fn tolerance(speed_rpm: f64, teeth: u16) -> f64 {
    let tooth_s = 60.0 / (f64::from(teeth) * speed_rpm);
    HALF_A_STEP_RPM + speed_rpm * 1e-6 / tooth_s.max(TICK_S / 2.0)
}

#[test]
fn the_core_reads_the_published_speeds_from_the_published_frequencies() {
    for (teeth, hertz, speed_rpm) in PUBLISHED {
        let mut reader = reader(teeth, 4000);
        let mut last = Reading::Valid(Rpm::ZERO);
        for tick in 0..10_u32 {
            let edges = (hertz * TICK_S) as u16 * tick as u16;
            last = reader.step(edges, tick * 10_000);
        }
        assert_eq!(rpm(last), speed_rpm, "{teeth} teeth at {hertz} Hz");
    }
}

#[test]
fn the_plant_makes_the_published_frequencies_at_the_published_speeds() {
    for (teeth, hertz, speed_rpm) in PUBLISHED {
        let mut wheel = pickup(teeth);
        wheel.step(1000, rad_s_from_rpm(speed_rpm));
        let start = wheel.count();
        for _ in 0..1000 {
            wheel.step(1000, rad_s_from_rpm(speed_rpm));
        }
        let edges = f64::from(wheel.count().wrapping_sub(start));
        assert!((edges - hertz).abs() <= 1.0, "{edges} edges in a second, {hertz} expected");
    }
}

#[test]
fn what_the_plant_turns_the_core_reads_over_all_teeth_and_speeds() {
    let mut checked = 0;
    for teeth in [1, 2, 12, 36, 60, 120, 135, 500] {
        for speed_rpm in [0.5, 3.0, 17.3, 95.0, 310.0, 999.9, 1200.0, 2000.0, 2612.5, 3499.0] {
            let hertz = f64::from(teeth) * speed_rpm / 60.0;
            // Slower than a tooth in the zero-speed time is standstill by definition.
            if hertz < 2.2 {
                continue;
            }
            let (mut wheel, mut reader) = (pickup(teeth), reader(teeth, 4000));
            let mut found = 0.0;
            for _ in 0..250 {
                found = rpm(turn(&mut wheel, &mut reader, speed_rpm));
            }
            let allowed = tolerance(speed_rpm, teeth);
            assert!((found - speed_rpm).abs() <= allowed, "{teeth} teeth at {speed_rpm} rpm read {found}");
            checked += 1;
        }
    }
    assert!(checked > 60, "{checked}");
}

/// The reading is the mean speed between two stamps: it lies between the slowest and the fastest of them.
#[test]
fn a_speed_that_sways_is_read_as_a_mean_of_its_last_moments() {
    for teeth in [12, 36, 120] {
        let (mut wheel, mut reader) = (pickup(teeth), reader(teeth, 4000));
        // Two ticks and the longest tooth, in milliseconds.
        let memory = 21 + (60_000.0 / (700.0 * f64::from(teeth))) as usize;
        let mut speeds = vec![0.0; memory];
        for tick in 0..400 {
            for milli in 1..=10 {
                let seconds = f64::from(10 * tick + milli) / 1000.0;
                let speed_rpm = 1500.0 + 800.0 * (2.0 * seconds).sin();
                wheel.step(1000, rad_s_from_rpm(speed_rpm));
                speeds.push(speed_rpm);
            }
            let reading = reader.step(wheel.count(), wheel.stamp_us());
            if tick < 3 {
                continue;
            }
            let last = &speeds[speeds.len() - memory..];
            let slowest = last.iter().copied().fold(f64::INFINITY, f64::min);
            let fastest = last.iter().copied().fold(0.0, f64::max);
            let allowed = tolerance(fastest, teeth);
            let found = rpm(reading);
            let between = found >= slowest - allowed && found <= fastest + allowed;
            assert!(between, "{found} rpm is not between {slowest} and {fastest}");
            assert!(fastest - slowest < 60.0, "a window that holds everything shows nothing");
        }
    }
}

/// 16 bits of edges and 32 bits of microseconds (71 min 35 s) both run over; nothing shows.
#[test]
fn the_wrap_of_counter_and_clock_does_not_show() {
    let second = Period::from_micros(1_000_000).unwrap();
    let (teeth, speed_rpm) = (12, 100.0);
    let config =
        PulseSpeedConfig { teeth, zero_speed_after: Millis::millis(10_000), fastest: Rpm::from_whole(4000) };
    let (mut wheel, mut reader) = (pickup(teeth), PulseSpeed::new(config, second).unwrap());
    let (mut clock_wraps, mut counter_wraps) = (0, 0);
    for step in 0..4400 {
        let (stamp, count) = (wheel.stamp_us(), wheel.count());
        wheel.step(1_000_000, rad_s_from_rpm(speed_rpm));
        let reading = reader.step(wheel.count(), wheel.stamp_us());
        if step > 2 {
            assert!((rpm(reading) - speed_rpm).abs() <= HALF_A_STEP_RPM, "{step} s: {reading:?}");
        }
        clock_wraps += u32::from(wheel.stamp_us() < stamp);
        counter_wraps += u32::from(wheel.count() < count);
    }
    assert_eq!((clock_wraps, counter_wraps), (1, 1));
}

#[test]
fn a_wheel_that_stops_and_a_wire_that_breaks_read_as_ever_slower_and_then_as_standing() {
    for (fault, speed_after) in [(PickupFault::None, 0.0), (PickupFault::Open, 1800.0)] {
        let (mut wheel, mut reader) = (pickup(60), reader(60, 4000));
        for _ in 0..50 {
            turn(&mut wheel, &mut reader, 1800.0);
        }
        wheel.set_fault(fault);
        let mut last = 1800.0 + tolerance(1800.0, 60);
        for tick in 0..=52 {
            let found = rpm(turn(&mut wheel, &mut reader, speed_after));
            assert!(found <= last, "{fault:?}, tick {tick}: {found} after {last}");
            // No edge for the time waited: at most one tooth in it. The last edge may be a tick old.
            let bound = 60.0 / 60.0 / (f64::from(tick - 1) * TICK_S);
            assert!(
                tick < 2 || found <= bound + HALF_A_STEP_RPM,
                "{fault:?}, tick {tick}: {found} of {bound}"
            );
            last = found;
        }
        assert_eq!(last, 0.0, "after the zero-speed time of 500 ms");
    }
}

#[test]
fn edges_faster_than_the_machine_can_turn_are_a_fault_of_their_own() {
    for (speed_rpm, possible) in [(2990.0, true), (3010.0, false)] {
        let (mut wheel, mut reader) = (pickup(135), reader(135, 3000));
        let mut last = Reading::Valid(Rpm::ZERO);
        for _ in 0..20 {
            last = turn(&mut wheel, &mut reader, speed_rpm);
        }
        assert_eq!(last.is_valid(), possible, "{speed_rpm} rpm");
        assert!(possible || last == Reading::Faulted(Flaw::TooFast), "{last:?}");
    }
}
