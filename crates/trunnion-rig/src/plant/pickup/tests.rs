use super::*;
use crate::plant::units::rad_s_from_rpm;
use approx::assert_relative_eq;
use proptest::prelude::*;

fn pickup(teeth: u16) -> Pickup {
    Pickup::new(PickupConfig { teeth, lowest_hz: 0.0 }, SplitMix64::new(1)).unwrap()
}

/// Turns at one speed; the first step brings it there.
fn turning(pickup: &mut Pickup, rpm: f64, milliseconds: u32) {
    for _ in 0..milliseconds {
        pickup.step(1000, rad_s_from_rpm(rpm));
    }
}

#[test]
fn the_count_follows_teeth_times_revolutions() {
    // f = z·n/60: 135 teeth, 2000 rpm → 4500 Hz (teeth from a published 1982 car manual).
    let mut wheel = pickup(135);
    turning(&mut wheel, 2000.0, 1);
    let before = wheel.count();
    turning(&mut wheel, 2000.0, 2000);
    assert_eq!(wheel.count().wrapping_sub(before), 9000);
    // n = 60·f/z: z = 120, f = 2400 Hz → 1200 rpm.
    let mut wheel = pickup(120);
    turning(&mut wheel, 1200.0, 1);
    let before = wheel.count();
    turning(&mut wheel, 1200.0, 1000);
    assert_eq!(wheel.count().wrapping_sub(before), 2400);
}

#[test]
fn stamps_lie_exactly_one_period_apart_at_constant_speed() {
    let mut wheel = pickup(60);
    turning(&mut wheel, 1000.0, 3);
    let mut before = (wheel.count(), wheel.last_edge_ns.unwrap());
    for _ in 0..50 {
        wheel.step(1000, rad_s_from_rpm(1000.0));
        let edges = f64::from(wheel.count().wrapping_sub(before.0));
        let spent_ns = (wheel.last_edge_ns.unwrap() - before.1) as f64;
        assert_relative_eq!(spent_ns, edges * 1e6, epsilon = 2.0);
        before = (wheel.count(), wheel.last_edge_ns.unwrap());
    }
    assert_eq!(wheel.take_shortest_period_us().map(|us| us.abs_diff(1000) <= 1), Some(true));
    assert_eq!(wheel.take_shortest_period_us(), None);
}

#[test]
fn the_step_width_does_not_move_edges() {
    let mut fine = pickup(47);
    let mut coarse = pickup(47);
    turning(&mut fine, 777.0, 1);
    turning(&mut coarse, 777.0, 1);
    for _ in 0..1000 {
        fine.step(100, rad_s_from_rpm(777.0));
    }
    coarse.step(100_000, rad_s_from_rpm(777.0));
    assert_eq!(fine.count(), coarse.count());
    assert!(fine.stamp_us().abs_diff(coarse.stamp_us()) <= 1);
}

#[test]
fn edges_of_an_accelerating_wheel_fall_where_the_angle_passes_a_tooth() {
    // From rest with 100 Hz/ms over 10 ms: tooth k passes at √(2·k/1e5) s.
    let mut wheel = pickup(10);
    wheel.step(10_000, 100.0 * TAU);
    assert_eq!(wheel.count(), 5);
    let exact_ns = (2.0 * 5.0 / 1e5_f64).sqrt() * 1e9;
    assert_relative_eq!(wheel.last_edge_ns.unwrap() as f64, exact_ns, epsilon = 2.0);
}

#[test]
fn counter_and_clock_wrap() {
    let mut wheel = pickup(100);
    turning(&mut wheel, 6000.0, 7000);
    assert!(u32::from(wheel.count()) < 70_000 - 65_536 + 10);
    let mut old = pickup(1);
    old.now_ns = (u64::from(u32::MAX) - 500) * 1000;
    turning(&mut old, 60_000.0, 3);
    assert!(old.stamp_us() < 3000 && old.now_us() < 3000);
}

#[test]
fn faults_take_edges_away_or_add_them() {
    let mut wheel = pickup(60);
    for fault in [PickupFault::Open, PickupFault::Stuck, PickupFault::Lossy(1.0)] {
        wheel.set_fault(fault);
        let before = wheel.count();
        turning(&mut wheel, 1000.0, 100);
        assert_eq!(wheel.count(), before, "{fault:?}");
    }
    wheel.set_fault(PickupFault::Noise(5000.0));
    let before = wheel.count();
    turning(&mut wheel, 0.0, 1);
    turning(&mut wheel, 0.0, 1000);
    let noise = f64::from(wheel.count().wrapping_sub(before));
    // Poisson: 5000 ± 5·√5000 in a second.
    assert!((noise - 5005.0).abs() < 5.0 * 71.0, "{noise}");
    assert!(wheel.take_shortest_period_us().unwrap() < 100);
    wheel.set_fault(PickupFault::None);
    let before = wheel.count();
    turning(&mut wheel, 0.0, 100);
    assert_eq!(wheel.count(), before);
}

#[test]
fn an_inductive_pickup_is_silent_below_its_lowest_frequency() {
    let mut wheel = Pickup::new(PickupConfig { teeth: 60, lowest_hz: 100.0 }, SplitMix64::new(1)).unwrap();
    turning(&mut wheel, 90.0, 1000);
    assert_eq!(wheel.count(), 0);
    turning(&mut wheel, 110.0, 1000);
    assert!(wheel.count() > 100);
}

proptest! {
    #[test]
    fn the_stamp_never_lies_in_the_future_and_backwards_counts_like_forwards(
        speeds in proptest::collection::vec(-400.0f64..400.0, 1..80), dt_us in 1u32..20_000
    ) {
        let mut ahead = pickup(60);
        let mut back = pickup(60);
        for speed in speeds {
            ahead.step(dt_us, speed);
            back.step(dt_us, -speed);
            prop_assert_eq!(ahead.count(), back.count());
            prop_assert!(ahead.last_edge_ns.unwrap_or(0) <= ahead.now_ns);
            prop_assert!((0.0..1.0).contains(&ahead.phase));
        }
    }
}
