//! What each service does.

use trunnion::declare::{ParameterSet, place_of as parameter_place};

use super::jobs::{Code, Job};
use super::{FIRST_ANSWER, Server, Session, stop};
use crate::access::CODE_BYTES;
use crate::faults;
use crate::identifier::{ACTIVE_SESSION, identification};
use crate::level::Level;
use crate::motion::Running;
use crate::negative::Negative;
use crate::served::{Action, BoxOrder, Motion, Needs, Served};
use crate::work::WorkKind;

/// Puts the staged parameters into flash and into effect.
pub const COMMIT: u16 = 0x0201;
/// Forgets the staged parameters.
pub const DISCARD: u16 = 0x0202;
/// Keeps what the black box holds.
pub const FREEZE_BOX: u16 = 0x0203;
/// Lets the black box forget what it holds and record anew.
pub const ARM_BOX: u16 = 0x0204;
/// Most identifiers in one read request.
const MOST_READS: usize = 16;
/// In a sub-function: a positive answer is not wanted (ISO 14229-1).
const SUPPRESS: u8 = 0x80;
/// The services that have a sub-function.
const WITH_SUB_FUNCTION: [u8; 6] = [0x10, 0x11, 0x19, 0x27, 0x31, 0x3E];

/// What a request came to.
enum Outcome {
    /// The answer is put together.
    Answered(Action),
    /// The answer needs the board.
    Begun(Job),
    /// The answer needs the machine, and the job is begun.
    Acting(Action),
}

impl<P: ParameterSet, const R: usize, const S: usize> Server<P, R, S> {
    /// Answers the request that is there, if the last answer is out.
    pub(super) fn request_step<M: Served<Parameters = P>>(&mut self, served: &M) -> Action {
        if self.ready || self.link.answering() {
            if self.link.request().is_some() {
                self.held_up = self.held_up.saturating_add(1);
            }
            return Action::None;
        }
        // What was said so long ago is no hand on a dead-man, and moves nothing.
        let stale = self.held_up > self.period.steps(FIRST_ANSWER);
        self.held_up = 0;
        if self.link.request().is_none() {
            return Action::None;
        }
        self.answer_request(served, stale)
    }

    /// Seldom: kept out of the way of the period in which nothing is asked.
    #[cold]
    #[inline(never)]
    fn answer_request<M: Served<Parameters = P>>(&mut self, served: &M, stale: bool) -> Action {
        let Some(request) = self.link.request() else { return Action::None };
        let mut bytes = [0; R];
        let (tester, to_all) = (request.tester, request.to_all);
        let length = request.bytes.len();
        let Some(room) = bytes.get_mut(..length) else { return Action::None };
        for (place, byte) in room.iter_mut().zip(request.bytes) {
            *place = *byte;
        }
        let Some((service, asked)) = bytes.get_mut(..length).and_then(|bytes| bytes.split_first_mut()) else {
            return Action::None;
        };
        let mut suppressed = false;
        if let Some(sub) = asked.first_mut().filter(|_| WITH_SUB_FUNCTION.contains(service)) {
            suppressed = *sub & SUPPRESS != 0;
            *sub &= !SUPPRESS;
        }
        if self.is_extended_for(tester) {
            self.silent = 0;
        }
        if !stale {
            self.dead_man.heard(tester);
        }
        if stale && moves(*service, asked) {
            self.refuse(*service, Negative::ConditionsNotCorrect);
            return Action::None;
        }
        match self.serve(served, tester, *service, asked) {
            Ok(Outcome::Answered(action)) => {
                self.ready = !suppressed;
                if suppressed {
                    self.link.release();
                }
                action
            }
            Ok(Outcome::Acting(action)) => action,
            Ok(Outcome::Begun(job)) => {
                self.begin_job(job);
                Action::None
            }
            Err(reason) if to_all && reason.is_kept_from_all() => {
                self.link.release();
                Action::None
            }
            Err(reason) => {
                self.refuse(*service, reason);
                Action::None
            }
        }
    }

    fn serve<M: Served<Parameters = P>>(
        &mut self,
        served: &M,
        tester: u8,
        service: u8,
        asked: &[u8],
    ) -> Result<Outcome, Negative> {
        // What another tester's session moves may be stopped by anyone.
        let stops = matches!((service, asked), (0x31, [0x02, ..]) | (0x2F, [_, _, 0x00]));
        let extended = self.is_extended_for(tester) || (stops && self.session == Session::Extended);
        match service {
            0x10 => self.change_session(tester, asked),
            0x22 => self.read(served, asked),
            0x19 => {
                faults::read(served, asked, &mut self.answer)?;
                Ok(Outcome::Answered(Action::None))
            }
            0x23 if M::BLACK_BOX => self.read_box(served, asked),
            0x3E => self.tester_present(asked),
            0x11 | 0x14 | 0x27 | 0x2E | 0x2F | 0x31 if !extended => Err(Negative::ServiceNotInSession),
            0x27 => self.security_access(asked),
            0x2E => self.write(served, asked),
            0x14 => self.clear_faults(served, asked),
            0x31 => self.routine(served, tester, asked),
            0x2F => self.control(served, tester, asked),
            0x11 => self.reset_controller(served, asked),
            _ => Err(Negative::ServiceNotSupported),
        }
    }

