//! A log of the real machine's bus, played to the control program of this build, and what it answers beside what the real
//! controller sent.
//!
//! The bus tells what other units and tools sent, and what the controller sent. It does not tell what the wires brought:
//! a story does that, on the simulated machine, whose own bus units are silent. The log is played from the controller's start on:
//! what state it was in at any other time nobody can know.

mod clock;
mod decoded;
mod demands;
mod heard;
mod scope;
mod streams;

use std::collections::{BTreeMap, VecDeque};

use thiserror::Error;
use trunnion::machine::{Boot, Machine};
use trunnion_can::frame::Frame;
use trunnion_rig::language::Complaints;
use trunnion_rig::run::{OnTheBus, Plant, Rig, Session};
use trunnion_rig::scenario::Scenario;

use crate::bench::Bench;
use crate::gateway::log::{LogLine, Logged};

pub use decoded::{Decoded, fields, message};
pub use demands::{Demands, LONGEST_DRIVE};
pub use scope::{Unknown, Wires};
pub use streams::{Difference, SentFrame};

use clock::Clock;
use heard::Own;
use streams::Streams;

type BenchRig<B> = Rig<<B as Bench>::Machine, <B as Bench>::Plant>;
type BenchSession<B> = Session<<B as Bench>::Machine, <B as Bench>::Plant>;

/// Periods in which a controller that starts claims its address.
const CLAIMS_WITHIN: u32 = 500;
/// How long an answer may take that waits for the board, µs: the longest that a tester waits once it was told "pending"
/// (P2* of ISO 14229-2).
const PATIENCE: i64 = 5_000_000;
/// Periods about a difference of which the state is kept.
const KEPT: usize = 1_024;

/// What is asked.
#[derive(Debug, Clone)]
pub struct Question<'a> {
    /// The log, in the order of time, of one bus.
    pub lines: &'a [LogLine],
    /// What the wires bring, and the parameters.
    pub scenario: &'a Scenario,
    /// Whether that is told or assumed.
    pub wires: Wires,
    /// Periods by which a frame may be earlier or later.
    pub tolerance: u32,
    /// Groups that are not compared.
    pub left_out: Vec<u32>,
    /// The unit's serial number; taken from its NAME when it is not said.
    pub serial: Option<u32>,
}

/// Why there is nothing to compare.
#[derive(Debug, Error)]
pub enum NoReplay {
    /// The story makes no sense for this machine.
    #[error("the story cannot be played")]
    Story(Complaints),
    /// The machine's plant has no bus.
    #[error("this machine has no bus to play a log to")]
    NoBus,
    /// The simulated controller did not claim an address: it cannot be told which frames are its own.
    #[error(
        "with this story and these parameters the controller does not start on the bus within {CLAIMS_WITHIN} periods"
    )]
    Silent,
    /// Nothing in the log is from the controller's address.
    #[error("the log has no frame of the controller, address 0x{address:02X}; it has frames of {}", listed(.heard))]
    NotHeard {
        /// The address that it should have.
        address: u8,
        /// Those that are in the log.
        heard: Vec<u8>,
    },
    /// The controller ran before the log began.
    #[error(
        "the log does not hold the start of the controller, address 0x{address:02X}: no claim of its address that it was not asked for"
    )]
    NoStart {
        /// Its address.
        address: u8,
    },
    /// Longer than a drive may be.
    #[error(
        "from the controller's start on the log lasts {seconds:.0} s; a drive lasts {LONGEST_DRIVE} s at most"
    )]
    TooLong {
        /// How long it is.
        seconds: f64,
    },
}

fn listed(addresses: &[u8]) -> String {
    match addresses {
        [] => "nobody".to_owned(),
        all => all.iter().map(|address| format!("0x{address:02X}")).collect::<Vec<_>>().join(", "),
    }
}

/// What a replay came to.
#[derive(Debug, Clone)]
pub struct Replayed {
    /// The controller's address at its start.
    pub address: u8,
    /// Serial number that it was given.
    pub serial: u32,
    /// Line of the log with the claim of its start.
    pub start_line: usize,
    /// End of its first period on the log's clock, µs.
    pub start_micros: i64,
    /// Frames before its start, which it did not hear.
    pub before: usize,
    /// Frames that it was given.
    pub given: usize,
    /// Frames that the real controller sent.
    pub sent: usize,
    /// Periods that were replayed.
    pub periods: i64,
    /// Frames of both that were compared.
    pub compared: u64,
    /// Frames of which something was not, by reason.
    pub unknown: BTreeMap<Unknown, u64>,
    /// The first difference, and the state of the replayed controller then.
    pub difference: Option<(Difference, Option<State>)>,
}

