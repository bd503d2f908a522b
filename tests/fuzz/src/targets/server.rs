//! The diagnostic server: any frames, any standing of the machine, and a board that checks codes.

use std::collections::HashSet;

use trunnion::declare::{Access, Latch, ParameterSet, Reactions, Refusal};
use trunnion::fault::LogEntry;
use trunnion::quantity::{Millis, Period, Permille};
use trunnion_can::frame::Frame;
use trunnion_can::id::Id29;
use trunnion_can::iso_tp::{Addressing, LinkConfig};
use trunnion_can::trouble_code::Lamps;
use trunnion_service::access::{AccessBoot, CODE_BYTES};
use trunnion_service::level::{Level, Standing};
use trunnion_service::negative::Negative;
use trunnion_service::routine::RoutineReport;
use trunnion_service::served::{Action, BoxOrder, Identification, Motion, Needs, Progress, Reading, Served};
use trunnion_service::server::{Server, Session};
use trunnion_service::work::{WorkDone, WorkKind, WorkReport, parameter_of};

use crate::steps::Steps;

trunnion::parameters! {
    /// One of each access.
    struct Few, enum FewIndex {
        /// Speed.
        0x0101 speed: Permille = 500, in 0..=1000, Access::Tune;
        /// Stop.
        0x0102 stop_time: u16 = 1000, in 100..=2000, Access::Safety;
        /// Teeth.
        0x0103 teeth: u8 = 60, in 1..=200, Access::Constant;
    }
}

trunnion::faults! {
    /// Two.
    enum Fault {
        /// One.
        One: spn 520_192, fmi 4, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 21, "here";
        /// Two.
        Two: spn 2661, fmi 9, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 22, "there";
    }
}

const TICK: Period = Period::from_micros(10_000).unwrap();
const CONTROLLER: u8 = 0x27;
const KNOWN: [u32; 3] = [0x18DA_27F9, 0x18DA_27FA, 0x18DB_33F9];
const ROUTINE: u16 = 0x0301;
const OUTPUT: u16 = 0x0401;
/// A black box of more bytes than one answer takes.
const BOX: [u8; 300] = [0xB0; 300];
/// Periods that a motion may outlive the last word of who began it.
const DEAD_MAN: u32 = 30;

#[derive(Debug)]
struct Machine {
    parameters: Few,
    standing: Standing,
}

impl Served for Machine {
    type Parameters = Few;
    type Faults = Fault;
    const ROUTINES: &'static [Motion] =
        &[Motion { id: ROUTINE, level: Level::Tune, needs: Needs::Permitted }];
    const CONTROLS: &'static [Motion] = &[Motion { id: OUTPUT, level: Level::Safety, needs: Needs::Quiet }];
    const BLACK_BOX: bool = true;

    fn parameters(&self) -> &Few {
        &self.parameters
    }

    fn check(&self, _: &Few) -> Result<(), Refusal> {
        Ok(())
    }

    fn signal(&self, identifier: u16) -> Option<Reading> {
        (0x9000..0x9004).contains(&identifier).then_some(Reading { bytes: 8, raw: -1 })
    }

    fn identification(&self, _: Identification) -> &[u8] {
        b"a unit"
    }

    fn is_fault_active(&self, place: u16) -> bool {
        place == 0
    }

    fn active_faults(&self) -> [u32; 8] {
        [1, 0, 0, 0, 0, 0, 0, 0]
    }

    fn lamps(&self) -> Lamps {
        Lamps::OFF
    }

    fn fault_entry(&self, _: u16) -> LogEntry {
        LogEntry { first: 1, last: 2, count: 3 }
    }

    fn standing(&self) -> Standing {
        self.standing
    }

    fn routine(&self, _: u16) -> RoutineReport {
        RoutineReport { progress: Progress::Running, ..RoutineReport::default() }
    }
}

/// A code that only this board and the harness know; the words of a challenge as the server tells them.
fn right_code(level: u8, challenge: [u64; 2]) -> [u64; 2] {
    [
        challenge[0].rotate_left(17) ^ 0x1234_5678_9ABC_DEF0 ^ u64::from(level),
        challenge[1].wrapping_mul(0x9E37_79B9),
    ]
}

/// What is watched from outside.
struct World {
    server: Server<Few, 64, 160>,
    machine: Machine,
    words: [u64; 4],
    attempts: u64,
    staged: Vec<(u16, i32)>,
    saved: Vec<(u16, i32)>,
    done: WorkDone,
    /// The level that the board found a right code for, until the server opens it.
    found: Option<Level>,
    /// Challenges over which a code was compared.
    used: HashSet<[u64; 2]>,
    /// The last challenge that went out, for the harness's own right answers.
    challenge: [u8; CODE_BYTES],
    moving: bool,
    /// Periods without a frame from anybody.
    silent: u32,
}

