//! The engine's own control unit on the bus: Electronic Engine Controller 1 (EEC1).

use super::broadcast::{Broadcast, BusFrame, Sending, broadcast_id};
use super::config_error::{Check, PlantConfigError};
use super::within::Within;

/// Parameter group of EEC1 (SAE J1939-71).
const EEC1: u32 = 61_444;

/// Raw speeds of one bit: 0.125 rpm.
const BITS_PER_RPM: f64 = 8.0;

/// Largest valid raw speed, 8031.875 rpm; above are error (0xFE..) and "not available" (0xFF..).
const LARGEST_SPEED: f64 = 64_255.0;

/// The unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EngineUnitConfig {
    /// Its source address, 0 to 253; an engine's is 0.
    pub source_address: u8,
    /// Its period, 5 to 5000 ms; EEC1 comes every 10 or 20 ms.
    pub period_ms: f64,
    /// When it sends first, 0 to the period, ms.
    pub phase_ms: f64,
}

/// How the unit fails.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum EngineUnitFault {
    /// It does not.
    #[default]
    None,
    /// No frames.
    Lost,
    /// Each frame comes this much after its time and the schedule slips with it.
    Late {
        /// Delay, µs.
        by_us: u32,
    },
    /// The speed says "error" (0xFE00).
    SpeedError,
    /// The speed says "not available" (0xFFFF).
    SpeedNotAvailable,
    /// The speed is this raw value (0xFB00 to 0xFDFF are reserved).
    SpeedRaw(u16),
    /// The speed is off by this, rpm.
    SpeedOffset(f64),
    /// Frames come, their data no longer change.
    Frozen,
    /// The unit sends under this source address.
    WrongSource(u8),
}

/// EEC1 at priority 3: byte 3 actual torque (1 % a bit, offset −125 %), bytes 4 and 5 speed (0.125 rpm a
/// bit, low byte first); the rest as a public generating-set manual's sample frame has it.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineUnit {
    config: EngineUnitConfig,
    broadcast: Broadcast,
    fault: EngineUnitFault,
    last: [u8; 8],
}

impl EngineUnit {
    /// A unit of a standing engine; refuses values outside the ranges of [`EngineUnitConfig`].
    pub fn new(config: EngineUnitConfig) -> Result<Self, PlantConfigError> {
        Check("engine unit").range("source_address", f64::from(config.source_address), 0.0, 253.0)?;
        Ok(EngineUnit {
            config,
            broadcast: Broadcast::new("engine unit", config.period_ms, config.phase_ms)?,
            fault: EngineUnitFault::None,
            last: encode(0, 0.0),
        })
    }

    /// Breaks or mends the unit.
    pub fn set_fault(&mut self, fault: EngineUnitFault) {
        self.fault = fault;
    }

    /// Passes `dt_us` microseconds (at most a period) at an engine speed in rpm and a torque of −1 to 1 of
    /// the reference torque; the frame that left in them, if one did.
    pub fn step(&mut self, dt_us: u32, speed_rpm: f64, torque_share: f64) -> Option<BusFrame> {
        let sending = match self.fault {
            EngineUnitFault::Lost => Sending::Lost,
            EngineUnitFault::Late { by_us } => Sending::Late { by_us },
            _ => Sending::OnTime,
        };
        let at_us = self.broadcast.step(dt_us, sending)?;
        if self.fault != EngineUnitFault::Frozen {
            self.last = encode(self.raw_speed(speed_rpm), torque_share);
        }
        let source = match self.fault {
            EngineUnitFault::WrongSource(address) => address,
            _ => self.config.source_address,
        };
        Some(BusFrame { id: broadcast_id(3, EEC1, source), data: self.last, at_us })
    }