/// The replayed controller in one period: a row of its trace, in the order of [`Rig::columns`].
#[derive(Debug, Clone)]
pub struct State {
    /// Period since its start, from 0.
    pub period: i64,
    /// The row.
    pub row: Vec<f64>,
}

/// Plays a log. `each` is told the period that was done and how many there are.
///
/// # Errors
/// [`NoReplay`]: there is nothing to compare.
pub fn replay<B: Bench>(
    rig: &BenchRig<B>,
    question: &Question<'_>,
    each: &mut dyn FnMut(u32, u32),
) -> Result<Replayed, NoReplay> {
    let (wanted, claims_in) = first_claim::<B>(rig, question.scenario, question.serial)?;
    let Some((place, own)) = heard::start(question.lines, wanted) else {
        return Err(not_started(question.lines, wanted.address));
    };
    let (before, lines) = question.lines.split_at(place);
    let is_sent = heard::sent(lines, own);
    let sent: Vec<u64> =
        lines.iter().zip(&is_sent).filter(|(_, sent)| **sent).map(|(line, _)| line.logged.micros).collect();
    let clock = Clock::new(B::Machine::PERIOD.micros(), &sent, claims_in);
    let first = clock.end_of(-1);
    // What came in while the controller made its first period is before its claim in the log.
    let early: Vec<&LogLine> = before.iter().filter(|line| signed(line.logged.micros) > first).collect();
    let serial = question.serial.unwrap_or(heard::identity(own.name));
    let mut told = Replayed {
        address: own.address,
        serial,
        start_line: lines.first().map_or(0, |line| line.number),
        start_micros: clock.end_of(0),
        before: before.len() - early.len(),
        given: early.len() + lines.len() - sent.len(),
        sent: sent.len(),
        periods: 0,
        compared: 0,
        unknown: BTreeMap::new(),
        difference: None,
    };
    let mut player = Player::<B> {
        session: silent_session::<B>(rig, question.scenario, serial)?,
        clock,
        heard: early.into_iter().map(|line| (line, false)).chain(lines.iter().zip(is_sent)).collect(),
        verdicts: lines
            .iter()
            .filter_map(|line| Some((signed(line.logged.micros), scope::verdict(&line.logged.frame)?)))
            .collect(),
        streams: Streams::new(
            question.wires,
            question.tolerance.into(),
            PATIENCE / i64::from(B::Machine::PERIOD.micros()).max(1),
            question.left_out.clone(),
        ),
        kept: VecDeque::new(),
        tolerance: question.tolerance.into(),
    };
    let end = lines.last().map_or(0, |line| signed(line.logged.micros));
    told.difference = player.play(end, each);
    (told.periods, told.compared) =
        (player.kept.back().map_or(0, |state| state.period + 1), player.streams.compared);
    told.unknown = player.streams.unknown;
    Ok(told)
}

fn signed(micros: u64) -> i64 {
    i64::try_from(micros).unwrap_or(i64::MAX / 4)
}

fn not_started(lines: &[LogLine], address: u8) -> NoReplay {
    let mut heard: Vec<u8> =
        lines.iter().filter_map(|line| Some(line.logged.frame.id29()?.source())).collect();
    heard.sort_unstable();
    heard.dedup();
    if heard.contains(&address) {
        NoReplay::NoStart { address }
    } else {
        NoReplay::NotHeard { address, heard }
    }
}

/// A session that hears only a log.
fn silent_session<B: Bench>(
    rig: &BenchRig<B>,
    scenario: &Scenario,
    serial: u32,
) -> Result<BenchSession<B>, NoReplay> {
    let mut session = rig.start_endless(scenario).map_err(NoReplay::Story)?.with_serial(serial);
    let bus = session.plant_mut().bus().ok_or(NoReplay::NoBus)?;
    bus.listen();
    bus.play_back(serial);
    Ok(session)
}