/// Any frames, reports as the board gives them, and whatever standing.
pub fn run(input: &[u8]) {
    let mut steps = Steps::new(input);
    let separation = Millis::millis(0);
    let config = LinkConfig {
        addressing: Addressing::Fixed { address: CONTROLLER },
        block: 8,
        separation,
        fill: 0xCC,
    };
    let boot = AccessBoot { attempts: u32::from(steps.byte() % 4), start: 1 };
    let mut world = World {
        server: Server::new(config, boot, TICK).expect("a server"),
        machine: Machine {
            parameters: Few::default(),
            standing: Standing { at_rest: true, neutral: true, permitted: true, withheld: false },
        },
        words: [0; 4],
        attempts: u64::MAX,
        staged: Vec::new(),
        saved: Vec::new(),
        done: WorkDone::default(),
        found: None,
        used: HashSet::new(),
        challenge: [0; CODE_BYTES],
        moving: false,
        silent: 0,
    };
    let mut periods = 0;
    while !steps.is_empty() && periods < 4_000 {
        periods += world.act(&mut steps);
    }
}

impl World {
    /// One choice of the input; how many periods it took.
    fn act(&mut self, steps: &mut Steps<'_>) -> u32 {
        match steps.byte() % 16 {
            0 => {
                let bits = steps.byte();
                self.machine.standing = Standing {
                    at_rest: bits & 1 == 0,
                    neutral: bits & 2 == 0,
                    permitted: bits & 4 == 0,
                    withheld: bits & 4 != 0,
                };
                0
            }
            1 => {
                let periods = u32::from(steps.byte()) * 4;
                (0..periods).for_each(|_| self.period());
                periods
            }
            2 => {
                self.take(&steps.frame(&KNOWN));
                0
            }
            3 => self.answer_rightly(steps.byte()),
            4 => self.ask(&[0x27, if steps.byte().is_multiple_of(2) { 1 } else { 3 }]),
            5 => self.ask(&[0x10, if steps.byte().is_multiple_of(8) { 1 } else { 3 }]),
            6 => {
                let [id, a, b, c] = steps.bytes();
                self.ask(&[0x2E, 0x01, id % 5, if a % 4 == 0 { a } else { 0 }, 0, b % 8, c])
            }
            7 => self.ask(&[0x31, 1 + steps.byte() % 3, 0x02, 1 + steps.byte() % 4]),
            8 => self.ask(&[0x31, 1 + steps.byte() % 3, 0x03, 0x01]),
            9 => self.ask(&[0x2F, 0x04, 0x01, steps.byte() % 4, 0, 0, 0, 1]),
            10 => self.ask(&[0x14, 0xFF, 0xFF, 0xFF]),
            11 => self.ask(&[0x23, 0x12, steps.byte() % 2, steps.byte(), steps.byte()]),
            _ => {
                let count = usize::from(1 + steps.byte() % 40);
                let bytes = steps.some(count).to_vec();
                self.ask(&bytes)
            }
        }
    }

    fn take(&mut self, frame: &Frame) {
        self.silent = 0;
        self.server.take(frame);
    }

    /// Answers the last challenge with the right code.
    fn answer_rightly(&mut self, choice: u8) -> u32 {
        let level = 1 + choice % 2;
        let word = |bytes: &[u8]| bytes.iter().fold(0_u64, |word, byte| (word << 8) | u64::from(*byte));
        let challenge = [word(&self.challenge[..8]), word(&self.challenge[8..])];
        let code = right_code(level, challenge);
        let request = [&[0x27, level * 2][..], &code[0].to_be_bytes(), &code[1].to_be_bytes()].concat();
        self.ask(&request)
    }

    /// A whole request of the first tester, as long as it takes: 65 bytes are the first that do not fit.
    fn ask(&mut self, request: &[u8]) -> u32 {
        let id = Id29::from_raw(KNOWN[0]).expect("29 bits");
        let mut data = [0xCC; 8];
        if request.len() <= 7 {
            data[0] = request.len() as u8;
            data[1..=request.len()].copy_from_slice(request);
            self.take(&Frame::group(id, data));
        } else {
            data[0] = 0x10;
            data[1] = request.len() as u8;
            data[2..].copy_from_slice(&request[..6]);
            self.take(&Frame::group(id, data));
            self.period();
            for (number, part) in (1..).zip(request[6..].chunks(7)) {
                let mut data = [0xCC; 8];
                data[0] = 0x20 | (number & 0x0F);
                data[1..=part.len()].copy_from_slice(part);
                self.take(&Frame::group(id, data));
            }
        }
        let periods = 12;
        (0..periods).for_each(|_| self.period());
        periods
    }

    fn period(&mut self) {
        let before = (self.server.level(), self.server.session());
        let action = self.server.step(&self.machine, self.done, 7);
        self.check_level(before.0);
        self.check_action(action, before.0);
        self.done = self.board();
        let mut frames = 0;
        while let Some(frame) = self.server.frame() {
            frames += 1;
            assert!(frames <= 30, "the frames of one period are bounded by the answer's size");
            self.hear(&frame);
        }
        self.silent += 1;
        if self.moving {
            // A request may have waited for 50 ms, in which the answer to another one went out.
            assert!(self.silent <= DEAD_MAN + 5, "a motion outlived the silence");
        }
        if self.server.session() == Session::Default {
            assert_eq!(self.server.level(), Level::Locked, "a level outlived its session");
        }
    }

