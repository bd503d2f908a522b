//! What the groups say that others may ask for.

use trunnion::declare::FaultSet;
use trunnion_can::frame::Frame;
use trunnion_can::id::{Id29, pgn};
use trunnion_can::trouble_code::TroubleCode;
use trunnion_can::trouble_list::TroubleList;

use crate::served::{Identification, Served};

/// Priority of fault messages and texts (SAE J1939-73).
const PRIORITY: u8 = 6;
/// Between the parts of a text, and behind its last one (SAE J1939-71).
const DELIMITER: u8 = b'*';

/// A group that is told to all once in a while, or to whom asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) enum Group {
    /// DM1.
    Active,
    /// DM2.
    Previous,
    /// Number of texts, then the program's version.
    Software,
    /// Make, model, serial number, unit number.
    Component,
}

impl Group {
    pub const fn of(pgn: u32) -> Option<Self> {
        match pgn {
            pgn::ACTIVE_TROUBLE_CODES => Some(Self::Active),
            pgn::PREVIOUS_TROUBLE_CODES => Some(Self::Previous),
            pgn::SOFTWARE_IDENTIFICATION => Some(Self::Software),
            pgn::COMPONENT_IDENTIFICATION => Some(Self::Component),
            _ => None,
        }
    }

    pub const fn pgn(self) -> u32 {
        match self {
            Self::Active => pgn::ACTIVE_TROUBLE_CODES,
            Self::Previous => pgn::PREVIOUS_TROUBLE_CODES,
            Self::Software => pgn::SOFTWARE_IDENTIFICATION,
            Self::Component => pgn::COMPONENT_IDENTIFICATION,
        }
    }
}

/// What a group says.
pub(super) struct Text<const L: usize> {
    bytes: [u8; L],
    used: usize,
}

impl<const L: usize> Text<L> {
    const fn new() -> Self {
        Self { bytes: [0; L], used: 0 }
    }

    /// Puts a byte behind the others; what does not fit is left out.
    fn put(&mut self, byte: u8) {
        if let Some(place) = self.bytes.get_mut(self.used) {
            *place = byte;
            self.used = self.used.saturating_add(1);
        }
    }

    /// A part without the sign that would end it, and that sign.
    fn part(&mut self, words: &[u8]) {
        for byte in words.iter().filter(|byte| **byte != DELIMITER).chain(&[DELIMITER]) {
            self.put(*byte);
        }
    }

    pub fn bytes(&self) -> &[u8] {
        self.bytes.get(..self.used).unwrap_or(&self.bytes)
    }
}

/// What a group says now. What does not fit `L` bytes is left out: the faults behind in the table, the end of a text.
pub(super) fn text<M: Served, const L: usize>(served: &M, group: Group) -> Text<L> {
    let mut text = Text::new();
    match group {
        Group::Active => codes(&mut text, served, |place| served.is_fault_active(place)),
        Group::Previous => codes(&mut text, served, |place| {
            !served.is_fault_active(place) && served.fault_entry(place).count > 0
        }),
        Group::Software => {
            text.put(1);
            text.part(served.identification(Identification::ProgramVersion));
        }
        Group::Component => {
            text.part(served.identification(Identification::Maker));
            text.part(served.identification(Identification::MachineName));
            text.part(served.identification(Identification::SerialNumber));
            text.part(served.identification(Identification::ProgramNumber));
        }
    }
    text
}

fn codes<M: Served, const L: usize>(text: &mut Text<L>, served: &M, counts: impl Fn(u16) -> bool) {
    let mut list = TroubleList::<L>::new(served.lamps());
    for (place, rule) in (0_u16..).zip(<M::Faults as FaultSet>::RULES) {
        if counts(place)
            && let Some(code) = TroubleCode::new(rule.spn, rule.fmi, served.fault_entry(place).count)
        {
            list.push(code);
        }
    }
    list.bytes().iter().for_each(|byte| text.put(*byte));
}

/// The frame of a message that fits one.
pub(super) fn single(group: Group, text: &[u8], address: u8) -> Option<Frame> {
    let mut data = [0xFF; 8];
    if text.len() > data.len() {
        return None;
    }
    for (place, byte) in data.iter_mut().zip(text) {
        *place = *byte;
    }
    Some(Frame::group(Id29::broadcast(PRIORITY, group.pgn(), address)?, data))
}
