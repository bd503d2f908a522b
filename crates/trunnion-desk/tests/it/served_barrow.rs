//! A barrow's controller on a bus of its own: the diagnostic server behind a TCP port, with a board that has a key.

use std::net::SocketAddr;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use trunnion::declare::{ParameterSet, Record, Refusal};
use trunnion::fault::LogEntry;
use trunnion::quantity::{Millis, Period};
use trunnion_can::iso_tp::{Addressing, LinkConfig};
use trunnion_can::trouble_code::Lamps;
use trunnion_desk::gateway::port::{Port, Reach};
use trunnion_desk::tester::key::Key;
use trunnion_service::access::AccessBoot;
use trunnion_service::identifier::{Signals, signal_place};
use trunnion_service::level::{Level, Standing};
use trunnion_service::routine::{RoutineReport, RoutineStep};
use trunnion_service::served::{Action, Identification, Learnt, Motion, Needs, Progress, Reading, Served};
use trunnion_service::server::Server;
use trunnion_service::work::{WorkDone, WorkKind, WorkOrder, WorkReport};

use crate::barrow::{Diagnostics, Fault, Parameters};

const TICK: Period = Period::from_micros(10_000).unwrap();
/// Digits of the unit's key.
pub const KEY: &str = "000102030405060708090a0b0c0d0e0f101112131415161718191a1b1c1d1e1f";
/// The routine that the barrow has.
pub const COIL_SWEEP: u16 = 0x0301;

/// What it finds.
pub const FOUND: [i16; 3] = [12, -7, 900];
/// What it learns: a ramp time.
pub const LEARNT_RAMP_TIME: i32 = 900;

/// What tests look at and set while it runs.
#[derive(Debug, Clone)]
pub struct State {
    pub parameters: Parameters,
    pub diagnostics: Diagnostics,
    pub standing: Standing,
    pub history: [LogEntry; 2],
    pub sweeping: Option<Instant>,
    pub starts: u32,
    pub stops: u32,
}

impl Served for State {
    type Parameters = Parameters;
    type Faults = Fault;
    const ROUTINES: &'static [Motion] =
        &[Motion { id: COIL_SWEEP, level: Level::Tune, needs: Needs::Permitted }];
    const CONTROLS: &'static [Motion] = &[];

    fn parameters(&self) -> &Parameters {
        &self.parameters
    }

    fn check(&self, set: &Parameters) -> Result<(), Refusal> {
        // The pair that contradicts itself, as a machine's configuration would find it.
        if set.stop_time() > set.ramp_time() {
            return Err(Refusal::Contradiction { id: 0x0103, value: 0, rule: "at most the ramp time" });
        }
        Ok(())
    }

    fn signal(&self, identifier: u16) -> Option<Reading> {
        let (Signals::Diagnostics, place) = signal_place(identifier)? else { return None };
        let field = Diagnostics::FIELDS.get(usize::from(place))?;
        Some(Reading { bytes: field.bytes, raw: self.diagnostics.get(place) })
    }

    fn identification(&self, what: Identification) -> &[u8] {
        match what {
            Identification::MachineName => b"Power barrow",
            Identification::ProgramVersion => b"0.1.0",
            Identification::SerialNumber => b"B-0001",
            Identification::ProgramNumber | Identification::Maker => b"",
        }
    }

    fn is_fault_active(&self, place: u16) -> bool {
        place == 1
    }

    fn active_faults(&self) -> [u32; 8] {
        [0b10, 0, 0, 0, 0, 0, 0, 0]
    }

    fn lamps(&self) -> Lamps {
        Lamps::OFF
    }

    fn fault_entry(&self, place: u16) -> LogEntry {
        self.history.get(usize::from(place)).copied().unwrap_or_default()
    }

    fn standing(&self) -> Standing {
        self.standing
    }

    fn routine(&self, _: u16) -> RoutineReport {
        let report =
            |progress, found, step| RoutineReport { progress, found, step, ..RoutineReport::default() };
        match self.sweeping.map(|began| began.elapsed().as_millis()) {
            None => RoutineReport::default(),
            Some(0..300) => report(Progress::Running, [0; 3], RoutineStep::DriveStraight),
            Some(300..=700) => report(Progress::Running, [0; 3], RoutineStep::KeepStraight),
            Some(_) => report(Progress::Done, FOUND, RoutineStep::Nothing),
        }
    }