    fn check_level(&mut self, before: Level) {
        let now = self.server.level();
        if now > before {
            assert_eq!(self.found.take(), Some(now), "a level opened without a right code");
            assert_eq!(self.attempts, 0, "the clean slate was not stored before it opened");
        }
    }

    fn check_action(&mut self, action: Action, before: Level) {
        let standing = self.machine.standing;
        match action {
            Action::None => {}
            Action::Commit => {
                let set = self.server.take_committed().expect("a set is committed");
                let told = |id| self.saved.iter().find(|(saved, _)| *saved == id).map(|(_, raw)| *raw);
                for (place, rule) in (0..).zip(Few::RULES) {
                    let raw = set.raw(place);
                    assert!((rule.low..=rule.high).contains(&raw));
                    assert_eq!(told(rule.id), Some(raw), "what takes effect is not what is in flash");
                    let changed = raw != self.machine.parameters.raw(place);
                    assert!(!changed || rule.access != Access::Constant, "a constant changed");
                }
                self.machine.parameters = set;
            }
            Action::ClearFaults(_) | Action::ClearPreviousFaults => {
                assert!(before >= Level::Tune && standing.is_quiet())
            }
            Action::Start(id) => {
                assert!(id == ROUTINE && before >= Level::Tune && standing.is_quiet() && standing.permitted);
                assert!(!self.moving, "two motions at a time");
                self.moving = true;
            }
            Action::Control { id, .. } => {
                assert_eq!(id, OUTPUT);
                assert!(self.moving || (before == Level::Safety && standing.is_quiet()));
                self.moving = true;
            }
            Action::Stop(_) | Action::Release(_) => self.moving = false,
            Action::Box(BoxOrder::Freeze | BoxOrder::Arm) => assert!(before >= Level::Tune),
            Action::Box(BoxOrder::Read { place, length }) => {
                assert!(standing.is_quiet());
                let bytes = usize::try_from(place)
                    .ok()
                    .and_then(|place| BOX.get(place..place.checked_add(length.into())?));
                self.server.answer_box(bytes.ok_or(Negative::OutOfRange));
            }
        }
    }

    /// The board: at once, since how long it takes makes no difference to what may happen.
    fn board(&mut self) -> WorkDone {
        let order = self.server.order();
        let report = match order.kind {
            WorkKind::Nothing | WorkKind::Reset => WorkReport::Nothing,
            WorkKind::StageParameter => {
                self.staged.push(parameter_of(order.item));
                WorkReport::Done
            }
            WorkKind::SaveParameters => {
                self.saved = std::mem::take(&mut self.staged);
                WorkReport::Done
            }
            WorkKind::DropStaged => {
                self.staged.clear();
                WorkReport::Done
            }
            WorkKind::SaveAttempts => {
                self.attempts = order.item;
                WorkReport::Done
            }
            WorkKind::CodeWord => {
                self.words[usize::from(order.place)] = order.item;
                WorkReport::Done
            }
            WorkKind::CheckCode => self.check_code(order.place),
            WorkKind::ReadFault | WorkKind::FaultTimes | WorkKind::FaultCount | WorkKind::SaveFaultLog => {
                unreachable!("the server orders no work of the fault log by itself")
            }
        };
        WorkDone { report, number: order.number, item: 0 }
    }

    fn check_code(&mut self, place: u8) -> WorkReport {
        assert!(self.attempts > 0, "the attempt was not stored before the code was compared");
        let [a, b, c, d] = self.words;
        assert!(self.used.insert([a, b]), "a challenge was used twice");
        if right_code(place, [a, b]) == [c, d] {
            self.found = Some(if place == 2 { Level::Safety } else { Level::Tune });
            return WorkReport::Done;
        }
        WorkReport::Refused
    }

    /// Remembers the challenge of an answer 67 01 or 67 03, which comes in three frames; grants its flow.
    fn hear(&mut self, frame: &Frame) {
        let bytes = frame.bytes();
        match bytes[0] >> 4 {
            1 => {
                if bytes[2] == 0x67 {
                    self.challenge[..4].copy_from_slice(&bytes[4..]);
                }
                let id = Id29::from_raw(KNOWN[0]).expect("29 bits");
                self.server.take(&Frame::group(id, [0x30, 0, 0, 0xCC, 0xCC, 0xCC, 0xCC, 0xCC]));
            }
            2 => {
                let at = 4 + 7 * usize::from((bytes[0] & 0x0F).saturating_sub(1));
                for (place, byte) in self.challenge.iter_mut().skip(at).zip(&bytes[1..]) {
                    *place = *byte;
                }
            }
            _ => {}
        }
    }
}
