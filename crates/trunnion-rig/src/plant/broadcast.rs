//! How a device on the bus sends one message: period, phase, and what can happen to it on the way.

use super::config_error::{Check, PlantConfigError};

/// A frame with a 29-bit identifier and eight bytes, as it leaves a device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BusFrame {
    /// The 29-bit identifier (extended, always).
    pub id: u32,
    /// The data.
    pub data: [u8; 8],
    /// When it was sent, µs since the plant's start.
    pub at_us: u64,
}

/// The identifier of a broadcast message (PDU 2) with the given priority (0–7), parameter group and source.
///
/// SAE J1939-21: priority 3 bits, extended data page and data page 1 each, PF 8, PS 8, source address 8.
pub const fn broadcast_id(priority: u8, parameter_group: u32, source: u8) -> u32 {
    (((priority & 7) as u32) << 26) | ((parameter_group & 0x3_ffff) << 8) | source as u32
}

/// What happens to a device's sending.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Sending {
    #[default]
    OnTime,
    Lost,
    /// Each frame leaves this much after its time, and the next period begins then.
    Late {
        by_us: u32,
    },
}

/// The clock of one periodic message.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Broadcast {
    period_us: u64,
    now_us: u64,
    due_us: u64,
}

impl Broadcast {
    /// A message of a period (5 to 5000 ms) whose first frame leaves after `phase_ms` (0 to the period).
    pub(crate) fn new(
        component: &'static str,
        period_ms: f64,
        phase_ms: f64,
    ) -> Result<Self, PlantConfigError> {
        let check = Check(component);
        check.range("period_ms", period_ms, 5.0, 5000.0)?;
        check.range("phase_ms", phase_ms, 0.0, period_ms)?;
        let microseconds = |milliseconds: f64| (milliseconds * 1000.0).round() as u64;
        Ok(Broadcast { period_us: microseconds(period_ms), now_us: 0, due_us: microseconds(phase_ms) })
    }

    /// Passes `dt_us` microseconds; the time at which a frame left in them, if one did.
    ///
    /// At most one frame leaves per call: call at least once a period.
    pub(crate) fn step(&mut self, dt_us: u32, sending: Sending) -> Option<u64> {
        self.now_us += u64::from(dt_us);
        let late_us = match sending {
            Sending::OnTime | Sending::Lost => 0,
            Sending::Late { by_us } => u64::from(by_us),
        };
        let at_us = self.due_us + late_us;
        if at_us >= self.now_us {
            return None;
        }
        self.due_us = at_us + self.period_us;
        (sending != Sending::Lost).then_some(at_us)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sent(broadcast: &mut Broadcast, milliseconds: u32, sending: Sending) -> Vec<u64> {
        (0..milliseconds).filter_map(|_| broadcast.step(1000, sending)).collect()
    }

    #[test]
    fn identifiers_are_those_of_the_published_frames() {
        // EEC1, priority 3, source 0: 0x0CF00400; Basic Joystick Message 1: 0x0CFDD6SA (SAE J1939-21, -71).
        assert_eq!(broadcast_id(3, 61_444, 0), 0x0cf0_0400);
        assert_eq!(broadcast_id(3, 64_982, 0x33), 0x0cfd_d633);
    }

    #[test]
    fn frames_leave_at_phase_plus_whole_periods() {
        let mut broadcast = Broadcast::new("test", 20.0, 7.5).unwrap();
        assert_eq!(sent(&mut broadcast, 50, Sending::OnTime), [7_500, 27_500, 47_500]);
    }

    #[test]
    fn the_step_width_does_not_change_the_times() {
        let mut fine = Broadcast::new("test", 10.0, 0.0).unwrap();
        let mut coarse = fine;
        let times: Vec<u64> = (0..1000).filter_map(|_| fine.step(100, Sending::OnTime)).collect();
        let coarse_times: Vec<u64> = (0..10).filter_map(|_| coarse.step(10_000, Sending::OnTime)).collect();
        assert_eq!(times, coarse_times);
        assert_eq!(times.len(), 10);
    }

    #[test]
    fn lost_frames_keep_their_schedule_and_late_ones_stretch_it() {
        let mut broadcast = Broadcast::new("test", 10.0, 0.0).unwrap();
        assert!(sent(&mut broadcast, 25, Sending::Lost).is_empty());
        assert_eq!(sent(&mut broadcast, 10, Sending::OnTime), [30_000]);
        assert_eq!(sent(&mut broadcast, 40, Sending::Late { by_us: 5_000 }), [45_000, 60_000]);
    }

    #[test]
    fn a_period_of_zero_and_a_phase_beyond_the_period_are_refused() {
        assert!(Broadcast::new("test", 0.0, 0.0).is_err());
        assert!(Broadcast::new("test", 10.0, 11.0).is_err());
    }
}