/// Who this program is on an empty bus, and the period in which it says so.
fn first_claim<B: Bench>(
    rig: &BenchRig<B>,
    scenario: &Scenario,
    serial: Option<u32>,
) -> Result<(Own, i64), NoReplay> {
    let serial = serial.unwrap_or(Boot::<<B::Machine as Machine>::Parameters>::default().serial);
    let mut session = silent_session::<B>(rig, scenario, serial)?;
    for period in 0..CLAIMS_WITHIN {
        session.step();
        let sent = session.plant_mut().bus().map(OnTheBus::traffic).unwrap_or_default();
        if let Some(own) = sent.iter().find_map(heard::claim) {
            // What the step of a period sends is on the bus in the next one.
            return Ok((own, i64::from(period) - 1));
        }
    }
    Err(NoReplay::Silent)
}

struct Player<'a, B: Bench> {
    session: BenchSession<B>,
    clock: Clock,
    /// What is still to be heard, and whether the controller sent it.
    heard: VecDeque<(&'a LogLine, bool)>,
    /// When the log says that a code was right or wrong.
    verdicts: VecDeque<(i64, bool)>,
    streams: Streams,
    kept: VecDeque<State>,
    tolerance: i64,
}

impl<B: Bench> Player<'_, B> {
    fn play(&mut self, end: i64, each: &mut dyn FnMut(u32, u32)) -> Option<(Difference, Option<State>)> {
        let period = i64::from(B::Machine::PERIOD.micros()).max(1);
        let last = (end - self.clock.end_of(0)) / period;
        let all = u32::try_from(last.max(0)).unwrap_or(u32::MAX);
        let mut first: Option<Difference> = None;
        for number in 0.. {
            self.period(number);
            each(u32::try_from(number).unwrap_or(u32::MAX), all);
            // Frames of this period's step come with the next one.
            let (pairs, found) = self.streams.compare(number - 1, last);
            pairs.into_iter().for_each(|(micros, period)| self.clock.heard(signed(micros), period));
            if let Some(found) = found
                && first.as_ref().is_none_or(|first| found.period < first.period)
            {
                first = Some(found);
            }
            let decided = first.as_ref().is_some_and(|first| number - first.period > 2 * self.tolerance + 2);
            let over = self.heard.is_empty() && number > last + self.tolerance + 2;
            if decided || over {
                break;
            }
        }
        first.map(|first| {
            let state = self.kept.iter().find(|state| state.period == first.period).cloned();
            (first, state)
        })
    }

    /// What was on the bus until the end of a period comes in with its step.
    fn period(&mut self, number: i64) {
        let end = self.clock.end_of(number);
        while let Some((line, is_sent)) = self.heard.front().copied()
            && signed(line.logged.micros) <= end
        {
            self.heard.pop_front();
            let Logged { micros, frame } = line.logged;
            if is_sent {
                // The step of the period before sent it.
                let line = Some(line.number);
                self.streams.take(SentFrame { period: number - 1, frame, micros: Some(micros), line });
            } else if let Some(bus) = self.session.plant_mut().bus() {
                bus.bring(&frame);
            }
        }
        while self.verdicts.front().is_some_and(|(at, _)| *at <= end) {
            self.verdicts.pop_front();
        }
        let next = self.verdicts.front().map(|(_, right)| *right);
        if let Some(bus) = self.session.plant_mut().bus() {
            bus.believe_codes(next);
        }
        let row = self.session.step().map(|tick| tick.row.to_vec()).unwrap_or_default();
        let frames: Vec<Frame> = self.session.plant_mut().bus().map(OnTheBus::traffic).unwrap_or_default();
        for frame in frames {
            self.streams.take(SentFrame { period: number - 1, frame, micros: None, line: None });
        }
        self.kept.push_back(State { period: number, row });
        if self.kept.len() > KEPT {
            self.kept.pop_front();
        }
    }
}

/// A story as a log has it: every frame with the time of its period, as `serve --record` writes it.
///
/// # Errors
/// The story makes no sense for this machine. A machine without a bus gives an empty log.
pub fn recorded<B: Bench>(rig: &BenchRig<B>, scenario: &Scenario) -> Result<Vec<Logged>, Complaints> {
    let mut session = rig.start(scenario)?;
    if let Some(bus) = session.plant_mut().bus() {
        bus.listen();
    }
    let mut log = Vec::new();
    for period in 0_u64.. {
        if session.step().is_none() {
            break;
        }
        let micros = period * u64::from(B::Machine::PERIOD.micros());
        let frames = session.plant_mut().bus().map(OnTheBus::traffic).unwrap_or_default();
        log.extend(frames.into_iter().map(|frame| Logged { micros, frame }));
    }
    Ok(log)
}
