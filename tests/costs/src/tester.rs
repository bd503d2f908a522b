//! What comes over the bus for the loader's station: a tester who asks, the board behind it, and other people's frames.

use loader::declaration::messages::TOOL_ADDRESS;
use loader::declaration::{Diagnostics, Fault, Inputs, Outputs, Parameters};
use trunnion::declare::{FaultSet, ParameterSet, Record};
use trunnion_can::bus_slot::BusSlot;
use trunnion_can::frame::{Frame, standard};
use trunnion_can::id::{Id29, pgn};
use trunnion_can::request::{Request, TO_ALL};
use trunnion_service::faults::code_of;
use trunnion_service::identifier::{Signals, of_signal};
use trunnion_service::work::{WorkDone, WorkKind, WorkOrder, WorkReport};

use crate::random::Random;
use crate::scale::Words;

/// The controller's address.
pub const OWN: u8 = 0x27;
/// Group of the service port's frames to one address (ISO 15765-2).
const SERVICE: u32 = 0xDA00;
/// What fills a frame.
const FILL: u8 = 0xCC;
/// Frames that a period can bring to the station.
pub const SLOTS: usize = 8;
/// Periods until the conversation about access is over.
pub const UNLOCKED: u32 = 200;

/// What is said in a period.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Talk {
    /// Nothing.
    Silence,
    /// A frame that is none of the controller's business.
    Foreign,
    /// The request for one value.
    Read,
    /// Any request that fits one frame, from a tester who has unlocked a level.
    Anything,
    /// As many frames as a period brings to the station: one of them such a request, the others whatever keeps the station
    /// busy.
    Flood,
}

/// Frames of a period.
pub type Frames = [Option<Frame>; SLOTS];

/// The tester's side of the conversation, and the board.
#[derive(Debug, Clone, Copy)]
pub struct Tester {
    talk: Talk,
    periods: u32,
    /// The controller has begun a message of several frames.
    go_on: bool,
    /// It lets ours go on.
    may_go_on: bool,
    /// It announced a list of faults of this group to us.
    announced: Option<[u8; 3]>,
    /// What the board reports.
    pub work: WorkDone,
}

impl Tester {
    /// Before the first period.
    pub const fn new(talk: Talk) -> Self {
        let work = WorkDone { report: WorkReport::Nothing, number: 0, item: 0 };
        Self { talk, periods: 0, go_on: false, may_go_on: false, announced: None, work }
    }

    /// A period later, when the controller said and ordered this: what it is told now.
    pub fn after(&mut self, random: &mut Random, heard: &[Option<Frame>], order: WorkOrder) -> Frames {
        self.periods = self.periods.wrapping_add(1);
        self.work = done(order);
        heard.iter().flatten().for_each(|frame| self.hear(frame));
        let mut frames = [None; SLOTS];
        match self.talk {
            Talk::Silence => {}
            Talk::Foreign => frames[0] = foreign(random),
            Talk::Read => frames[0] = self.flow_control().or_else(|| read(random)),
            Talk::Anything | Talk::Flood if self.periods < UNLOCKED => self.unlock(&mut frames),
            Talk::Anything => frames[0] = self.reply().or_else(|| any_request(random, false)),
            Talk::Flood => self.flood(random, &mut frames),
        }
        frames
    }

    fn hear(&mut self, frame: &Frame) {
        let Some(id) = frame.id29().filter(|id| id.destination() == Some(TOOL_ADDRESS)) else { return };
        match (id.pgn(), frame.bytes()) {
            (SERVICE, [first, ..]) => {
                self.go_on |= first / 16 == 1;
                self.may_go_on |= first / 16 == 3;
            }
            (pgn::TRANSPORT_CONTROL, [16, _, _, _, _, group @ ..]) => self.announced = group.try_into().ok(),
            _ => {}
        }
    }

    /// "Go on, all of it, without a gap", where the controller waits for that.
    fn flow_control(&mut self) -> Option<Frame> {
        core::mem::take(&mut self.go_on)
            .then(|| frame_to_us([0x30, 0, 0, FILL, FILL, FILL, FILL, FILL]))
            .flatten()
    }

