//! Which frames of a log are the controller's own, and when it started.

use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;

use crate::gateway::log::LogLine;

/// Bits of a NAME that hold the identity number (SAE J1939-81).
const IDENTITY: u64 = 0x1F_FFFF;
/// A claim so long behind a request for it may be an answer, µs: SAE J1939-81 asks for one within 250 ms.
const ANSWERED_WITHIN: u64 = 300_000;
/// The address of a unit that cannot claim one (SAE J1939-81).
const NULL_ADDRESS: u8 = 254;

/// Who the controller is on the bus: what its first claim said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Own {
    /// Its source address.
    pub address: u8,
    /// Its NAME.
    pub name: u64,
}

/// A claim of an address, or the word that none can be claimed: source and NAME.
pub(super) fn claim(frame: &Frame) -> Option<Own> {
    let id = frame.id29().filter(|id| id.pgn() == pgn::ADDRESS_CLAIMED)?;
    Some(Own { address: id.source(), name: u64::from_le_bytes(*frame.eight()?) })
}

fn asks_for_claims(frame: &Frame) -> bool {
    let asks = frame.id29().is_some_and(|id| id.pgn() == pgn::REQUEST);
    asks && frame.bytes() == [0, (pgn::ADDRESS_CLAIMED >> 8) as u8, 0]
}

/// The serial number that a NAME carries in its identity number.
pub(super) const fn identity(name: u64) -> u32 {
    (name & IDENTITY) as u32
}

/// The place of the claim with which the controller started: the first one that no request asked for, unless nothing of the
/// controller came before. `wanted` is the claim of this program, whose identity number may be another.
pub(super) fn start(lines: &[LogLine], wanted: Own) -> Option<(usize, Own)> {
    let (mut asked_at, mut heard_before) = (None, false);
    for (place, line) in lines.iter().enumerate() {
        let frame = &line.logged.frame;
        if asks_for_claims(frame) {
            asked_at = Some(line.logged.micros);
        }
        let answers = asked_at.is_some_and(|at| line.logged.micros.saturating_sub(at) <= ANSWERED_WITHIN);
        match claim(frame) {
            Some(own) if own.address == wanted.address && (own.name ^ wanted.name) & !IDENTITY == 0 => {
                if !(answers && heard_before) {
                    return Some((place, own));
                }
            }
            // Another unit that would like this address.
            Some(_) => {}
            None => heard_before |= frame.id29().is_some_and(|id| id.source() == wanted.address),
        }
    }
    None
}

/// Which frames from here on the controller sent, in their order.
///
/// An address is the controller's until a NAME that goes before its own claims it, and again when it claims one.
pub(super) fn sent(lines: &[LogLine], own: Own) -> Vec<bool> {
    let mut held = Some(own.address);
    let of_controller = |line: &LogLine| {
        let frame = &line.logged.frame;
        match (claim(frame), frame.id29()) {
            (Some(claim), _) if claim.name == own.name => {
                held = Some(claim.address).filter(|address| *address != NULL_ADDRESS);
                true
            }
            (Some(claim), _) => {
                if held == Some(claim.address) && claim.name < own.name {
                    held = None;
                }
                false
            }
            (None, Some(id)) => Some(id.source()) == held,
            (None, None) => false,
        }
    };
    lines.iter().map(of_controller).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gateway::log::lines;

    const OWN: Own = Own { address: 0x27, name: 0xB000_8000_FFE0_0001 };

    fn log(frames: &[(&str, &str)]) -> Vec<LogLine> {
        let text: String = frames.iter().map(|(time, frame)| format!("({time}) can0 {frame}\n")).collect();
        lines(&text).unwrap()
    }

    #[test]
    fn the_start_is_the_claim_that_nobody_asked_for() {
        let request = ("5.000000", "18EAFFF9#00EE00");
        let running = ("4.000000", "18FECA27#00FFFFFFFFFFFFFF");
        // Serial number 7 in place of 1.
        let claim = "18EEFF27#0700E0FF008000B0";
        let answered = log(&[running, request, ("5.010000", claim), ("9.000000", claim)]);
        let found = start(&answered, OWN).unwrap();
        assert_eq!((found.0, identity(found.1.name)), (3, 7));
        // A whole machine that is switched on asks and claims at once.
        assert_eq!(start(&log(&[request, ("5.010000", claim)]), OWN).unwrap().0, 1);
        assert_eq!(start(&log(&[running, request, ("5.010000", claim)]), OWN), None);
        let other = ("5.000000", "18EEFF27#0700E0FF008100B0");
        assert_eq!(start(&log(&[other]), OWN), None, "a NAME of another kind is another unit");
    }

    #[test]
    fn an_address_that_was_lost_is_another_unit_s() {
        let lines = log(&[
            ("1.000000", "18EEFF27#0100E0FF008000B0"),
            ("1.100000", "18FECA27#00FFFFFFFFFFFFFF"),
            ("1.200000", "18EEFF27#0000000000000010"),
            ("1.300000", "18FECA27#00FFFFFFFFFFFFFF"),
            ("1.400000", "18EEFFFE#0100E0FF008000B0"),
            ("1.500000", "18EEFF80#0100E0FF008000B0"),
            ("1.600000", "18FECA80#00FFFFFFFFFFFFFF"),
            ("1.700000", "7DF#02"),
        ]);
        assert_eq!(sent(&lines, OWN), [true, true, false, false, true, true, true, false]);
    }

    #[test]
    fn an_address_that_was_defended_is_kept() {
        let lines = log(&[
            ("1.000000", "18EEFF27#FFFFFFFFFFFFFFFF"),
            ("1.100000", "18EEFF27#0100E0FF008000B0"),
            ("1.200000", "18FECA27#00FFFFFFFFFFFFFF"),
        ]);
        assert_eq!(sent(&lines, OWN), [false, true, true]);
    }
}
