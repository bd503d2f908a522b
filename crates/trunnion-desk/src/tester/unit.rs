//! Parameters, signals, faults and routines of a machine's controller by name.

use std::marker::PhantomData;
use std::time::{Duration, Instant};

use trunnion::declare::{Access, FaultSet, ParameterSet, Record, extend, place_of};
use trunnion::machine::Machine;
use trunnion_board::black_box::header::{HEADER_BYTES, Header};
use trunnion_service::access::CODE_BYTES;
use trunnion_service::faults::{code_of, place_of as fault_place};
use trunnion_service::identifier::{self, Signals};
use trunnion_service::level::Level;
use trunnion_service::routine::RoutineReport;
use trunnion_service::served::{Identification, Progress};
use trunnion_service::server::{ARM_BOX, COMMIT, DISCARD, FREEZE_BOX};

use super::conversation::Conversation;
use super::hold::Hold;
use super::key::Key;
use super::refusal::Refusal;
use super::settings::Setting;
use crate::bench::{GuidedMotion, MotionKind};

/// Identifiers in one request: the answer to so many fits the smallest controller's buffer.
const AT_ONCE: usize = 8;
/// Bytes of a black box in one answer, which the controller's buffer must hold with one byte more.
const BOX_BYTES_AT_ONCE: u32 = 224;
/// A motion's keep-alive; the controller's dead-man is 300 ms.
const KEEP_ALIVE: Duration = Duration::from_millis(100);

/// A controller of a known machine.
#[derive(Debug)]
pub struct Unit<M> {
    talk: Conversation,
    machine: PhantomData<M>,
}

/// A fault as the controller tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FaultState {
    /// Place in the declaration.
    pub place: u16,
    /// It is there now.
    pub active: bool,
    /// Periods since start when it first came.
    pub first: u32,
    /// Periods since start when it last came.
    pub last: u32,
    /// How often it came.
    pub count: u8,
}

/// How a motion ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MotionEnd {
    /// It ended by itself, well.
    Done(RoutineReport),
    /// The machine's own part ended it.
    Failed(RoutineReport),
    /// The hand let go.
    LetGo,
}

impl<M: Machine> Unit<M> {
    /// The controller that a conversation is with.
    pub const fn new(talk: Conversation) -> Self {
        Self { talk, machine: PhantomData }
    }

    /// The conversation.
    pub const fn conversation(&mut self) -> &mut Conversation {
        &mut self.talk
    }

    fn strange<T>(answer: &[u8]) -> Result<T, Refusal> {
        Err(Refusal::Strange { answer: answer.to_vec() })
    }

    /// Raw values of identifiers with their numbers of bytes; what the controller does not know is missing.
    fn read_raw(&mut self, wanted: &[(u16, u8)]) -> Result<Vec<(u16, i64)>, Refusal> {
        let mut read = Vec::new();
        for some in wanted.chunks(AT_ONCE) {
            let mut request = vec![0x22];
            request.extend(some.iter().flat_map(|(id, _)| id.to_be_bytes()));
            let answer = self.talk.ask(&request)?;
            let mut rest = answer.get(1..).unwrap_or_default();
            while let Some((id, behind)) = rest.split_first_chunk::<2>() {
                let id = u16::from_be_bytes(*id);
                let Some((_, bytes)) = some.iter().find(|(wanted, _)| *wanted == id) else {
                    return Self::strange(&answer);
                };
                let Some((value, behind)) = behind.split_at_checked(usize::from(*bytes)) else {
                    return Self::strange(&answer);
                };
                read.push((id, value.iter().fold(0_i64, |raw, byte| (raw << 8) | i64::from(*byte))));
                rest = behind;
            }
        }
        Ok(read)
    }

