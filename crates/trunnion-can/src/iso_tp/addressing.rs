//! Which identifiers carry requests and answers.

use embedded_can::{Frame as _, Id, StandardId};

use crate::frame::Frame;
use crate::id::Id29;

/// Group of a message to one address, normal fixed addressing (ISO 15765-2).
const PHYSICAL: u32 = 0xDA00;
/// Group of a message to all.
const FUNCTIONAL: u32 = 0xDB00;
/// Priority of both.
const PRIORITY: u8 = 6;

/// How requests come and answers go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub enum Addressing {
    /// Normal fixed addressing: 29-bit identifiers 0x18DA, receiver, sender; to all 0x18DB, any, sender.
    Fixed {
        /// Our address, 0 to 253.
        address: u8,
    },
    /// Normal addressing: one 11-bit identifier each way.
    Standard {
        /// Identifier of the requests.
        #[cfg_attr(feature = "snapshot", serde(with = "crate::standard_id"))]
        requests: StandardId,
        /// Identifier of requests to all controllers.
        #[cfg_attr(feature = "snapshot", serde(with = "crate::standard_id"))]
        to_all: StandardId,
        /// Identifier of our answers.
        #[cfg_attr(feature = "snapshot", serde(with = "crate::standard_id"))]
        answers: StandardId,
    },
}

/// Who sent a frame, and whether to us alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub enum Sender {
    /// To us. With 11-bit identifiers there is only one tester: address 0.
    ToUs {
        /// The tester's address.
        tester: u8,
    },
    /// To all controllers.
    ToAll {
        /// The tester's address.
        tester: u8,
    },
}

impl Addressing {
    /// Who sent this frame to us or to all; `None` for what is none of our business.
    pub fn sender(self, frame: &Frame) -> Option<Sender> {
        match (self, frame.id()) {
            (Self::Fixed { address }, Id::Extended(id)) => {
                let id = Id29::from(id);
                let tester = id.source();
                match id.pgn() {
                    PHYSICAL if id.destination() == Some(address) => Some(Sender::ToUs { tester }),
                    FUNCTIONAL => Some(Sender::ToAll { tester }),
                    _ => None,
                }
            }
            (Self::Standard { requests, to_all, .. }, Id::Standard(id)) => {
                if id == requests {
                    Some(Sender::ToUs { tester: 0 })
                } else if id == to_all {
                    Some(Sender::ToAll { tester: 0 })
                } else {
                    None
                }
            }
            _ => None,
        }
    }

    /// The identifier of a frame to a tester.
    pub(super) fn to(self, tester: u8) -> Option<Id> {
        match self {
            Self::Fixed { address } => {
                Id29::addressed(PRIORITY, PHYSICAL, tester, address).map(|id| Id::Extended(id.into()))
            }
            Self::Standard { answers, .. } => Some(Id::Standard(answers)),
        }
    }
}
