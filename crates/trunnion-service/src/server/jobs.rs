//! Requests whose answer needs the board: they go on over several periods.

use trunnion::declare::ParameterSet;

use super::{FIRST_ANSWER, NEXT_ANSWER, Server};
use crate::access::CODE_BYTES;
use crate::level::Level;
use crate::negative::Negative;
use crate::served::Action;
use crate::staging::Committed;
use crate::work::{WorkKind, WorkReport};

/// What is under way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) enum Job {
    None,
    /// The staged set is on its way into flash.
    Commit,
    /// A code is being checked.
    Code(Code),
    /// The right code's clean slate is being stored.
    ForgetAttempts(Level),
    /// A restart is ordered once its answer is out.
    Reset,
    /// The black box is being read.
    Box,
}

/// A code on its way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct Code {
    pub level: Level,
    /// Challenge, then code.
    pub words: [u64; 4],
    /// The next word to tell the board.
    pub next: u8,
}

/// Two words, high byte first.
fn words(bytes: [u8; CODE_BYTES]) -> [u64; 2] {
    let all = u128::from_be_bytes(bytes);
    [(all >> 64) as u64, all as u64]
}

impl Code {
    pub fn new(level: Level, challenge: [u8; CODE_BYTES], code: [u8; CODE_BYTES]) -> Self {
        let [c0, c1] = words(challenge);
        let [k0, k1] = words(code);
        Self { level, words: [c0, c1, k0, k1], next: 0 }
    }
}

impl<P: ParameterSet, const R: usize, const S: usize> Server<P, R, S> {
    /// One period of the job under way, with the board's report if one came. Seldom: kept out of the way of the period
    /// in which nothing is asked.
    #[cold]
    #[inline(never)]
    pub(super) fn job_step(&mut self, report: Option<WorkReport>) -> Action {
        match self.job {
            Job::None => return Action::None,
            Job::Box => {}
            Job::Commit => match self.staging.step(&mut self.desk, report) {
                Committed::UnderWay => {}
                Committed::Failed => self.end_job(0x31, Err(Negative::ProgrammingFailure)),
                Committed::Saved => {
                    self.answer.begin(0x31).put(&[0x01, 0x02, 0x01]);
                    self.end_job(0x31, Ok(()));
                    return Action::Commit;
                }
            },
            Job::Code(code) => self.code_step(code, report),
            Job::ForgetAttempts(level) => match report {
                None => {}
                Some(WorkReport::Done) => {
                    self.access.open(level);
                    self.answer.begin(0x27).put(&[level.key_request()]);
                    self.end_job(0x27, Ok(()));
                }
                Some(_) => self.end_job(0x27, Err(Negative::ProgrammingFailure)),
            },
            Job::Reset => {
                if report.is_some() {
                    self.job = Job::None;
                } else if !self.ready && !self.link.answering() && self.desk.order().kind == WorkKind::Nothing
                {
                    self.desk.give(WorkKind::Reset, 0, 0);
                }
                return Action::None;
            }
        }
        self.tell_pending();
        Action::None
    }

    fn code_step(&mut self, mut code: Code, report: Option<WorkReport>) {
        let Some(report) = report else { return };
        match (code.next, report) {
            // Attempt and words go one after the other; the attempt is in flash before anything is compared.
            (0..=3, WorkReport::Done) => {
                let word = code.words.get(usize::from(code.next)).copied().unwrap_or(0);
                self.desk.give(WorkKind::CodeWord, code.next, word);
                code.next = code.next.saturating_add(1);
                self.job = Job::Code(code);
            }
            (4, WorkReport::Done) => {
                let place = if code.level == Level::Safety { 2 } else { 1 };
                self.desk.give(WorkKind::CheckCode, place, 0);
                code.next = 5;
                self.job = Job::Code(code);
            }
            (5, WorkReport::Done) => {
                self.desk.give(WorkKind::SaveAttempts, 0, 0);
                self.job = Job::ForgetAttempts(code.level);
            }
            (5, WorkReport::Refused) => {
                let locked_out = self.access.fail();
                let reason = if locked_out { Negative::TooManyAttempts } else { Negative::InvalidKey };
                self.end_job(0x27, Err(reason));
            }
            // No key in this unit, or the flash failed: nothing opens.
            _ => {
                self.access.fail();
                self.end_job(0x27, Err(Negative::ConditionsNotCorrect));
            }
        }
    }

    /// What the black box gives to the read under way, or why it gives nothing; to be told before the next step.
    pub fn answer_box(&mut self, bytes: Result<&[u8], Negative>) {
        if self.job != Job::Box {
            return;
        }
        let outcome = bytes.map(|bytes| {
            self.answer.begin(0x23).put(bytes);
        });
        self.end_job(0x23, outcome);
    }

    pub(super) fn begin_job(&mut self, job: Job) {
        self.job = job;
        self.waited = 0;
        // One period early: the frame goes out at the end of this one.
        self.pending_at = self.period.steps(FIRST_ANSWER).saturating_sub(1);
    }

    fn end_job(&mut self, service: u8, outcome: Result<(), Negative>) {
        self.job = Job::None;
        self.silent = 0;
        match outcome {
            Ok(()) => self.ready = true,
            Err(reason) => self.refuse(service, reason),
        }
    }

    /// Says "pending" before the tester gives up.
    fn tell_pending(&mut self) {
        if self.job == Job::None {
            return;
        }
        self.waited = self.waited.saturating_add(1);
        if self.waited < self.pending_at || self.link.answering() {
            return;
        }
        self.waited = 0;
        self.pending_at = self.period.steps(NEXT_ANSWER) / 2;
        let service = match self.job {
            Job::Commit | Job::None | Job::Reset => 0x31,
            Job::Code(_) | Job::ForgetAttempts(_) => 0x27,
            Job::Box => 0x23,
        };
        // The request stays with the link, so the answer goes to who asked.
        let _ = self.link.answer(&[0x7F, service, Negative::Pending as u8]);
    }
}
