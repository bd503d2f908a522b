//! Which identifier reads what (ISO 14229-1, service 22): everything follows from the declaration.
//!
//! | identifiers | what |
//! |---|---|
//! | below 0x9000 | a parameter, by its own identifier |
//! | 0x9000 + place | an internal point, by its place in the declaration |
//! | 0xA000 + place | an input, likewise |
//! | 0xB000 + place | an output, likewise |
//! | 0xF186 | the active session |
//! | 0xF188, 0xF18A, 0xF18C, 0xF195, 0xF197 | what unit this is |

use crate::served::Identification;

/// Signals of a record that have an identifier.
pub const MOST_SIGNALS: u16 = 0x1000;
/// Identifier of the session that is active (ISO 14229-1).
pub const ACTIVE_SESSION: u16 = 0xF186;
/// Bytes of a parameter's value, signed, high byte first.
pub const PARAMETER_BYTES: u8 = 4;

/// Which of a machine's records a signal is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Signals {
    /// What an engineer looks at from outside.
    Diagnostics,
    /// What wiring and bus bring.
    Inputs,
    /// What the machine drives.
    Outputs,
}

impl Signals {
    /// All records.
    pub const ALL: [Self; 3] = [Self::Diagnostics, Self::Inputs, Self::Outputs];

    const fn first(self) -> u16 {
        match self {
            Self::Diagnostics => 0x9000,
            Self::Inputs => 0xA000,
            Self::Outputs => 0xB000,
        }
    }
}

/// The identifier of the signal in this place of its record; `None` from [`MOST_SIGNALS`] on.
///
/// ```
/// use trunnion_service::identifier::{Signals, of_signal, signal_place};
///
/// assert_eq!(of_signal(Signals::Inputs, 3), Some(0xA003));
/// assert_eq!(signal_place(0xA003), Some((Signals::Inputs, 3)));
/// assert_eq!(signal_place(0x0101), None);
/// ```
pub const fn of_signal(record: Signals, place: u16) -> Option<u16> {
    if place < MOST_SIGNALS { Some(record.first() | place) } else { None }
}

/// The record and the place of the signal that has this identifier, whether or not a machine has so many.
pub const fn signal_place(identifier: u16) -> Option<(Signals, u16)> {
    let record = match identifier & !(MOST_SIGNALS - 1) {
        0x9000 => Signals::Diagnostics,
        0xA000 => Signals::Inputs,
        0xB000 => Signals::Outputs,
        _ => return None,
    };
    Some((record, identifier & (MOST_SIGNALS - 1)))
}

/// The identifier of a text or number that says which unit this is.
pub const fn of_identification(what: Identification) -> u16 {
    match what {
        Identification::ProgramNumber => 0xF188,
        Identification::Maker => 0xF18A,
        Identification::SerialNumber => 0xF18C,
        Identification::ProgramVersion => 0xF195,
        Identification::MachineName => 0xF197,
    }
}

/// What an identifier says of the unit, if it is one of those.
pub const fn identification(identifier: u16) -> Option<Identification> {
    match identifier {
        0xF188 => Some(Identification::ProgramNumber),
        0xF18A => Some(Identification::Maker),
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
            if let Some((record, place)) = place {
                assert_eq!(of_signal(record, place), Some(identifier));
            }
            if let Some(what) = what {
                assert_eq!(of_identification(what), identifier);
            }
        }
        assert!(Signals::ALL.iter().all(|record| of_signal(*record, MOST_SIGNALS).is_none()));
        assert_eq!((0..=u16::MAX).filter(|identifier| identification(*identifier).is_some()).count(), 5);
    }
}
