//! Pulse pickup at a toothed wheel: edges and their times, as a counter input sees them.

use super::config_error::{Check, PlantConfigError};
use super::random::SplitMix64;
use super::within::Within;
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
    /// Edges come at this even rate, 1/s, whatever the wheel does: a wire beside an inverter's.
    Rate(f64),
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
    /// A pickup at standstill with a stream of its own for its noise; refuses values outside the ranges of
    /// [`PickupConfig`].
    pub fn new(config: PickupConfig, random: SplitMix64) -> Result<Self, PlantConfigError> {
        let check = Check("pickup");
        check.range("teeth", f64::from(config.teeth), 1.0, 1000.0)?;
        check.range("lowest_hz", config.lowest_hz, 0.0, 1000.0)?;
        Ok(Pickup {
            config,
            fault: PickupFault::None,
            random,
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
        let end_hz = match self.fault {
            PickupFault::Rate(hz) => hz.within(0.0, 1e6),
            _ => f64::from(self.config.teeth) * (speed_rad_s.abs() / TAU).within(0.0, 1e6),
        };
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
        let rate = rate.within(0.0, 1e6);
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
mod tests;
