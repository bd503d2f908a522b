//! What of a frame is compared, and what nobody can know from the bus.

use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;
use trunnion_service::identifier;

/// Why something is not compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unknown {
    /// The challenge of an access level is drawn from the board's noise source.
    Challenge,
    /// How long the board needs for work that it was ordered.
    Waiting,
    /// The wires are not told.
    Wires,
    /// Left out by whoever asks.
    LeftOut,
}

impl Unknown {
    /// A sentence on it.
    pub const fn why(self) -> &'static str {
        match self {
            Self::Challenge => {
                "challenges of access levels: drawn by the board's noise source. Whether a code fitted is taken from the log"
            }
            Self::Waiting => {
                "when an answer comes that waits for the board's flash or its comparing of codes, and how often it says \
                 \"pending\" before; what it says is compared"
            }
            Self::Wires => {
                "what follows from wires, since no story tells them: trouble codes, the speed asked of the engine, long \
                 messages, service answers with signals, faults or conditions"
            }
            Self::LeftOut => "left out by --without",
        }
    }
}

/// What of a frame is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scope {
    /// Bytes that are, from bit 0 for the first on.
    pub bytes: u8,
    /// Its time is.
    pub timed: bool,
    /// What stands in the way of more.
    pub unknown: Option<Unknown>,
}

const ALL: Scope = Scope { bytes: 0xFF, timed: true, unknown: None };

const fn nothing(why: Unknown) -> Scope {
    Scope { bytes: 0, timed: false, unknown: Some(why) }
}

/// Whether wires are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wires {
    /// By a story.
    Told,
    /// All at rest, which is an assumption.
    Assumed,
}

/// What is compared of the frames of one identifier, in their order: a message may go over several.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Reader {
    /// The message under way is an access challenge.
    challenge: bool,
    /// It is compared at all.
    message: Option<Scope>,
}

/// Groups whose frames follow from wires.
const OF_WIRES: [u32; 5] = [
    pgn::ACTIVE_TROUBLE_CODES,
    pgn::PREVIOUS_TROUBLE_CODES,
    pgn::TORQUE_SPEED_CONTROL_1,
    pgn::TRANSPORT_CONTROL,
    pgn::TRANSPORT_PACKET,
];
/// Groups whose clearing needs a machine at rest, and is acknowledged accordingly.
const CLEARING: [u32; 2] = [pgn::CLEAR_PREVIOUS_TROUBLE_CODES, pgn::CLEAR_ACTIVE_TROUBLE_CODES];
/// Diagnostic message to one address (ISO 15765-2, normal fixed addressing).
const SERVICE: u32 = 0xDA00;

/// Services whose answers may wait for the board (ISO 14229-1): reset, clear, access, write, routine.
const WAITING: [u8; 5] = [0x11, 0x14, 0x27, 0x2E, 0x31];
/// Reasons that follow from the conversation alone: not supported, wrong length or format, out of range, security and
/// session (ISO 14229-1, table of negative response codes).
const OF_CONVERSATION: [u8; 10] = [0x11, 0x12, 0x13, 0x31, 0x33, 0x35, 0x36, 0x37, 0x7E, 0x7F];
const POSITIVE: u8 = 0x40;
const NEGATIVE: u8 = 0x7F;
const PENDING: u8 = 0x78;
const ACCESS: u8 = 0x27;
const READ: u8 = 0x22;
const SESSION: u8 = 0x10;
const PRESENT: u8 = 0x3E;

impl Reader {
    /// What is compared of the next frame.
    pub fn next(&mut self, frame: &Frame, wires: Wires) -> Scope {
        let Some(id) = frame.id29() else { return ALL };
        match id.pgn() {
            SERVICE => self.service(frame.bytes(), wires),
            group if wires == Wires::Assumed && OF_WIRES.contains(&group) => nothing(Unknown::Wires),
            pgn::ACKNOWLEDGEMENT if wires == Wires::Assumed && clears(frame) => nothing(Unknown::Wires),
            _ => ALL,
        }
    }

    fn service(&mut self, bytes: &[u8], wires: Wires) -> Scope {
        match bytes {
            [head @ 0x00..=0x0F, said @ ..] => {
                let said = said.get(..usize::from(*head)).unwrap_or(said);
                message(said, true, wires)
            }
            [0x10..=0x1F, _, said @ ..] => {
                let scope = message(said, false, wires);
                self.challenge = matches!(said, [0x67, level, ..] if level % 2 == 1);
                self.message = Some(scope);
                if self.challenge {
                    Scope { bytes: 0x0F, unknown: Some(Unknown::Challenge), ..scope }
                } else {
                    scope
                }
            }
            [0x20..=0x2F, ..] => {
                let scope = self.message.unwrap_or(ALL);
                if self.challenge {
                    Scope { bytes: 0x01, unknown: Some(Unknown::Challenge), ..scope }
                } else {
                    scope
                }
            }
            _ => ALL,
        }
    }
}

fn clears(frame: &Frame) -> bool {
    frame.eight().is_some_and(|[.., low, middle, high]| {
        CLEARING.contains(&u32::from_le_bytes([*low, *middle, *high, 0]))
    })
}

