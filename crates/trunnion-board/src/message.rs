//! What the two ends say to each other.
//!
//! Every message starts with its kind and a sequence number; an answer repeats the number of its request. A
//! request that cannot be taken ends the run: a hole in the inputs cannot be mended, only a new start can
//! follow.
//!
//! | request | body | answer | body |
//! |---|---|---|---|
//! | start | layout, then as differences: what the machine is told when it starts, its parameters last | started | – |
//! | period | fast inputs of all steps, inputs | driven | fast outputs of all steps, outputs, diagnostics |
//! | reconfigure | parameters | reconfigured | 1 when accepted, 0 when refused |
//! | any | | refused | reason, detail |

use trunnion::declare::{FieldInfo, ParameterSet, Record, Rule};
use trunnion::machine::{FastInputs, FastOutputs, Machine};

use crate::delta::MOST_BITS_A_VALUE;
use crate::frame::{self, Damage};

/// The most steps of a fast loop in one period that a message can carry.
pub const MOST_FAST_STEPS: u8 = 20;

/// The longest message: a frame without its check sum.
pub const LONGEST: usize = frame::LONGEST - 2;

/// Kind of a message: its first byte.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Kind {
    /// Starts the machine anew.
    Start = 0x01,
    /// One period.
    Period = 0x02,
    /// Puts a parameter set into effect.
    Reconfigure = 0x03,
    /// The machine has started.
    Started = 0x81,
    /// What the machine drove in one period.
    Driven = 0x82,
    /// The parameter set is in effect, or was refused by the machine.
    Reconfigured = 0x83,
    /// The request could not be taken.
    Refused = 0xFF,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 7] = [
        Self::Start,
        Self::Period,
        Self::Reconfigure,
        Self::Started,
        Self::Driven,
        Self::Reconfigured,
        Self::Refused,
    ];

    /// From the first byte of a message.
    pub fn from_byte(byte: u8) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| *kind as u8 == byte)
    }
}

/// Why the board did not take a request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// What arrived is no frame.
    Damaged(Damage),
    /// No request starts with this byte.
    UnknownKind(u8),
    /// A request is missing or came twice.
    OutOfSequence {
        /// The number that should have come.
        expected: u8,
    },
    /// The image was built from another declaration.
    OtherLayout,
    /// The body ends too early or too late, or a value is outside its range.
    Content,
    /// Nothing was started.
    NotStarted,
    /// The answer is longer than a frame.
    AnswerTooLong,
}

impl Reason {
    /// Reason and detail as they are sent.
    pub fn to_bytes(self) -> [u8; 2] {
        match self {
            Self::Damaged(Damage::TooLong) => [1, 0],
            Self::Damaged(Damage::TooShort) => [1, 1],
            Self::Damaged(Damage::CheckSum) => [1, 2],
            Self::UnknownKind(kind) => [2, kind],
            Self::OutOfSequence { expected } => [3, expected],
            Self::OtherLayout => [4, 0],
            Self::Content => [5, 0],
            Self::NotStarted => [6, 0],
            Self::AnswerTooLong => [7, 0],
        }
    }

    /// From what was sent.
    pub fn from_bytes(bytes: [u8; 2]) -> Option<Self> {
        match bytes {
            [1, 0] => Some(Self::Damaged(Damage::TooLong)),
            [1, 1] => Some(Self::Damaged(Damage::TooShort)),
            [1, 2] => Some(Self::Damaged(Damage::CheckSum)),
            [2, kind] => Some(Self::UnknownKind(kind)),
            [3, expected] => Some(Self::OutOfSequence { expected }),
            [4, 0] => Some(Self::OtherLayout),
            [5, 0] => Some(Self::Content),
            [6, 0] => Some(Self::NotStarted),
            [7, 0] => Some(Self::AnswerTooLong),
            _ => None,
        }
    }
}

/// The steps of a machine's fast loop in one period. A machine that no message can carry fails the build.
pub const fn fast_steps<M: Machine>() -> u8 {
    const {
        assert!(
            M::FAST_STEPS > 0 && M::FAST_STEPS <= MOST_FAST_STEPS,
            "a period has 1 to 20 steps of the fast loop"
        );
        let steps = M::FAST_STEPS as usize;
        let request = most_bits(<FastInputs<M> as Record>::FIELDS, steps)
            .saturating_add(most_bits(<M::Inputs as Record>::FIELDS, 1));
        let answer = most_bits(<FastOutputs<M> as Record>::FIELDS, steps)
            .saturating_add(most_bits(<M::Outputs as Record>::FIELDS, 1))
            .saturating_add(most_bits(<M::Diagnostics as Record>::FIELDS, 1));
        let start = most_bits_of_parameters(<M::Parameters as ParameterSet>::RULES);
        let room = LONGEST.saturating_mul(8).saturating_sub(HEADER_BITS);
        assert!(request <= room, "the inputs of one period are longer than a message");
        assert!(answer <= room, "what one period drives is longer than a message");
        assert!(start <= room, "the parameters are longer than a message");
        M::FAST_STEPS
    }
}

/// Kind, sequence number, layout, reset cause, serial number and entropy at their longest.
const HEADER_BITS: usize = 16 + 64 + 3 * MOST_BITS_A_VALUE as usize;

#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
const fn most_bits(fields: &[FieldInfo], steps: usize) -> usize {
    let mut bits = 0;
    let mut place = 0;
    while place < fields.len() {
        bits += MOST_BITS_A_VALUE as usize - 64 + fields[place].bytes as usize * 8;
        place += 1;
    }
    bits * steps
}

const fn most_bits_of_parameters(rules: &[Rule]) -> usize {
    (MOST_BITS_A_VALUE as usize).saturating_sub(32).saturating_mul(rules.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reason_is_read_as_it_was_sent() {
        for first in 0..=u8::MAX {
            for second in 0..=u8::MAX {
                if let Some(reason) = Reason::from_bytes([first, second]) {
                    assert_eq!(reason.to_bytes(), [first, second]);
                }
            }
        }
        assert_eq!(Reason::from_bytes(Reason::NotStarted.to_bytes()), Some(Reason::NotStarted));
    }

    #[test]
    fn every_kind_is_found_by_its_byte() {
        assert_eq!((0..=u8::MAX).filter_map(Kind::from_byte).count(), Kind::ALL.len());
        assert_eq!(Kind::from_byte(0x82), Some(Kind::Driven));
    }
}
