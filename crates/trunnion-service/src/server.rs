//! Requests in, answers out.

mod jobs;
mod requests;

use trunnion::declare::ParameterSet;
use trunnion::quantity::{Millis, Period};
use trunnion_can::frame::Frame;
use trunnion_can::iso_tp::{Link, LinkConfig, LinkConfigError};

use crate::access::{AccessBoot, AccessControl};
use crate::answer::Answer;
use crate::level::Level;
use crate::motion::{DeadMan, Running};
use crate::negative::Negative;
use crate::served::{Action, Progress, Served};
use crate::staging::Staging;
use crate::work::{WorkDesk, WorkDone, WorkKind, WorkOrder, WorkReport};

use self::jobs::Job;
pub use self::requests::{ARM_BOX, COMMIT, DISCARD, FREEZE_BOX};

/// Longest silence in the extended session, S3 (ISO 14229-2).
const SILENCE: Millis = Millis::from_ticks(5_000);
/// Longest time to the first answer, P2 (ISO 14229-2).
const FIRST_ANSWER: Millis = Millis::from_ticks(50);
/// Longest time between "pending" and the next answer, P2* (ISO 14229-2).
const NEXT_ANSWER: Millis = Millis::from_ticks(5_000);

/// The diagnostic session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Session {
    /// Reading.
    #[default]
    Default = 0x01,
    /// Writing, routines, output control.
    Extended = 0x03,
}

/// A diagnostic server: requests of up to `R` bytes, answers of up to `S`.
///
/// Once a period: `take` every frame of the port, `step` with the machine, then `frame` until it gives nothing more or
/// the frame queue of the board is full. The order in `order` goes to the board, its report comes back in the next
/// `step`. All calls take bounded time whatever comes: one request at a time is answered, and what comes before it is
/// answered is dropped.
#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Server<P: ParameterSet, const R: usize, const S: usize> {
    link: Link<R, S>,
    session: Session,
    /// Whose session it is: to others it is the default one.
    owner: u8,
    silent: u32,
    silence: u32,
    access: AccessControl,
    staging: Staging<P>,
    dead_man: DeadMan,
    pub(crate) desk: WorkDesk,
    job: Job,
    /// Periods since the request under way came, and the limit at which "pending" is due.
    waited: u32,
    pending_at: u32,
    period: Period,
    answer: Answer<S>,
    /// The answer is put together and waits for the link.
    ready: bool,
    first_of_step: bool,
    /// What must stop and was not told yet.
    owed: Option<Running>,
    /// Periods that the request in the link has waited behind an answer.
    held_up: u32,
    /// The number of a guest's order, while it stands.
    guest: Option<u8>,
    guest_end: Option<GuestEnd>,
}

/// What became of a guest's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub enum GuestEnd {
    /// The board's report, and what it gave.
    Told(WorkReport, u64),
    /// A request came first: order it again.
    Displaced,
}

impl<P: ParameterSet, const R: usize, const S: usize> Server<P, R, S> {
    /// Refuses what [`Link::new`] refuses. Starts locked, in the default session; a lock-out that the last run left
    /// goes on.
    pub fn new(config: LinkConfig, boot: AccessBoot, period: Period) -> Result<Self, LinkConfigError> {
        Ok(Self {
            link: Link::new(config, period)?,
            session: Session::Default,
            owner: 0,
            silent: 0,
            silence: period.steps(SILENCE),
            access: AccessControl::new(boot, period),
            staging: Staging::new(),
            dead_man: DeadMan::new(period),
            desk: WorkDesk::new(),
            job: Job::None,
            waited: 0,
            pending_at: 0,
            period,
            answer: Answer::new(),
            ready: false,
            first_of_step: true,
            owed: None,
            held_up: 0,
            guest: None,
            guest_end: None,
        })
    }

    /// Takes a new address as a whole or refuses it as a whole; a conversation under way is dropped, the session stays.
    pub fn reconfigure(&mut self, config: LinkConfig) -> Result<(), LinkConfigError> {
        self.link.reconfigure(config)
    }

    /// The session.
    pub const fn session(&self) -> Session {
        self.session
    }

    /// Whether this tester may clear the history of faults now, asked by another service such as DM11: as for
    /// ClearDiagnosticInformation, in its own session, at an unlocked level, with a quiet machine.
    pub fn may_clear<M: Served<Parameters = P>>(&self, served: &M, tester: u8) -> Result<(), Negative> {
        if !self.is_extended_for(tester) || self.level() < Level::Tune {
            return Err(Negative::AccessDenied);
        }
        if served.standing().is_quiet() { Ok(()) } else { Err(Negative::ConditionsNotCorrect) }
    }

    /// The extended session belongs to the tester who opened it.
    fn is_extended_for(&self, tester: u8) -> bool {
        self.session == Session::Extended && self.owner == tester
    }

    /// The level that is unlocked.
    pub const fn level(&self) -> Level {
        self.access.unlocked()
    }

    /// The order for the board.
    pub const fn order(&self) -> WorkOrder {
        self.desk.order()
    }