    /// What the controller waits for, if it does: a list of faults is not taken, so that the next can be asked for.
    fn reply(&mut self) -> Option<Frame> {
        let flow = self.flow_control();
        if flow.is_some() {
            return flow;
        }
        let [low, middle, high] = self.announced.take()?;
        let data = [255, 2, 0xFF, 0xFF, 0xFF, low, middle, high];
        frame_from(Id29::addressed(7, pgn::TRANSPORT_CONTROL, OWN, TOOL_ADDRESS), data)
    }

    /// Session, challenge, code: the board takes any.
    fn unlock(&mut self, frames: &mut Frames) {
        frames[0] = self.flow_control().or(match self.periods {
            140 => single(&[0x10, 0x03]),
            150 => single(&[0x27, 0x01]),
            160 => frame_to_us([0x10, 18, 0x27, 0x02, 1, 2, 3, 4]),
            _ => None,
        });
        if core::mem::take(&mut self.may_go_on) {
            frames[0] = frame_to_us([0x21, 5, 6, 7, 8, 9, 10, 11]);
            frames[1] = frame_to_us([0x22, 12, 13, 14, 15, 16, FILL, FILL]);
        }
    }

    fn flood(&mut self, random: &mut Random, frames: &mut Frames) {
        for frame in frames.iter_mut() {
            *frame = busy(random);
        }
        frames[0] = self.reply().or_else(|| any_request(random, true));
        frames[2] = self.reply().or(frames[2]);
        let group = if random.once_in(2) { pgn::PREVIOUS_TROUBLE_CODES } else { pgn::ACTIVE_TROUBLE_CODES };
        frames[1] = Request { pgn: group }.frame(OWN, TOOL_ADDRESS);
    }
}

/// What the board reports a period after an order: it has a full log in its flash, and every code is right.
fn done(order: WorkOrder) -> WorkDone {
    let place = u64::from(order.place);
    let (report, item) = match order.kind {
        WorkKind::Nothing => (WorkReport::Nothing, 0),
        WorkKind::ReadFault if usize::from(order.place) >= Fault::COUNT => (WorkReport::Refused, 0),
        WorkKind::ReadFault if order.item == 0 => (WorkReport::Done, (place << 8) | 3),
        WorkKind::ReadFault => (WorkReport::Done, (place << 32) | (place + 100)),
        _ => (WorkReport::Done, 0),
    };
    WorkDone { report, number: order.number, item }
}

fn frame_from(id: Option<Id29>, data: [u8; 8]) -> Option<Frame> {
    id.map(|id| Frame::group(id, data))
}

/// Eight bytes of the service port to the controller.
fn frame_to_us(data: [u8; 8]) -> Option<Frame> {
    frame_from(Id29::addressed(6, SERVICE, OWN, TOOL_ADDRESS), data)
}

/// A request in one frame: at most seven bytes.
fn single(bytes: &[u8]) -> Option<Frame> {
    let mut data = [FILL; 8];
    data[0] = bytes.len() as u8;
    data.get_mut(1..)?.iter_mut().zip(bytes).for_each(|(place, byte)| *place = *byte);
    frame_to_us(data)
}

/// What is none of the controller's business: a group of somebody else, a service of another controller, 11 bits.
fn foreign(random: &mut Random) -> Option<Frame> {
    let data = random_bytes(random);
    let source = random.between(0x80, 0xF0) as u8;
    match random.below(4) {
        0 => frame_from(Id29::broadcast(6, 0xFEF1, source), data),
        1 => frame_from(Id29::broadcast(3, pgn::ELECTRONIC_ENGINE_CONTROLLER_1, source), data),
        2 => frame_from(Id29::addressed(6, SERVICE, source, TOOL_ADDRESS), data),
        _ => Frame::with_bytes(standard(random.below(0x800) as u16)?, &data),
    }
}

fn random_bytes(random: &mut Random) -> [u8; 8] {
    let [low, high] = [random.bits(), random.bits()].map(u64::from);
    ((high << 32) | low).to_le_bytes()
}

/// An identifier that reads something.
fn identifier(random: &mut Random) -> [u8; 2] {
    let of =
        |random: &mut Random, signals, count: usize| of_signal(signals, random.below(count as u32) as u16);
    let id = match random.below(5) {
        0 => of(random, Signals::Diagnostics, Diagnostics::FIELDS.len()),
        1 => of(random, Signals::Inputs, Inputs::FIELDS.len()),
        2 => of(random, Signals::Outputs, Outputs::FIELDS.len()),
        3 => Some(0xF18A),
        _ => Parameters::RULES.get(random.below(Parameters::RULES.len() as u32) as usize).map(|rule| rule.id),
    };
    id.unwrap_or(0xF186).to_be_bytes()
}