    fn change_session(&mut self, tester: u8, asked: &[u8]) -> Result<Outcome, Negative> {
        let [sub] = *asked else { return Err(Negative::IncorrectLength) };
        let session = match sub {
            0x01 => Session::Default,
            0x03 => Session::Extended,
            _ => return Err(Negative::SubFunctionNotSupported),
        };
        if session == Session::Extended && self.session == Session::Extended && self.owner != tester {
            return Err(Negative::ConditionsNotCorrect);
        }
        // Any change of session locks, drops and stops (ISO 14229-1).
        let action = self.leave_session().map_or(Action::None, stop);
        self.session = session;
        self.owner = tester;
        self.silent = 0;
        // P2 50 ms, P2* 5000 ms in tens of milliseconds (ISO 14229-2).
        self.answer.begin(0x10).put(&[session as u8, 0x00, 0x32, 0x01, 0xF4]);
        Ok(Outcome::Answered(action))
    }

    fn tester_present(&mut self, asked: &[u8]) -> Result<Outcome, Negative> {
        match *asked {
            [0x00] => {
                self.answer.begin(0x3E).put(&[0x00]);
                Ok(Outcome::Answered(Action::None))
            }
            [_] => Err(Negative::SubFunctionNotSupported),
            _ => Err(Negative::IncorrectLength),
        }
    }

    fn read<M: Served<Parameters = P>>(&mut self, served: &M, asked: &[u8]) -> Result<Outcome, Negative> {
        if asked.is_empty() || !asked.len().is_multiple_of(2) || asked.len() > MOST_READS * 2 {
            return Err(Negative::IncorrectLength);
        }
        self.answer.begin(0x22);
        let mut found = false;
        for pair in asked.chunks_exact(2) {
            let &[high, low] = pair else { continue };
            found |= self.read_one(served, u16::from_be_bytes([high, low]));
        }
        if found { Ok(Outcome::Answered(Action::None)) } else { Err(Negative::OutOfRange) }
    }

    /// Adds one identifier and its value to the answer; unknown ones are left out (ISO 14229-1).
    fn read_one<M: Served<Parameters = P>>(&mut self, served: &M, id: u16) -> bool {
        if let Some(raw) = served.parameters().read(id) {
            self.answer.put(&id.to_be_bytes()).put(&raw.to_be_bytes());
        } else if let Some(reading) = served.signal(id) {
            self.answer.put(&id.to_be_bytes()).put_raw(reading.bytes, reading.raw);
        } else if id == ACTIVE_SESSION {
            self.answer.put(&id.to_be_bytes()).put(&[self.session as u8]);
        } else if let Some(what) = identification(id) {
            self.answer.put(&id.to_be_bytes()).put(served.identification(what));
        } else {
            return false;
        }
        true
    }

    /// The black box as memory, from byte 0: ISO 14229-1, ReadMemoryByAddress. Reading it takes the controller longer
    /// than a period of driving has room for, so the machine is quiet.
    fn read_box<M: Served<Parameters = P>>(&mut self, served: &M, asked: &[u8]) -> Result<Outcome, Negative> {
        let (format, numbers) = asked.split_first().ok_or(Negative::IncorrectLength)?;
        let (of_place, of_length) = (usize::from(format & 0xF), usize::from(format >> 4));
        if !(1..=4).contains(&of_place) || !(1..=4).contains(&of_length) {
            return Err(Negative::OutOfRange);
        }
        if numbers.len() != of_place.saturating_add(of_length) {
            return Err(Negative::IncorrectLength);
        }
        let (place, length) = numbers.split_at_checked(of_place).ok_or(Negative::IncorrectLength)?;
        let number = |bytes: &[u8]| bytes.iter().fold(0_u32, |number, byte| (number << 8) | u32::from(*byte));
        let length = u16::try_from(number(length)).map_err(|_| Negative::OutOfRange)?;
        if length == 0 || usize::from(length) >= S {
            return Err(Negative::OutOfRange);
        }
        self.quiet_machine(served)?;
        self.begin_job(Job::Box);
        Ok(Outcome::Acting(Action::Box(BoxOrder::Read { place: number(place), length })))
    }

