use std::collections::BTreeSet;
use std::vec::Vec as List;

use proptest::prelude::*;
use trunnion_can::id::Id29;
use trunnion_can::name::{MayMove, NameFields};
use trunnion_can::request::Request;
use trunnion_can::transport::{Kind, Receiver, ReceiverConfig};

use super::*;
use crate::test_machine::{Board, Few, Machine, TICK};

const TOOL: u8 = 0xF9;

fn name() -> Name {
    Name::new(NameFields {
        identity: 4711,
        manufacturer: 0x7FF,
        controller_instance: 0,
        function_instance: 0,
        function: 0x80,
        vehicle_system: 1,
        vehicle_system_instance: 0,
        industry_group: 3,
        may_move: MayMove::Yes,
    })
    .unwrap()
}

struct Bus {
    station: Station<Few, 64, 256, 82>,
    machine: Machine,
    board: Board,
    done: WorkDone,
    off: bool,
    sent: List<Frame>,
    actions: List<Action>,
}

fn bus() -> Bus {
    let config = StationConfig { name: name(), address: 0x27 };
    let mut machine = Machine::new();
    machine.active.clear();
    Bus {
        station: Station::new(config, AccessBoot { attempts: 0, start: 1 }, TICK).unwrap(),
        machine,
        board: Board::default(),
        done: WorkDone::default(),
        off: false,
        sent: List::new(),
        actions: List::new(),
    }
}

impl Bus {
    fn period(&mut self, frames: &[Frame]) -> List<Frame> {
        let frames: List<Option<Frame>> = frames.iter().copied().map(Some).collect();
        let arrived = Arrived { frames: &frames, bus_off: self.off, work: self.done, entropy: 7 };
        let mut outbox = Vec::<Frame, 4>::new();
        let action = self.station.step(&self.machine, &arrived, &mut outbox);
        if action != Action::None {
            self.actions.push(action);
        }
        self.done = self.board.step(self.station.server().order());
        self.sent.extend(outbox.iter().copied());
        outbox.iter().copied().collect()
    }

    fn periods(&mut self, count: u32) -> List<Frame> {
        (0..count).flat_map(|_| self.period(&[])).collect()
    }

    fn ask(&mut self, pgn: u32, periods: u32) -> List<Frame> {
        let mut frames = self.period(&[Request { pgn }.frame(0x27, TOOL).unwrap()]);
        frames.extend(self.periods(periods));
        frames
    }

    fn open(&mut self) {
        for request in [&[2, 0x10, 0x03][..], &[2, 0x27, 0x01]] {
            let mut data = [0xCC; 8];
            data[..request.len()].copy_from_slice(request);
            self.period(&[Frame::group(Id29::from_raw(0x18DA_27F9).unwrap(), data)]);
            self.periods(3);
        }
    }
}

fn groups(frames: &[Frame]) -> List<u32> {
    frames.iter().map(|frame| frame.id29().unwrap().pgn()).collect()
}

#[test]
fn nothing_goes_out_before_the_claim_and_faults_follow_it() {
    let mut bus = bus();
    bus.machine.active = std::vec![0];
    let first = bus.period(&[]);
    assert_eq!(groups(&first), [pgn::ADDRESS_CLAIMED, pgn::ACTIVE_TROUBLE_CODES]);
    assert_eq!(first[0].bytes(), name().emit());
    // SPN 520192, FMI 4, amber lamp on: SAE J1939-73, bytes as can-j1939 2.0.12 computes them, count 0.
    assert_eq!(first[1].bytes(), [0x04, 0xFF, 0x00, 0xF0, 0xE4, 0x00, 0xFF, 0xFF]);
    let second = bus.periods(100);
    assert_eq!(groups(&second), [pgn::ACTIVE_TROUBLE_CODES], "once a second while it is active");
    bus.machine.active.clear();
    bus.periods(100);
    assert_eq!(
        bus.sent.last().unwrap().bytes(),
        [0x00, 0xFF, 0, 0, 0, 0, 0xFF, 0xFF],
        "and once that it is gone"
    );
}

#[test]
fn several_faults_go_by_the_transport_protocol_and_come_whole() {
    let mut bus = bus();
    bus.period(&[]);
    bus.machine.active = std::vec![0, 1];
    let frames = bus.periods(30);
    let mut receiver =
        Receiver::<64>::new(ReceiverConfig { address: TOOL, kind: Kind::Broadcast, window: 1 }, TICK)
            .unwrap();
    frames.iter().for_each(|frame| receiver.take(frame));
    let message = receiver.message().unwrap();
    assert_eq!((message.pgn, message.source), (pgn::ACTIVE_TROUBLE_CODES, 0x27));
    assert_eq!(message.bytes, [0x04, 0xFF, 0x00, 0xF0, 0xE4, 0, 0x65, 0x0A, 0x09, 2]);
}

#[test]
fn who_asks_alone_gets_a_long_answer_alone_in_as_many_frames_as_it_clears() {
    let mut bus = bus();
    bus.period(&[]);
    let mut receiver =
        Receiver::<64>::new(ReceiverConfig { address: TOOL, kind: Kind::Addressed, window: 2 }, TICK)
            .unwrap();
    let mut frames = bus.ask(pgn::COMPONENT_IDENTIFICATION, 0);
    for _ in 0..30 {
        frames.iter().for_each(|frame| receiver.take(frame));
        let word: List<Frame> = receiver.step().into_iter().collect();
        frames = bus.period(&word);
    }
    assert_eq!(receiver.message().unwrap().bytes, b"Works*?*?*?*");
    let software = bus.ask(pgn::SOFTWARE_IDENTIFICATION, 3);
    assert_eq!(software[0].bytes(), [1, b'0', b'.', b'1', b'.', b'0', b'*', 0xFF]);
}

