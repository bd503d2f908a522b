//! Pulse pickup at a toothed wheel: edges and their times, as a counter input sees them.

use super::config_error::{Check, PlantConfigError};
use super::random::SplitMix64;
use core::f64::consts::TAU;

/// A pickup and its wheel.
///
/// Typical: engine 135 teeth, 4500 Hz at 2000 rpm (a published 1982 car manual), inductive, nothing below
/// 100 Hz; hydraulic motor 12 to 60 teeth, Hall sensor, down to standstill (engineering judgement).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PickupConfig {
    /// Teeth of the wheel, 1 to 1000.
    pub teeth: u16,
    /// Frequency below which an inductive pickup gives too little voltage, 0 (a Hall sensor) to 1000 Hz.
    pub lowest_hz: f64,
}

/// How a pickup fails.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum PickupFault {
    /// It does not.
    #[default]
    None,
    /// A wire is off or the gap too wide: no edges.
    Open,
    /// The input is held at one level: no edges.
    Stuck,
    /// Interference adds edges at random times with this mean rate, 1/s.
    Noise(f64),
    /// This share (0 to 1) of the edges is lost at random: a loose sensor.
    Lossy(f64),
}

/// Edges of a pickup: one per tooth, f = z·n/60.
///
/// The angle is integrated over each step with a speed that changes in a straight line from the last one
/// given, and each edge falls exactly where the angle passes a tooth. The counter is free-running and wraps
/// at 2¹⁶; the stamp is the time of the last edge in whole µs (rounded down) of a clock that wraps at 2³².
/// Turning backwards counts too: a single pickup cannot tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Pickup {
    config: PickupConfig,
    fault: PickupFault,
    random: SplitMix64,
    now_ns: u64,
    /// Share of a tooth since the last edge.
    phase: f64,
    frequency_hz: f64,
    noise_due_ns: Option<u64>,
    count: u16,
    last_edge_ns: Option<u64>,
    shortest_ns: Option<u64>,
}

impl Pickup {
    /// A pickup at standstill; `seed` feeds its noise. Refuses values outside the ranges of [`PickupConfig`].
    pub fn new(config: PickupConfig, seed: u64) -> Result<Self, PlantConfigError> {
        let check = Check("pickup");
        check.range("teeth", f64::from(config.teeth), 1.0, 1000.0)?;
        check.range("lowest_hz", config.lowest_hz, 0.0, 1000.0)?;
        Ok(Pickup {
            config,
            fault: PickupFault::None,
            random: SplitMix64::for_part(seed, "pickup"),
            now_ns: 0,
            phase: 0.0,
            frequency_hz: 0.0,
            noise_due_ns: None,
            count: 0,
            last_edge_ns: None,
            shortest_ns: None,
        })
    }

    /// Turns the wheel for `dt_us` microseconds, up to the speed in rad/s at its end.
    pub fn step(&mut self, dt_us: u32, speed_rad_s: f64) {
        let step_ns = u64::from(dt_us) * 1000;
        let dt_s = step_ns as f64 * 1e-9;
        let start_hz = self.frequency_hz;
        let end_hz = f64::from(self.config.teeth) * (speed_rad_s.abs() / TAU).max(0.0).min(1e6);
        let mean_hz = 0.5 * (start_hz + end_hz);
        let reach = self.phase + mean_hz * dt_s;
        let teeth = reach.floor();
        let silent =
            mean_hz < self.config.lowest_hz || matches!(self.fault, PickupFault::Open | PickupFault::Stuck);
        let mut tooth = 1.0;
        while tooth <= teeth && dt_s > 0.0 {
            let after_s = time_to(tooth - self.phase, start_hz, (end_hz - start_hz) / dt_s).min(dt_s);
            let at_ns = self.now_ns + (after_s * 1e9) as u64;
            self.make_noise_until(at_ns);
            if !silent && !self.loses_edge() {
                self.edge(at_ns);
            }
            tooth += 1.0;
        }
        self.make_noise_until(self.now_ns + step_ns);
        self.now_ns += step_ns;
        self.phase = reach - teeth;
        self.frequency_hz = end_hz;
    }

    /// Breaks or mends the pickup.
    pub fn set_fault(&mut self, fault: PickupFault) {
        self.fault = fault;
        self.noise_due_ns = None;
    }

    /// Free-running count of edges, wrapping.
    pub fn count(&self) -> u16 {
        self.count
    }

    /// Time of the last edge, µs, wrapping; zero before the first one.
    pub fn stamp_us(&self) -> u32 {
        (self.last_edge_ns.unwrap_or(0) / 1000) as u32
    }

    /// The clock now, µs, wrapping.
    pub fn now_us(&self) -> u32 {
        (self.now_ns / 1000) as u32
    }

    /// Shortest time between two successive edges since the last call, µs (rounded down); forgets it.
    pub fn take_shortest_period_us(&mut self) -> Option<u32> {
        self.shortest_ns.take().map(|ns| u32::try_from(ns / 1000).unwrap_or(u32::MAX))
    }

    fn edge(&mut self, at_ns: u64) {
        self.count = self.count.wrapping_add(1);
        if let Some(before) = self.last_edge_ns {
            let period = at_ns.saturating_sub(before);
            self.shortest_ns = Some(self.shortest_ns.map_or(period, |shortest| shortest.min(period)));
        }
        self.last_edge_ns = Some(at_ns);
    }

    fn loses_edge(&mut self) -> bool {
        match self.fault {
            PickupFault::Lossy(share) => self.random.next_unit() < share,
            _ => false,
        }
    }

    /// Noise edges up to a time: gaps are drawn from the exponential distribution.
    fn make_noise_until(&mut self, until_ns: u64) {
        let PickupFault::Noise(rate) = self.fault else { return };
        // At most one edge per microsecond, whatever was asked for.
        let rate = rate.max(0.0).min(1e6);
        if rate <= 0.0 {
            return;
        }
        loop {
            let due = match self.noise_due_ns {
                Some(due) => due,
                None => {
                    let gap_s = -libm::log(1.0 - self.random.next_unit()) / rate;
                    let from = self.last_edge_ns.unwrap_or(0).max(self.now_ns);
                    from + 1 + (gap_s * 1e9) as u64
                }
            };
            self.noise_due_ns = Some(due);
            if due > until_ns {
                return;
            }
            self.edge(due);
            self.noise_due_ns = None;
        }
    }
}

/// Time in s after which `teeth` have passed at a frequency that starts at `hz` and grows by `hz_s`.
fn time_to(teeth: f64, hz: f64, hz_s: f64) -> f64 {
    // The root of hz·t + hz_s·t²/2 = teeth in the form that does not cancel.
    let discriminant = (hz * hz + 2.0 * hz_s * teeth).max(0.0);
    2.0 * teeth / (hz + discriminant.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::units::rad_s_from_rpm;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn pickup(teeth: u16) -> Pickup {
        Pickup::new(PickupConfig { teeth, lowest_hz: 0.0 }, 1).unwrap()
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
        let mut wheel = Pickup::new(PickupConfig { teeth: 60, lowest_hz: 100.0 }, 1).unwrap();
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
}