    /// What goes on is kept at any time; what is kept is forgotten as a fault's history is, on a quiet machine only.
    fn freeze_or_arm<M: Served<Parameters = P>>(
        &mut self,
        served: &M,
        sub: u8,
        id: u16,
    ) -> Result<Outcome, Negative> {
        if sub != 0x01 {
            return Err(Negative::SubFunctionNotSupported);
        }
        self.unlocked(Level::Tune)?;
        let order = if id == FREEZE_BOX {
            BoxOrder::Freeze
        } else {
            self.quiet_machine(served)?;
            BoxOrder::Arm
        };
        let [high, low] = id.to_be_bytes();
        self.answer.begin(0x31).put(&[sub, high, low]);
        Ok(Outcome::Answered(Action::Box(order)))
    }

    fn security_access(&mut self, asked: &[u8]) -> Result<Outcome, Negative> {
        let Some((sub, code)) = asked.split_first() else { return Err(Negative::IncorrectLength) };
        if let Some(level) = Level::of_seed(*sub) {
            if !code.is_empty() {
                return Err(Negative::IncorrectLength);
            }
            if self.access.is_locked_out() {
                return Err(Negative::DelayNotOver);
            }
            let seed = self.access.seed(level);
            self.answer.begin(0x27).put(&[*sub]).put(&seed);
            return Ok(Outcome::Answered(Action::None));
        }
        let level = Level::of_seed(sub.wrapping_sub(1)).ok_or(Negative::SubFunctionNotSupported)?;
        let code = <[u8; CODE_BYTES]>::try_from(code).map_err(|_| Negative::IncorrectLength)?;
        if self.access.is_locked_out() {
            return Err(Negative::DelayNotOver);
        }
        let challenge = self.access.use_challenge(level).ok_or(Negative::SequenceError)?;
        let attempts = self.access.count_attempt();
        self.desk.give(WorkKind::SaveAttempts, 0, u64::from(attempts));
        Ok(Outcome::Begun(Job::Code(Code::new(level, challenge, code))))
    }

    fn write<M: Served<Parameters = P>>(&mut self, served: &M, asked: &[u8]) -> Result<Outcome, Negative> {
        let &[high, low, a, b, c, d] = asked else {
            let known = asked.first_chunk::<2>().map(|id| u16::from_be_bytes(*id));
            let known = known.is_some_and(|id| parameter_place(P::RULES, id).is_some());
            return Err(if known || asked.len() < 3 {
                Negative::IncorrectLength
            } else {
                Negative::OutOfRange
            });
        };
        let id = u16::from_be_bytes([high, low]);
        if parameter_place(P::RULES, id).is_none() {
            return Err(Negative::OutOfRange);
        }
        self.quiet_machine(served)?;
        let raw = i32::from_be_bytes([a, b, c, d]);
        self.staging.write(served.parameters(), self.access.unlocked(), id, raw)?;
        self.answer.begin(0x2E).put(&[high, low]);
        Ok(Outcome::Answered(Action::None))
    }

    fn clear_faults<M: Served<Parameters = P>>(
        &mut self,
        served: &M,
        asked: &[u8],
    ) -> Result<Outcome, Negative> {
        let group = <[u8; 3]>::try_from(asked).map_err(|_| Negative::IncorrectLength)?;
        let place = if group == [0xFF; 3] {
            None
        } else {
            Some(faults::place_of::<M::Faults>(group).ok_or(Negative::OutOfRange)?)
        };
        self.unlocked(Level::Tune)?;
        self.quiet_machine(served)?;
        self.answer.begin(0x14);
        Ok(Outcome::Answered(Action::ClearFaults(place)))
    }

    fn routine<M: Served<Parameters = P>>(
        &mut self,
        served: &M,
        tester: u8,
        asked: &[u8],
    ) -> Result<Outcome, Negative> {
        let &[sub, high, low] = asked else { return Err(Negative::IncorrectLength) };
        let id = u16::from_be_bytes([high, low]);
        if id == COMMIT || id == DISCARD {
            return self.commit_or_discard(served, sub, id);
        }
        if M::BLACK_BOX && (id == FREEZE_BOX || id == ARM_BOX) {
            return self.freeze_or_arm(served, sub, id);
        }
        let motion = find(M::ROUTINES, id)?;
        let running = self.dead_man.running() == Some(Running::Routine(id));
        let action = match sub {
            0x01 => {
                self.may_move(served, motion)?;
                self.dead_man.begin(tester, Running::Routine(id));
                Action::Start(id)
            }
            0x02 if running => self.dead_man.end().map_or(Action::None, stop),
            0x02 => return Err(Negative::SequenceError),
            0x03 => Action::None,
            _ => return Err(Negative::SubFunctionNotSupported),
        };
        self.answer.begin(0x31).put(&[sub, high, low]).put(&served.routine(id).to_bytes());
        Ok(Outcome::Answered(action))
    }