#[test]
fn a_history_is_cleared_only_by_who_may_and_the_asker_is_told() {
    let mut bus = bus();
    bus.period(&[]);
    let told = |frames: &[Frame]| {
        let frame = frames.iter().find(|frame| frame.id29().unwrap().pgn() == pgn::ACKNOWLEDGEMENT).unwrap();
        assert_eq!(frame.bytes()[4], TOOL);
        frame.bytes()[0]
    };
    for pgn in [pgn::CLEAR_ACTIVE_TROUBLE_CODES, pgn::CLEAR_PREVIOUS_TROUBLE_CODES] {
        assert_eq!(told(&bus.ask(pgn, 2)), Acknowledgement::AccessDenied as u8);
    }
    bus.open();
    assert_eq!(
        told(&bus.ask(pgn::CLEAR_ACTIVE_TROUBLE_CODES, 2)),
        Acknowledgement::AccessDenied as u8,
        "locked"
    );
    assert!(bus.actions.is_empty());
    assert_eq!(told(&bus.ask(pgn::ELECTRONIC_ENGINE_CONTROLLER_1, 2)), Acknowledgement::Negative as u8);
    let of_all = Request { pgn: pgn::ELECTRONIC_ENGINE_CONTROLLER_1 }.frame(TO_ALL, TOOL).unwrap();
    assert!(bus.period(&[of_all]).is_empty(), "what all were asked for and we lack is not answered");
}

#[test]
fn another_address_is_taken_up_by_the_server_too() {
    let mut bus = bus();
    bus.period(&[]);
    let stronger = Frame::group(Id29::from_raw(0x18EE_FF27).unwrap(), [0; 8]);
    let claims = bus.period(&[stronger]);
    assert_eq!(groups(&claims), [pgn::ADDRESS_CLAIMED]);
    let address = claims[0].id29().unwrap().source();
    assert_eq!(address, 128);
    bus.periods(26);
    let present = |to: u32| {
        Frame::group(
            Id29::from_raw(0x18DA_00F9 | (to << 8)).unwrap(),
            [2, 0x3E, 0, 0xCC, 0xCC, 0xCC, 0xCC, 0xCC],
        )
    };
    assert!(bus.period(&[present(0x27)]).is_empty());
    let answer = bus.period(&[present(128)]);
    assert_eq!(answer[0].bytes()[..3], [2, 0x7E, 0]);
    assert_eq!(answer[0].id29().unwrap().source(), 128);
}

#[test]
fn nothing_goes_out_while_the_bus_is_off_and_the_claim_is_first_afterwards() {
    let mut bus = bus();
    bus.period(&[]);
    bus.off = true;
    bus.machine.active = std::vec![0];
    assert!(bus.periods(50).is_empty());
    bus.off = false;
    let back = bus.period(&[]);
    assert_eq!(groups(&back), [pgn::ADDRESS_CLAIMED, pgn::ACTIVE_TROUBLE_CODES]);
}

fn any_frame() -> impl Strategy<Value = Frame> {
    let group =
        prop::sample::select(std::vec![0xDA00_u32, 0xDB00, 0xE800, 0xEA00, 0xEB00, 0xEC00, 0xEE00, 0xF004]);
    let to = prop::sample::select(std::vec![0x27_u32, 0x80, 0xFF, 0x33]);
    let from = prop::sample::select(std::vec![0xF9_u32, 0xF1, 0x27, 0xFE]);
    let byte = prop_oneof![
        any::<u8>(),
        prop::sample::select(std::vec![0x02_u8, 0x10, 0x11, 0x20, 0x21, 0x27, 0x30, 0xCA, 0xD3, 0xFE])
    ];
    (group, to, from, proptest::collection::vec(byte, 0..=8)).prop_map(|(group, to, from, bytes)| {
        let raw = 0x1800_0000 | (group << 8) | (to << 8) | from;
        Frame::with_bytes(embedded_can_id(raw), &bytes).unwrap()
    })
}

fn embedded_can_id(raw: u32) -> embedded_can::Id {
    embedded_can::Id::Extended(embedded_can::ExtendedId::new(raw & 0x1FFF_FFFF).unwrap())
}

proptest! {
    #[test]
    fn whatever_comes_at_most_the_outbox_is_sent_always_from_an_address_that_is_ours_and_nothing_is_done(
        flood in proptest::collection::vec(proptest::collection::vec(any_frame(), 0..8), 0..200),
        active in proptest::collection::vec(0_u16..2, 0..3),
    ) {
        let mut bus = bus();
        bus.machine.active = active.into_iter().collect::<BTreeSet<_>>().into_iter().collect();
        for frames in &flood {
            let sent = bus.period(frames);
            for frame in sent {
                let id = frame.id29().unwrap();
                let claim = id.pgn() == pgn::ADDRESS_CLAIMED;
                prop_assert!(claim || Some(id.source()) == bus.station.address(), "{frame:?}");
            }
        }
        prop_assert!(bus.actions.is_empty());
        prop_assert!(bus.board.saved.is_empty() && bus.board.resets == 0);
        // It still listens: silence ends what was begun, then a word is answered.
        bus.periods(700);
        if let Some(address) = bus.station.address() {
            let raw = 0x18DA_00F9 | (u32::from(address) << 8);
            let present = Frame::group(Id29::from_raw(raw).unwrap(), [2, 0x3E, 0, 0xCC, 0xCC, 0xCC, 0xCC, 0xCC]);
            let mut answers = bus.period(&[present]);
            answers.extend(bus.periods(3));
            prop_assert!(answers.iter().any(|frame| frame.bytes().get(..3) == Some(&[2, 0x7E, 0])));
        }
    }
}