/// The request for one value.
fn read(random: &mut Random) -> Option<Frame> {
    let [high, low] = identifier(random);
    single(&[0x22, high, low])
}

/// Any request that fits one frame and leaves the session as it is, and the black box `recording`.
fn any_request(random: &mut Random, recording: bool) -> Option<Frame> {
    let asks = |group| Request { pgn: group }.frame(OWN, TOOL_ADDRESS);
    match random.below(18) {
        0 | 1 => {
            let [[a, b], [c, d], [e, f]] = [identifier(random), identifier(random), identifier(random)];
            single(&[0x22, a, b, c, d, e, f])
        }
        2 => single(&[0x19, 0x0A]),
        3 => single(&[0x19, 0x02, 0xFF]),
        4 => single(&[0x19, 0x01, 0xFF]),
        5 => {
            let [a, b, c] = code_of(Fault::RULES.last()?);
            single(&[0x19, 0x06, a, b, c, 0xFF])
        }
        6 | 7 => single(&[0x2E, 0x01, 0x07, 0, 0, 0, random.below(256) as u8]),
        8 => single(&[0x31, 0x01, 0x02, 0x01]),
        // Mostly the black box keeps what it has, and can be read; where it shall record, it records anew.
        9 => single(&[0x31, 0x01, 0x02, if recording || random.once_in(4) { 0x04 } else { 0x03 }]),
        10 => {
            let [_, _, high, low] = random.below(20_000).to_be_bytes();
            single(&[0x23, 0x14, 0, 0, high, low, 0xE0])
        }
        11 => single(&[0x14, 0xFF, 0xFF, 0xFF]),
        12 => single(&[0x31, random.between(1, 3) as u8, 0x03, 0x01]),
        13 => single(&[0x3E, 0x00]),
        14 => asks(pgn::PREVIOUS_TROUBLE_CODES),
        15 => asks(pgn::COMPONENT_IDENTIFICATION),
        16 => asks(pgn::CLEAR_ACTIVE_TROUBLE_CODES),
        _ => asks(pgn::CLEAR_PREVIOUS_TROUBLE_CODES),
    }
}

/// A frame that the station has to look into.
pub fn busy(random: &mut Random) -> Option<Frame> {
    let data = random_bytes(random);
    let [_, rest @ ..] = data;
    let headed = |first: u8| {
        let [a, b, c, d, e, f, g] = rest;
        [first, a, b, c, d, e, f, g]
    };
    match random.below(8) {
        0 => frame_to_us(headed(0x20 | random.below(16) as u8)),
        1 => frame_to_us([0x10, random.between(8, 70) as u8, 0x22, 0xF1, 0x8A, 0xF1, 0x8A, 0xF1]),
        2 => frame_from(Id29::addressed(7, pgn::TRANSPORT_CONTROL, OWN, TOOL_ADDRESS), headed(0x11)),
        3 => frame_from(Id29::addressed(6, pgn::ADDRESS_CLAIMED, TO_ALL, OWN), [0xFF; 8]),
        4 => frame_from(Id29::addressed(6, pgn::ADDRESS_CLAIMED, TO_ALL, random.below(254) as u8), data),
        5 => frame_from(
            Id29::addressed(6, 0xDB00, 0xFF, TOOL_ADDRESS),
            [2, 0x3E, 0, FILL, FILL, FILL, FILL, FILL],
        ),
        6 => Request { pgn: pgn::CLEAR_ACTIVE_TROUBLE_CODES }.frame(OWN, TOOL_ADDRESS),
        _ => foreign(random),
    }
}

/// Frames in words: identifier and length, then two of data.
pub fn words(frames: &[Option<Frame>], into: &mut Words, mut place: usize) -> usize {
    for frame in frames {
        let BusSlot { head, data } = BusSlot::of(frame.as_ref());
        for word in [head as i32, (head >> 32) as i32, data as i32, (data >> 32) as i32] {
            if let Some(there) = into.get_mut(place) {
                *there = word;
            }
            place = place.wrapping_add(1);
        }
    }
    place
}
