//! Which identifier reads what (ISO 14229-1, service 22): everything follows from the declaration.
//!
//! | identifiers | what |
//! |---|---|
//! | below 0x9000 | a parameter, by its own identifier |
//! | 0x9000 + place | a diagnostic signal, by its place in the declaration |
//! | 0xF186 | the active session |
//! | 0xF188, 0xF18C, 0xF195, 0xF197 | what unit this is |

use crate::served::Identification;

/// Identifier of the first diagnostic signal.
pub const FIRST_SIGNAL: u16 = 0x9000;
/// Signals behind it that have an identifier.
pub const MOST_SIGNALS: u16 = 0x1000;
/// Identifier of the session that is active (ISO 14229-1).
pub const ACTIVE_SESSION: u16 = 0xF186;
/// Bytes of a parameter's value, signed, high byte first.
pub const PARAMETER_BYTES: u8 = 4;

/// The identifier of the signal in this place of the declaration; `None` from [`MOST_SIGNALS`] on.
///
/// ```
/// use trunnion_service::identifier::{of_signal, signal_place};
///
/// assert_eq!(of_signal(3), Some(0x9003));
/// assert_eq!(signal_place(0x9003), Some(3));
/// assert_eq!(signal_place(0x0101), None);
/// ```
pub const fn of_signal(place: u16) -> Option<u16> {
    if place < MOST_SIGNALS { Some(FIRST_SIGNAL | place) } else { None }
}

/// The place of the signal that has this identifier, whether or not a machine has so many.
pub const fn signal_place(identifier: u16) -> Option<u16> {
    match identifier.checked_sub(FIRST_SIGNAL) {
        Some(place) if place < MOST_SIGNALS => Some(place),
        _ => None,
    }
}

/// The identifier of a text or number that says which unit this is.
pub const fn of_identification(what: Identification) -> u16 {
    match what {
        Identification::ProgramNumber => 0xF188,
        Identification::SerialNumber => 0xF18C,
        Identification::ProgramVersion => 0xF195,
        Identification::MachineName => 0xF197,
    }
}

/// What an identifier says of the unit, if it is one of those.
pub const fn identification(identifier: u16) -> Option<Identification> {
    match identifier {
        0xF188 => Some(Identification::ProgramNumber),
        0xF18C => Some(Identification::SerialNumber),
        0xF195 => Some(Identification::ProgramVersion),
        0xF197 => Some(Identification::MachineName),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_identifier_is_of_one_thing_and_reads_back() {
        for identifier in 0..=u16::MAX {
            let place = signal_place(identifier);
            let what = identification(identifier);
            assert!(place.is_none() || what.is_none());
            if let Some(place) = place {
                assert_eq!(of_signal(place), Some(identifier));
            }
            if let Some(what) = what {
                assert_eq!(of_identification(what), identifier);
            }
        }
        assert_eq!(of_signal(MOST_SIGNALS), None);
        assert_eq!((0..=u16::MAX).filter(|identifier| identification(*identifier).is_some()).count(), 4);
    }
}