    fn raw_speed(&self, speed_rpm: f64) -> u16 {
        let speed_rpm = match self.fault {
            EngineUnitFault::SpeedError => return 0xfe00,
            EngineUnitFault::SpeedNotAvailable => return 0xffff,
            EngineUnitFault::SpeedRaw(raw) => return raw,
            EngineUnitFault::SpeedOffset(offset_rpm) => speed_rpm + offset_rpm,
            _ => speed_rpm,
        };
        (speed_rpm * BITS_PER_RPM).round().within(0.0, LARGEST_SPEED) as u16
    }
}

fn encode(raw_speed: u16, torque_share: f64) -> [u8; 8] {
    let torque = (125.0 + 100.0 * torque_share).round().within(0.0, 250.0) as u8;
    let [low, high] = raw_speed.to_le_bytes();
    [0xff, 0x7d, torque, low, high, 0xff, 0xf0, 0xff]
}

#[cfg(test)]
mod tests {
    use super::*;

    const CONFIG: EngineUnitConfig = EngineUnitConfig { source_address: 0, period_ms: 20.0, phase_ms: 0.0 };

    fn frame(unit: &mut EngineUnit, rpm: f64) -> BusFrame {
        (0..100).find_map(|_| unit.step(1000, rpm, 0.0)).unwrap()
    }

    #[test]
    fn the_published_frame_of_700_rpm_comes_out() {
        // `FF7D7DE015FFF0FF` → 0x15E0 = 700 rpm (a public generating-set manual); identifier 0x0CF00400.
        let mut unit = EngineUnit::new(CONFIG).unwrap();
        let frame = frame(&mut unit, 700.0);
        assert_eq!(frame.id, 0x0cf0_0400);
        assert_eq!(frame.data, [0xff, 0x7d, 0x7d, 0xe0, 0x15, 0xff, 0xf0, 0xff]);
    }

    #[test]
    fn published_speeds_come_out_and_saturate_below_the_error_range() {
        // j1939-84 test suite (MIT): `6009` → 300 rpm, `FFFA` → 8031.875, the largest.
        let mut unit = EngineUnit::new(CONFIG).unwrap();
        assert_eq!(frame(&mut unit, 300.0).data[3..5], [0x60, 0x09]);
        assert_eq!(frame(&mut unit, 8031.875).data[3..5], [0xff, 0xfa]);
        assert_eq!(frame(&mut unit, 20_000.0).data[3..5], [0xff, 0xfa]);
        assert_eq!(frame(&mut unit, -5.0).data[3..5], [0, 0]);
    }

    #[test]
    fn faults_show_on_the_wire() {
        let mut unit = EngineUnit::new(CONFIG).unwrap();
        for (fault, speed) in [
            (EngineUnitFault::SpeedError, [0x00, 0xfe]),
            (EngineUnitFault::SpeedNotAvailable, [0xff, 0xff]),
            (EngineUnitFault::SpeedRaw(0xfb00), [0x00, 0xfb]),
            (EngineUnitFault::SpeedOffset(-400.0), [0x60, 0x09]),
        ] {
            unit.set_fault(fault);
            assert_eq!(frame(&mut unit, 700.0).data[3..5], speed, "{fault:?}");
        }
        unit.set_fault(EngineUnitFault::Frozen);
        assert_eq!(frame(&mut unit, 2000.0).data[3..5], [0x60, 0x09]);
        unit.set_fault(EngineUnitFault::WrongSource(1));
        assert_eq!(frame(&mut unit, 700.0).id, 0x0cf0_0401);
        unit.set_fault(EngineUnitFault::Lost);
        assert!((0..500).all(|_| unit.step(1000, 700.0, 0.0).is_none()));
    }

    #[test]
    fn actual_torque_is_in_per_cent_with_its_offset() {
        let mut unit = EngineUnit::new(CONFIG).unwrap();
        for (share, byte) in [(0.0, 125), (1.0, 225), (-0.5, 75), (9.0, 250)] {
            let frame = (0..100).find_map(|_| unit.step(1000, 700.0, share)).unwrap();
            assert_eq!(frame.data[2], byte);
        }
    }
}