/// What is compared of an answer, from its first bytes; `whole` when there are no others.
fn message(said: &[u8], whole: bool, wires: Wires) -> Scope {
    let service = match said {
        [NEGATIVE, service, ..] => *service,
        [answer, ..] => answer.wrapping_sub(POSITIVE),
        [] => return ALL,
    };
    if let [NEGATIVE, _, PENDING] = said {
        return nothing(Unknown::Waiting);
    }
    let told = match (wires, said) {
        (Wires::Told, _) => true,
        (Wires::Assumed, [NEGATIVE, _, reason, ..]) => OF_CONVERSATION.contains(reason),
        (Wires::Assumed, [_, high, low, ..]) if service == READ => {
            whole && identifier::signal_place(u16::from_be_bytes([*high, *low])).is_none()
        }
        (Wires::Assumed, _) => [SESSION, PRESENT, ACCESS].contains(&service),
    };
    if !told {
        return nothing(Unknown::Wires);
    }
    if WAITING.contains(&service) {
        return Scope { timed: false, unknown: Some(Unknown::Waiting), ..ALL };
    }
    ALL
}

/// What an answer of the controller says of an access code, if it does: it was right, or wrong.
pub(super) fn verdict(frame: &Frame) -> Option<bool> {
    frame.id29().filter(|id| id.pgn() == SERVICE)?;
    match frame.bytes() {
        [0x02, 0x67, level, ..] if level % 2 == 0 => Some(true),
        [0x03, NEGATIVE, ACCESS, 0x35 | 0x36, ..] => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion_can::id::Id29;

    fn service(data: [u8; 8]) -> Frame {
        Frame::group(Id29::from_raw(0x18DA_F927).unwrap(), data)
    }

    #[test]
    fn of_a_challenge_its_kind_and_place_are_compared_and_of_the_next_message_all() {
        let mut reader = Reader::default();
        let mut bytes = |data| reader.next(&service(data), Wires::Told).bytes;
        assert_eq!(bytes([0x10, 18, 0x67, 1, 9, 9, 9, 9]), 0x0F);
        assert_eq!(bytes([0x21, 9, 9, 9, 9, 9, 9, 9]), 0x01);
        assert_eq!(bytes([0x10, 18, 0x62, 1, 9, 9, 9, 9]), 0xFF);
        assert_eq!(bytes([0x21, 9, 9, 9, 9, 9, 9, 9]), 0xFF);
    }

    #[test]
    fn what_waits_for_the_board_is_compared_but_for_its_time_and_pending_is_not() {
        let scope = |data| Reader::default().next(&service(data), Wires::Told);
        let committed = scope([0x04, 0x71, 1, 2, 1, 0xCC, 0xCC, 0xCC]);
        assert_eq!((committed.bytes, committed.timed), (0xFF, false));
        assert_eq!(scope([0x03, 0x7F, 0x31, 0x78, 0, 0, 0, 0]).bytes, 0);
        assert!(scope([0x02, 0x50, 3, 0, 0, 0, 0, 0]).timed);
        assert!(scope([0x30, 0, 0, 0, 0, 0, 0, 0]).timed);
    }

    #[test]
    fn without_a_story_only_what_wires_do_not_move_is_compared() {
        let compared = |data| Reader::default().next(&service(data), Wires::Assumed).bytes != 0;
        let parameter = [0x07, 0x62, 0x01, 0x01, 0, 0, 0, 33];
        let signal = identifier::of_signal(identifier::Signals::Diagnostics, 0).unwrap().to_be_bytes();
        assert!(compared(parameter));
        assert!(!compared([0x05, 0x62, signal[0], signal[1], 0, 1, 0, 0]));
        assert!(compared([0x03, 0x7F, 0x2E, 0x33, 0, 0, 0, 0]));
        assert!(!compared([0x03, 0x7F, 0x31, 0x22, 0, 0, 0, 0]), "conditions not correct");
        assert!(!compared([0x04, 0x71, 1, 2, 1, 0, 0, 0]));
        let group = |raw: u32, data| {
            Reader::default().next(&Frame::group(Id29::from_raw(raw).unwrap(), data), Wires::Assumed)
        };
        assert_eq!(group(0x18FE_CA27, [0; 8]), nothing(Unknown::Wires));
        assert_eq!(group(0x18EE_FF27, [0; 8]), ALL);
        assert_eq!(group(0x18E8_FF27, [1, 0, 0, 0, 0xF9, 0xD3, 0xFE, 0]), nothing(Unknown::Wires));
        assert_eq!(group(0x18E8_FF27, [1, 0, 0, 0, 0xF9, 0xEE, 0xFE, 0]), ALL);
    }

    #[test]
    fn the_log_says_whether_a_code_was_right() {
        assert_eq!(verdict(&service([0x02, 0x67, 2, 0, 0, 0, 0, 0])), Some(true));
        assert_eq!(verdict(&service([0x03, 0x7F, 0x27, 0x35, 0, 0, 0, 0])), Some(false));
        assert_eq!(verdict(&service([0x03, 0x7F, 0x27, 0x24, 0, 0, 0, 0])), None);
        assert_eq!(verdict(&service([0x02, 0x67, 1, 0, 0, 0, 0, 0])), None);
    }
}