    /// All parameters that are in effect.
    ///
    /// # Errors
    /// What the conversation came to; a value that this program's declaration does not allow.
    pub fn parameters(&mut self) -> Result<M::Parameters, Refusal> {
        let wanted: Vec<(u16, u8)> =
            M::Parameters::RULES.iter().map(|rule| (rule.id, identifier::PARAMETER_BYTES)).collect();
        let mut set = M::Parameters::default();
        let read = self.read_raw(&wanted)?;
        for (id, raw) in &read {
            let raw = *raw as u32 as i32;
            // Constants cannot be staged; they are the program's own.
            let differs = set.read(*id) != Some(raw);
            if differs && set.stage(*id, raw).is_err() {
                return Err(Refusal::before(
                    format!("parameter 0x{id:04X} is {raw} there, which this program does not allow"),
                    "use the desk program of the same version as the controller's; see `unit who`",
                ));
            }
        }
        if read.len() < wanted.len() {
            return Err(Refusal::before(
                format!("the controller knows {} of {} parameters", read.len(), wanted.len()),
                "use the desk program of the same version as the controller's; see `unit who`",
            ));
        }
        Ok(set)
    }

    /// Raw values of diagnostic signals by place in the declaration.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn signals(&mut self, places: &[u16]) -> Result<Vec<(u16, i64)>, Refusal> {
        let fields = M::Diagnostics::FIELDS;
        let wanted: Vec<(u16, u8)> = places
            .iter()
            .filter_map(|place| {
                Some((
                    identifier::of_signal(Signals::Diagnostics, *place)?,
                    fields.get(usize::from(*place))?.bytes,
                ))
            })
            .collect();
        let read = self.read_raw(&wanted)?;
        let placed = read.into_iter().filter_map(|(id, raw)| {
            let (_, place) = identifier::signal_place(id)?;
            let field = fields.get(usize::from(place))?;
            Some((place, extend(raw, field.bytes, field.low < 0)))
        });
        Ok(placed.collect())
    }

    /// What the unit says of itself; empty where it says nothing.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn identification(&mut self, what: Identification) -> Result<String, Refusal> {
        let [high, low] = identifier::of_identification(what).to_be_bytes();
        match self.talk.ask(&[0x22, high, low]) {
            Ok(answer) => Ok(String::from_utf8_lossy(answer.get(3..).unwrap_or_default()).into_owned()),
            Err(refusal) if refusal.code() == Some(0x31) => Ok(String::new()),
            Err(refusal) => Err(refusal),
        }
    }

    /// The extended session, in which writing is possible.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn extended(&mut self) -> Result<(), Refusal> {
        self.talk.ask(&[0x10, 0x03]).map(drop)
    }

    /// Back to the default session: locked, nothing staged.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn leave(&mut self) -> Result<(), Refusal> {
        self.talk.ask(&[0x10, 0x01]).map(drop)
    }

    /// The extended session with a level unlocked.
    ///
    /// # Errors
    /// What the conversation came to: a wrong key, a lock-out, a unit without a key.
    pub fn unlock(&mut self, level: Level, key: &Key) -> Result<(), Refusal> {
        self.extended()?;
        let seed = match level {
            Level::Locked => return Ok(()),
            Level::Tune => 0x01,
            Level::Safety => 0x03,
        };
        let answer = self.talk.ask(&[0x27, seed])?;
        let challenge = answer.get(2..).and_then(|bytes| <[u8; CODE_BYTES]>::try_from(bytes).ok());
        let Some(challenge) = challenge else { return Self::strange(&answer) };
        if challenge == [0; CODE_BYTES] {
            return Ok(());
        }
        let mut request = vec![0x27, seed + 1];
        request.extend(key.code(level, &challenge));
        self.talk.ask(&request).map(drop)
    }

    /// Stages all settings and commits them as one: all take effect, or none does.
    ///
    /// # Errors
    /// What the conversation came to; what was staged is forgotten then.
    pub fn write(&mut self, settings: &[Setting]) -> Result<(), Refusal> {
        for setting in settings {
            if let Err(refusal) = self.stage(setting) {
                // The session's end forgets it anyway; an error here would hide the first one.
                let [high, low] = DISCARD.to_be_bytes();
                let _ = self.talk.ask(&[0x31, 0x01, high, low]);
                return Err(refusal);
            }
        }
        self.commit()
    }

    /// Commits what is staged: all of it takes effect, or nothing does.
    ///
    /// # Errors
    /// What the conversation came to: it needs a level, rest and neutral.
    pub fn commit(&mut self) -> Result<(), Refusal> {
        let [high, low] = COMMIT.to_be_bytes();
        self.talk.ask(&[0x31, 0x01, high, low]).map(drop)
    }

    /// How many staged values differ from those in effect.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn staged(&mut self) -> Result<u16, Refusal> {
        let [high, low] = COMMIT.to_be_bytes();
        let answer = self.talk.ask(&[0x31, 0x03, high, low])?;
        match answer.get(4..).and_then(|bytes| <[u8; 2]>::try_from(bytes).ok()) {
            Some(count) => Ok(u16::from_be_bytes(count)),
            None => Self::strange(&answer),
        }
    }

    /// Keeps the session alive; no answer is wanted.
    ///
    /// # Errors
    /// When the bus cannot be used.
    pub fn stay(&mut self) -> Result<(), Refusal> {
        self.talk.say(&[0x3E, 0x80])
    }

    fn stage(&mut self, setting: &Setting) -> Result<(), Refusal> {
        let rule = M::Parameters::RULES.get(usize::from(setting.place));
        let id = rule.map_or(0, |rule| rule.id);
        let mut request = vec![0x2E];
        request.extend(id.to_be_bytes());
        request.extend(setting.raw.to_be_bytes());
        self.talk.ask(&request).map(drop)
    }

    /// Every fault that is active or has a history.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn faults(&mut self) -> Result<Vec<FaultState>, Refusal> {
        let answer = self.talk.ask(&[0x19, 0x02, 0xFF])?;
        let mut faults = Vec::new();
        for record in answer.get(3..).unwrap_or_default().chunks_exact(4) {
            let &[a, b, c, status] = record else { continue };
            // A code that this program does not know belongs to another version; it is passed over as unknown.
            let Some(place) = fault_place::<M::Faults>([a, b, c]) else { continue };
            let history = self.talk.ask(&[0x19, 0x06, a, b, c, 0x01])?;
            let Some(&[f0, f1, f2, f3, l0, l1, l2, l3, count]) =
                history.get(7..).and_then(|bytes| bytes.first_chunk::<9>())
            else {
                return Self::strange(&history);
            };
            faults.push(FaultState {
                place,
                active: status & 0x01 != 0,
                first: u32::from_be_bytes([f0, f1, f2, f3]),
                last: u32::from_be_bytes([l0, l1, l2, l3]),
                count,
            });
        }
        Ok(faults)
    }

    /// Clears the history of one fault, or of all; what is active stays.
    ///
    /// # Errors
    /// What the conversation came to: it needs a level, rest and neutral.
    pub fn clear(&mut self, place: Option<u16>) -> Result<(), Refusal> {
        let rule = place.and_then(|place| M::Faults::RULES.get(usize::from(place)));
        let [a, b, c] = rule.map_or([0xFF; 3], code_of);
        self.talk.ask(&[0x14, a, b, c]).map(drop)
    }

    /// What the black box says of itself; it can be read from a machine at rest, when it has frozen.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn box_header(&mut self) -> Result<Header, Refusal> {
        let bytes = self.box_part(0, HEADER_BYTES as u32)?;
        Header::from_bytes(&bytes).or_else(|_| Self::strange(&bytes))
    }

    /// All bytes of the black box; `told` hears how many there are so far, and how many in all.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn read_box(&mut self, told: &mut dyn FnMut(u32, u32)) -> Result<Vec<u8>, Refusal> {
        let total = self.box_header()?.total_bytes();
        let mut bytes = Vec::new();
        let mut place = 0;
        while place < total {
            let length = BOX_BYTES_AT_ONCE.min(total - place);
            bytes.extend(self.box_part(place, length)?);
            place += length;
            told(place, total);
        }
        Ok(bytes)
    }

    /// Keeps what the black box recorded; needs a level.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn freeze_box(&mut self) -> Result<(), Refusal> {
        self.start_at_once(FREEZE_BOX)
    }

    /// Forgets what the black box recorded and lets it record anew; needs a level.
    ///
    /// # Errors
    /// What the conversation came to.
    pub fn arm_box(&mut self) -> Result<(), Refusal> {
        self.start_at_once(ARM_BOX)
    }

    fn start_at_once(&mut self, routine: u16) -> Result<(), Refusal> {
        let [high, low] = routine.to_be_bytes();
        self.talk.ask(&[0x31, 0x01, high, low]).map(drop)
    }

    fn box_part(&mut self, place: u32, length: u32) -> Result<Vec<u8>, Refusal> {
        // Four bytes of address, two of length (ISO 14229-1, addressAndLengthFormatIdentifier).
        let mut request = vec![0x23, 0x24];
        request.extend(place.to_be_bytes());
        request.extend((length as u16).to_be_bytes());
        let answer = self.talk.ask(&request)?;
        match answer.split_first() {
            Some((_, bytes)) if bytes.len() == length as usize => Ok(bytes.to_vec()),
            _ => Self::strange(&answer),
        }
    }

    /// Runs a motion while a hand holds it: the keep-alive goes out only as long, and letting go stops it at once.
    /// `value` is what an output is driven to; a routine takes none. `told` hears what a routine says, several times a
    /// second.
    ///
    /// # Errors
    /// What the conversation came to; the controller stops by itself when it hears nothing for 300 ms.
    pub fn hold_motion(
        &mut self,
        motion: &GuidedMotion,
        value: i32,
        hold: &mut dyn Hold,
        told: &mut dyn FnMut(&RoutineReport),
    ) -> Result<MotionEnd, Refusal> {
        let [high, low] = motion.id.to_be_bytes();
        let driven = || [&[0x2F, high, low, 0x03][..], &value.to_be_bytes()].concat();
        let (start, keep, stop) = match motion.kind {
            MotionKind::Routine => {
                (vec![0x31, 0x01, high, low], vec![0x31, 0x03, high, low], vec![0x31, 0x02, high, low])
            }
            MotionKind::Control => (driven(), driven(), vec![0x2F, high, low, 0x00]),
        };
        if !hold.is_held() {
            return Ok(MotionEnd::LetGo);
        }
        self.talk.ask(&start)?;
        loop {
            let until = Instant::now() + KEEP_ALIVE;
            while Instant::now() < until {
                if !hold.is_held() {
                    self.talk.ask(&stop)?;
                    return Ok(MotionEnd::LetGo);
                }
                self.talk.listen(Duration::from_millis(5))?;
            }
            let answer = self.talk.ask(&keep)?;
            if motion.kind == MotionKind::Control {
                continue;
            }
            let Some(report) = answer.get(4..).and_then(RoutineReport::from_bytes) else {
                return Self::strange(&answer);
            };
            told(&report);
            match report.progress {
                Progress::Done => return Ok(MotionEnd::Done(report)),
                Progress::Failed => return Ok(MotionEnd::Failed(report)),
                Progress::Idle | Progress::Running => {}
            }
        }
    }
}

/// The level that writing these settings needs.
///
/// # Errors
/// A constant among them cannot be written.
pub fn level_for<P: ParameterSet>(settings: &[Setting]) -> Result<Level, Refusal> {
    let mut level = Level::Locked;
    for setting in settings {
        let place = usize::from(setting.place);
        let Some((rule, info)) = P::RULES.get(place).zip(P::INFO.get(place)) else { continue };
        level = level.max(match rule.access {
            Access::Operator | Access::Tune => Level::Tune,
            Access::Safety => Level::Safety,
            Access::Constant => {
                return Err(Refusal::before(
                    format!("{} is fixed by the maker and cannot be written", info.name),
                    "take its line out of the file",
                ));
            }
        });
    }
    Ok(level)
}

/// The place of a parameter by identifier, for tools that were given a number.
pub fn parameter_place<P: ParameterSet>(id: u16) -> Option<u16> {
    place_of(P::RULES, id).and_then(|place| u16::try_from(place).ok())
}