    fn commit_or_discard<M: Served<Parameters = P>>(
        &mut self,
        served: &M,
        sub: u8,
        id: u16,
    ) -> Result<Outcome, Negative> {
        let [high, low] = id.to_be_bytes();
        match (sub, id) {
            (0x01, COMMIT) => {
                self.unlocked(Level::Tune)?;
                self.quiet_machine(served)?;
                // What moves, or may still learn something, ends first.
                if self.dead_man.running().is_some() {
                    return Err(Negative::ConditionsNotCorrect);
                }
                let staged = self.staging.staged().ok_or(Negative::SequenceError)?;
                // Values that are in range one by one may contradict each other.
                served.check(staged).map_err(|_| Negative::OutOfRange)?;
                if !self.staging.commit(&mut self.desk) {
                    return Err(Negative::SequenceError);
                }
                Ok(Outcome::Begun(Job::Commit))
            }
            (0x01, _) => {
                self.staging.drop_staged();
                self.answer.begin(0x31).put(&[sub, high, low]);
                Ok(Outcome::Answered(Action::None))
            }
            (0x03, _) => {
                let differing = self.staging.differing(served.parameters());
                self.answer.begin(0x31).put(&[sub, high, low]).put(&differing.to_be_bytes());
                Ok(Outcome::Answered(Action::None))
            }
            _ => Err(Negative::SubFunctionNotSupported),
        }
    }

    fn control<M: Served<Parameters = P>>(
        &mut self,
        served: &M,
        tester: u8,
        asked: &[u8],
    ) -> Result<Outcome, Negative> {
        let Some((&[high, low, parameter], value)) = asked.split_first_chunk::<3>() else {
            return Err(Negative::IncorrectLength);
        };
        let id = u16::from_be_bytes([high, low]);
        let motion = find(M::CONTROLS, id)?;
        let action = match (parameter, value) {
            (0x03, &[a, b, c, d]) => {
                if !self.dead_man.is_driven_by(tester, Running::Control(id)) {
                    self.may_move(served, motion)?;
                }
                self.dead_man.begin(tester, Running::Control(id));
                Action::Control { id, value: i32::from_be_bytes([a, b, c, d]) }
            }
            (0x00, []) => {
                let ours = self.dead_man.running() == Some(Running::Control(id));
                if ours { self.dead_man.end().map_or(Action::None, stop) } else { Action::None }
            }
            (0x00 | 0x03, _) => return Err(Negative::IncorrectLength),
            _ => return Err(Negative::OutOfRange),
        };
        self.answer.begin(0x2F).put(&[high, low, parameter]).put(value);
        Ok(Outcome::Answered(action))
    }

    fn reset_controller<M: Served<Parameters = P>>(
        &mut self,
        served: &M,
        asked: &[u8],
    ) -> Result<Outcome, Negative> {
        match *asked {
            [0x01] => {}
            [_] => return Err(Negative::SubFunctionNotSupported),
            _ => return Err(Negative::IncorrectLength),
        }
        self.unlocked(Level::Tune)?;
        self.quiet_machine(served)?;
        self.answer.begin(0x11).put(&[0x01]);
        self.begin_job(Job::Reset);
        Ok(Outcome::Answered(Action::None))
    }

    fn unlocked(&self, level: Level) -> Result<(), Negative> {
        if self.access.unlocked() >= level { Ok(()) } else { Err(Negative::AccessDenied) }
    }

    fn quiet_machine(&self, served: &impl Served) -> Result<(), Negative> {
        if served.standing().is_quiet() { Ok(()) } else { Err(Negative::ConditionsNotCorrect) }
    }

    /// One motion at a time, at its level, in its standing.
    fn may_move(&self, served: &impl Served, motion: &Motion) -> Result<(), Negative> {
        self.unlocked(motion.level)?;
        self.quiet_machine(served)?;
        let standing = served.standing();
        let as_needed = match motion.needs {
            Needs::Quiet => true,
            Needs::Permitted => standing.permitted,
            Needs::Withheld => standing.withheld,
        };
        if as_needed && self.dead_man.running().is_none() {
            Ok(())
        } else {
            Err(Negative::ConditionsNotCorrect)
        }
    }
}

/// Whether a request starts a routine or drives an output.
fn moves(service: u8, asked: &[u8]) -> bool {
    let routine = !matches!(asked, [_, high, low, ..] if [COMMIT, DISCARD].contains(&u16::from_be_bytes([*high, *low])));
    matches!((service, asked), (0x31, [0x01, ..]) if routine)
        || matches!((service, asked), (0x2F, [_, _, 0x03, ..]))
}

fn find(motions: &'static [Motion], id: u16) -> Result<&'static Motion, Negative> {
    motions.iter().find(|motion| motion.id == id).ok_or(Negative::OutOfRange)
}