    fn learnt(&self, _: u16) -> Learnt {
        [Some((0x0102, LEARNT_RAMP_TIME)), None, None]
    }
}

/// Flash and key of the board.
struct Board {
    key: Key,
    words: [u64; 4],
}

impl Board {
    fn step(&mut self, order: WorkOrder) -> WorkDone {
        let report = match order.kind {
            WorkKind::Nothing => WorkReport::Nothing,
            WorkKind::CodeWord => {
                self.words[usize::from(order.place)] = order.item;
                WorkReport::Done
            }
            WorkKind::CheckCode => {
                let level = if order.place == 2 { Level::Safety } else { Level::Tune };
                let bytes = |words: &[u64]| -> [u8; 16] {
                    [words[0].to_be_bytes(), words[1].to_be_bytes()].concat().try_into().unwrap()
                };
                let right = self.key.code(level, &bytes(&self.words[..2])) == bytes(&self.words[2..]);
                if right { WorkReport::Done } else { WorkReport::Refused }
            }
            _ => WorkReport::Done,
        };
        WorkDone { report, number: order.number, item: 0 }
    }
}

/// A controller that runs until it is dropped.
pub struct ServedBarrow {
    address: SocketAddr,
    state: Arc<Mutex<State>>,
    over: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl ServedBarrow {
    pub fn start() -> Self {
        let port = Port::open(Reach::Loopback, 0).unwrap();
        let address = port.address();
        let entry = |count| LogEntry { first: 100, last: 250, count };
        let state = Arc::new(Mutex::new(State {
            parameters: Parameters::default(),
            diagnostics: Diagnostics::default(),
            standing: Standing { at_rest: true, neutral: true, permitted: true, withheld: false },
            history: [entry(0), entry(3)],
            sweeping: None,
            starts: 0,
            stops: 0,
        }));
        let over = Arc::new(AtomicBool::new(false));
        let (shared, ended) = (Arc::clone(&state), Arc::clone(&over));
        let thread = Some(thread::spawn(move || serve(&port, &shared, &ended)));
        Self { address, state, over, thread }
    }

    /// What is typed behind a verb to reach it.
    pub fn at(&self) -> String {
        format!("tcp:{}", self.address)
    }

    pub fn with<R>(&self, look: impl FnOnce(&mut State) -> R) -> R {
        look(&mut self.state.lock().unwrap())
    }
}

impl Drop for ServedBarrow {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            thread.join().unwrap();
        }
    }
}

fn serve(port: &Port, state: &Mutex<State>, over: &AtomicBool) {
    let separation = Millis::millis(0);
    let config =
        LinkConfig { addressing: Addressing::Fixed { address: 0x27 }, block: 8, separation, fill: 0xCC };
    let boot = AccessBoot { attempts: 0, start: 1 };
    let mut server = Server::<Parameters, 64, 512>::new(config, boot, TICK).unwrap();
    let mut board = Board { key: Key::parse(KEY).unwrap(), words: [0; 4] };
    let mut done = WorkDone::default();
    let mut due = Instant::now();
    for entropy in 0.. {
        if over.load(Ordering::Relaxed) {
            return;
        }
        while let Some(frame) = port.receive() {
            server.take(&frame);
        }
        let mut state = state.lock().unwrap();
        match server.step(&*state, done, entropy) {
            Action::Commit => state.parameters = server.take_committed().unwrap(),
            Action::ClearFaults(_) => state.history = Default::default(),
            Action::Start(_) => {
                state.starts += 1;
                state.sweeping = Some(Instant::now());
            }
            Action::Stop(_) => {
                state.stops += 1;
                state.sweeping = None;
            }
            _ => {}
        }
        drop(state);
        done = board.step(server.order());
        while let Some(frame) = server.frame() {
            port.send(&frame);
        }
        due += Duration::from_millis(10);
        thread::sleep(due.saturating_duration_since(Instant::now()));
    }
}

/// Every parameter that may be written, at an end of its range.
pub fn all_at(end: impl Fn(&trunnion::declare::Rule) -> i32) -> Parameters {
    let mut set = Parameters::default();
    for rule in Parameters::RULES {
        // Constants are refused, and stay.
        let _ = set.stage(rule.id, end(rule));
    }
    set
}