    /// Orders work that no request asked for, while nothing else is ordered; false when it has to wait. A request that
    /// needs the board comes first and displaces it.
    pub fn order_as_guest(&mut self, kind: WorkKind, place: u8, item: u64) -> bool {
        let free =
            self.job == Job::None && self.guest.is_none() && self.desk.order().kind == WorkKind::Nothing;
        if free {
            self.desk.give(kind, place, item);
            self.guest = Some(self.desk.order().number);
        }
        free
    }

    /// What became of the guest's order, once.
    pub const fn take_guest_end(&mut self) -> Option<GuestEnd> {
        self.guest_end.take()
    }

    /// Takes a frame of the port; frames that are not for us change nothing.
    pub fn take(&mut self, frame: &Frame) {
        self.link.take(frame);
    }

    /// The set of [`Action::Commit`], once, until the next step begins.
    pub const fn take_committed(&mut self) -> Option<P> {
        self.staging.take_saved()
    }

    /// One period: what the machine is to do now.
    pub fn step<M: Served<Parameters = P>>(&mut self, served: &M, done: WorkDone, entropy: u32) -> Action {
        self.first_of_step = true;
        self.staging.forget_saved();
        self.access.step(entropy);
        let report = self.desk.step(done);
        let report = self.guest_step(report, done.item);
        let mut action = if self.job == Job::None { Action::None } else { self.job_step(report) };
        self.routine_step(served);
        if let Some(running) = self.silence_step() {
            self.owed = Some(running);
        }
        // One action a period: what must stop comes before what is asked, and waits a period for what is in flash.
        if action == Action::None {
            action = match self.owed.take() {
                Some(running) => stop(running),
                None if self.job == Job::None => self.request_step(served),
                None => Action::None,
            };
        }
        self.send_ready();
        action
    }

    /// A frame to send; call it until it gives nothing, or as often as the board has room.
    pub fn frame(&mut self) -> Option<Frame> {
        if self.first_of_step {
            self.first_of_step = false;
            return self.link.step();
        }
        self.link.more()
    }

    /// Keeps a report on a guest's order from the job.
    fn guest_step(&mut self, report: Option<WorkReport>, item: u64) -> Option<WorkReport> {
        let Some(number) = self.guest else { return report };
        if self.desk.order().number != number {
            self.guest = None;
            self.guest_end = Some(GuestEnd::Displaced);
            return report;
        }
        if let Some(report) = report {
            self.guest = None;
            self.guest_end = Some(GuestEnd::Told(report, item));
        }
        None
    }

    /// A routine that has ended by itself needs no hand any more; what it has learnt is staged first.
    fn routine_step<M: Served<Parameters = P>>(&mut self, served: &M) {
        if let Some(Running::Routine(id)) = self.dead_man.running()
            // A set that is on its way into flash does not change.
            && self.job == Job::None
        {
            self.follow_routine(served, id);
        }
    }

    /// Seldom: kept out of the way of the period in which no routine runs.
    #[cold]
    #[inline(never)]
    fn follow_routine<M: Served<Parameters = P>>(&mut self, served: &M, id: u16) {
        match served.routine(id).progress {
            Progress::Running => return,
            Progress::Done => {
                // The machine promises values in range at this level; one that breaks that leaves nothing staged.
                let _ = self.staging.learn(served.parameters(), self.level(), &served.learnt(id));
            }
            Progress::Idle | Progress::Failed => {}
        }
        self.dead_man.end();
    }

    /// Counts the tester's silence; what must stop because of it.
    fn silence_step(&mut self) -> Option<Running> {
        if self.job == Job::None {
            self.silent = self.silent.saturating_add(1);
            if self.session != Session::Default && self.silent > self.silence {
                return self.leave_session();
            }
        }
        self.dead_man.step()
    }

    /// Back to the default session: locked, nothing staged, nothing moving.
    fn leave_session(&mut self) -> Option<Running> {
        self.session = Session::Default;
        self.access.lock();
        self.staging.drop_staged();
        self.dead_man.end()
    }

    fn refuse(&mut self, service: u8, reason: Negative) {
        self.answer.refuse(service, reason);
        self.ready = true;
    }

    /// Hands the answer to the link as soon as that is free.
    fn send_ready(&mut self) {
        if self.ready && !self.link.answering() {
            self.hand_over();
        }
    }

    /// Seldom: kept out of the way of the period in which nothing is said.
    #[cold]
    #[inline(never)]
    fn hand_over(&mut self) {
        let sent = match self.answer.finish() {
            Ok(bytes) => self.link.answer(bytes).is_ok(),
            Err(reason) => {
                let service =
                    self.link.request().and_then(|request| request.bytes.first().copied()).unwrap_or(0);
                self.link.answer(&[0x7F, service, reason as u8]).is_ok()
            }
        };
        if sent || !self.link.answering() {
            self.ready = false;
            self.held_up = 0;
            self.link.release();
        }
    }
}

/// What ends a motion.
fn stop(running: Running) -> Action {
    match running {
        Running::Routine(id) => Action::Stop(id),
        Running::Control(id) => Action::Release(id),
    }
}

#[cfg(test)]
mod tests;
