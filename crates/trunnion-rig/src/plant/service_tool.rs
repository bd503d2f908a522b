//! A tester on the bus: opens a session, unlocks, begins a routine, and keeps it going until it falls silent.

use trunnion::quantity::{Millis, Period};
use trunnion_can::frame::Frame;
use trunnion_can::id::Id29;
use trunnion_can::iso_tp::{Addressing, Link, LinkConfig};
use trunnion_service::access::CODE_BYTES;
use trunnion_service::access_code::{KEY_BYTES, access_code};
use trunnion_service::served::Progress;

/// Address of an off-board tool (SAE J1939-73).
const ADDRESS: u8 = 0xF9;
/// How often a tester that holds a routine says so.
const KEEP_ALIVE_MS: u32 = 100;
/// How long it waits for an answer before it begins anew.
const PATIENCE_MS: u32 = 1_000;
const FIRST_LEVEL: u8 = 1;
/// What a routine says that has ended well.
const DONE: u8 = Progress::Done as u8;

/// Where the conversation stands: what was asked last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Asked {
    Nothing,
    Session,
    Seed,
    Code,
    Start,
    Progress,
    Commit,
}

/// The tester. It speaks only while it is wanted to drive something.
#[derive(Debug, Clone)]
pub struct ServiceTool {
    link: Link<300, 300>,
    key: [u8; KEY_BYTES],
    routine: Option<u16>,
    /// Commits what the routine learns.
    commits: bool,
    asked: Asked,
    waited_ms: u32,
    /// The controller's last answer was a refusal: the code that it gave.
    refused: Option<u8>,
}

impl ServiceTool {
    /// A tester that has the unit's key and talks to the controller at this address. `None` for 254 and 255.
    pub fn new(controller: u8, key: [u8; KEY_BYTES], period: Period) -> Option<Self> {
        let config = LinkConfig {
            addressing: Addressing::Fixed { address: ADDRESS },
            block: 0,
            separation: Millis::from_ticks(0),
            fill: 0xCC,
        };
        let mut link = Link::new(config, period).ok()?;
        // A link answers whoever spoke to it last: so it learns the controller's address, and nobody hears it.
        let raw = 0x18DA_0000 | (u32::from(ADDRESS) << 8) | u32::from(controller);
        link.take(&Frame::group(Id29::from_raw(raw)?, [1, 0, 0, 0, 0, 0, 0, 0]));
        link.answer(&[0x3E, 0x80]).ok()?;
        link.step()?;
        link.release();
        Some(Self {
            link,
            key,
            routine: None,
            commits: false,
            asked: Asked::Nothing,
            waited_ms: 0,
            refused: None,
        })
    }

    /// Begins a routine and keeps it going; `None` falls silent, as a tester does whose cable is pulled.
    pub const fn hold(&mut self, routine: Option<u16>) {
        self.routine = routine;
        self.commits = false;
        if routine.is_none() {
            self.asked = Asked::Nothing;
        }
    }

    /// The same, and commits what it has learnt once it is done, as soon as the machine takes it.
    pub const fn learn(&mut self, routine: u16) {
        self.hold(Some(routine));
        self.commits = true;
    }

    /// The refusal that came last, if any.
    pub const fn refused(&self) -> Option<u8> {
        self.refused
    }

    /// A frame of the bus.
    pub fn take(&mut self, frame: &Frame) {
        self.link.take(frame);
    }

    /// So many milliseconds later: what it sends.
    pub fn step(&mut self, millis: u32) -> Vec<Frame> {
        let answer = self.link.request().map(|answer| answer.bytes.to_vec());
        if let Some(answer) = answer {
            self.link.release();
            self.answered(&answer);
        }
        let mut frames = Vec::new();
        if self.routine.is_none() {
            // Silent, even in the midst of a message.
            while self.link.more().is_some() {}
            return frames;
        }
        self.waited_ms = self.waited_ms.saturating_add(millis);
        let due = match self.asked {
            Asked::Nothing => true,
            Asked::Progress | Asked::Commit => self.waited_ms >= KEEP_ALIVE_MS,
            _ => self.waited_ms >= PATIENCE_MS,
        };
        if due {
            let again = match self.asked {
                kept @ (Asked::Progress | Asked::Commit) => kept,
                _ => Asked::Session,
            };
            self.ask(again, &[]);
        }
        frames.extend(self.link.step());
        while let Some(frame) = self.link.more() {
            frames.push(frame);
        }
        frames
    }

    fn ask(&mut self, what: Asked, code: &[u8]) {
        let [high, low] = self.routine.unwrap_or(0).to_be_bytes();
        let request = match what {
            Asked::Nothing => return,
            Asked::Session => vec![0x10, 0x03],
            Asked::Seed => vec![0x27, 2 * FIRST_LEVEL - 1],
            Asked::Code => [&[0x27, 2 * FIRST_LEVEL], code].concat(),
            Asked::Start => vec![0x31, 0x01, high, low],
            Asked::Progress => vec![0x31, 0x03, high, low],
            Asked::Commit => vec![0x31, 0x01, 0x02, 0x01],
        };
        // Refused only while the last one is still going out: then it is asked again later.
        let _ = self.link.answer(&request);
        self.asked = what;
        self.waited_ms = 0;
    }

    fn answered(&mut self, answer: &[u8]) {
        match (self.asked, answer) {
            (_, [0x7F, _, 0x78]) => self.waited_ms = 0,
            (_, [0x7F, _, reason]) => {
                self.refused = Some(*reason);
                if self.asked == Asked::Commit {
                    // The machine still moves: it is asked again.
                    return;
                }
                // It is tried again from the beginning, with patience.
                self.asked = Asked::Session;
            }
            (Asked::Session, [0x50, ..]) => self.ask(Asked::Seed, &[]),
            (Asked::Seed, [0x67, _, seed @ ..]) => match <[u8; CODE_BYTES]>::try_from(seed) {
                // Open already.
                Ok(seed) if seed == [0; CODE_BYTES] => self.ask(Asked::Start, &[]),
                Ok(seed) => {
                    let code = access_code(&self.key, &seed, FIRST_LEVEL).unwrap_or_default();
                    self.ask(Asked::Code, &code);
                }
                Err(_) => self.asked = Asked::Nothing,
            },
            (Asked::Code, [0x67, ..]) => self.ask(Asked::Start, &[]),
            (Asked::Start, [0x71, ..]) => self.ask(Asked::Progress, &[]),
            (Asked::Progress, [0x71, _, _, _, DONE, ..]) if self.commits => {
                self.commits = false;
                self.ask(Asked::Commit, &[]);
            }
            (Asked::Commit, [0x71, ..]) => self.asked = Asked::Progress,
            _ => {}
        }
    }
}
