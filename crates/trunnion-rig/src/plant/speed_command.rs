//! What an engine takes of the speeds that it is asked for over the bus: Torque/Speed Control 1 (TSC1).

use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;

/// A request that is not renewed is over after this (common practice, no source), µs.
const TIME_OUT_US: u32 = 250_000;
/// Raw speeds of one bit: 0.125 rpm.
const RPM_PER_BIT: f64 = 0.125;
/// Largest raw speed that is a value.
const LARGEST_SPEED: u16 = 0xFAFF;

/// The listener of one engine. Only a message for its own address counts, whose checksum is right and whose counter
/// went on by one; the first one after a silence may have any count. "Speed control" asks for a speed, "override
/// disabled" gives the engine back.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedCommand {
    address: u8,
    asked_rpm: Option<f64>,
    /// Count of the last message, while the time-out runs.
    count: Option<u8>,
    silent_us: u32,
    refused: u32,
}

impl SpeedCommand {
    /// Of the engine at this address; nothing is asked.
    pub const fn new(address: u8) -> Self {
        Self { address, asked_rpm: None, count: None, silent_us: 0, refused: 0 }
    }

    /// A frame of the bus.
    pub fn take(&mut self, frame: &Frame) {
        let Some(id) = frame.id29() else { return };
        let Ok(bytes) = <[u8; 8]>::try_from(frame.bytes()) else { return };
        if id.pgn() != pgn::TORQUE_SPEED_CONTROL_1 || id.to_raw() >> 8 & 0xFF != u32::from(self.address) {
            return;
        }
        let count = bytes[7] & 0x0F;
        let follows = self.count.is_none_or(|last| count == (last + 1) % 8);
        if bytes[7] >> 4 != checksum(&bytes, id.to_raw()) || !follows {
            self.refused += 1;
            return;
        }
        self.count = Some(count);
        self.silent_us = 0;
        let raw = u16::from_le_bytes([bytes[1], bytes[2]]);
        let speed_control = bytes[0] & 0b11 == 0b01;
        self.asked_rpm = (speed_control && raw <= LARGEST_SPEED).then(|| f64::from(raw) * RPM_PER_BIT);
    }

    /// So many microseconds later.
    pub fn advance(&mut self, dt_us: u32) {
        self.silent_us = self.silent_us.saturating_add(dt_us);
        if self.silent_us > TIME_OUT_US {
            self.asked_rpm = None;
            self.count = None;
        }
    }

    /// The speed that is asked for, rpm.
    pub const fn asked_rpm(&self) -> Option<f64> {
        self.asked_rpm
    }

    /// Messages that were not believed.
    pub const fn refused(&self) -> u32 {
        self.refused
    }
}

/// Sum of the first seven bytes, the count and the identifier's bytes; its nibbles added (from memory of SAE J1939-71).
fn checksum(bytes: &[u8; 8], identifier: u32) -> u8 {
    let data: u32 = bytes[..7].iter().map(|byte| u32::from(*byte)).sum();
    let id: u32 = identifier.to_be_bytes().iter().map(|byte| u32::from(*byte)).sum();
    let sum = data + u32::from(bytes[7] & 0x0F) + id;
    (((sum >> 4) + sum) & 0x0F) as u8
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::quantity::Rpm;
    use trunnion_can::speed_request::{SpeedRequest, SpeedRequestSender};

    fn speed(rpm: i32) -> SpeedRequest {
        SpeedRequest::Speed(Rpm::from_whole(rpm))
    }

    #[test]
    fn a_speed_is_followed_until_it_is_given_back_or_not_renewed() {
        let (mut sender, mut engine) = (SpeedRequestSender::new(), SpeedCommand::new(0));
        for _ in 0..20 {
            engine.take(&sender.step(speed(1_900), 0, 0x27).unwrap());
            engine.advance(50_000);
            assert_eq!(engine.asked_rpm(), Some(1_900.0));
        }
        engine.take(&sender.step(SpeedRequest::None, 0, 0x27).unwrap());
        assert_eq!((engine.asked_rpm(), engine.refused()), (None, 0));
        engine.take(&sender.step(speed(1_900), 0, 0x27).unwrap());
        engine.advance(250_000);
        assert!(engine.asked_rpm().is_some());
        engine.advance(1);
        assert_eq!(engine.asked_rpm(), None);
    }

    #[test]
    fn a_stuck_counter_a_wrong_checksum_and_another_engine_are_not_followed() {
        let (mut sender, mut engine) = (SpeedRequestSender::new(), SpeedCommand::new(0));
        let first = sender.step(speed(1_500), 0, 0x27).unwrap();
        engine.take(&first);
        let mut bent: [u8; 8] = sender.step(speed(2_500), 0, 0x27).unwrap().bytes().try_into().unwrap();
        bent[2] ^= 0x20;
        engine.take(&first);
        engine.take(&Frame::group(first.id29().unwrap(), bent));
        assert_eq!((engine.asked_rpm(), engine.refused()), (Some(1_500.0), 2));
        engine.take(&SpeedRequestSender::new().step(speed(2_500), 1, 0x27).unwrap());
        assert_eq!((engine.asked_rpm(), engine.refused()), (Some(1_500.0), 2));
    }
}
