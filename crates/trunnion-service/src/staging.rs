//! Parameters on their way into effect: staged one by one, committed as a whole.

use trunnion::declare::{ParameterSet, Refusal};

use crate::level::Level;
use crate::negative::Negative;
use crate::served::Learnt;
use crate::work::{WorkDesk, WorkKind, WorkReport, parameter_item};

/// Where a commit stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum Phase {
    Idle,
    /// The parameter in this place is to be told to the board.
    Telling(u16),
    Saving,
    /// The set is in flash and waits to be taken.
    Saved,
}

/// What became of a commit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Committed {
    /// Still under way.
    UnderWay,
    /// In flash; to be put into effect.
    Saved,
    /// The flash did not take it: nothing has changed.
    Failed,
}

#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct Staging<P> {
    staged: Option<P>,
    phase: Phase,
}

impl<P: ParameterSet> Staging<P> {
    pub const fn new() -> Self {
        Self { staged: None, phase: Phase::Idle }
    }

    /// Takes one value into the staged set.
    pub fn write(&mut self, current: &P, level: Level, id: u16, raw: i32) -> Result<(), Negative> {
        let rule = P::RULES.iter().find(|rule| rule.id == id).ok_or(Negative::OutOfRange)?;
        if !level.may_write(rule.access) {
            return Err(Negative::AccessDenied);
        }
        let mut staged = self.staged.unwrap_or(*current);
        staged.stage(id, raw).map_err(|refusal| match refusal {
            Refusal::Constant { .. } => Negative::AccessDenied,
            _ => Negative::OutOfRange,
        })?;
        self.staged = Some(staged);
        Ok(())
    }

    /// Takes what a routine has learnt into the staged set: all of it, or nothing.
    pub fn learn(&mut self, current: &P, level: Level, learnt: &Learnt) -> Result<(), Negative> {
        let before = self.staged;
        for (id, raw) in learnt.iter().flatten() {
            if let Err(reason) = self.write(current, level, *id, *raw) {
                self.staged = before;
                return Err(reason);
            }
        }
        Ok(())
    }

    /// Forgets what was staged; a commit that writes already goes on.
    pub fn drop_staged(&mut self) {
        if self.phase == Phase::Idle {
            self.staged = None;
        }
    }

    /// How many values differ from those in effect.
    pub fn differing(&self, current: &P) -> u16 {
        let Some(staged) = &self.staged else { return 0 };
        (0..P::RULES.len() as u16).fold(0_u16, |differing, place| {
            differing.saturating_add(u16::from(staged.raw(place) != current.raw(place)))
        })
    }

    pub const fn staged(&self) -> Option<&P> {
        self.staged.as_ref()
    }

    /// Begins to write the staged set; false when nothing is staged.
    pub fn commit(&mut self, desk: &mut WorkDesk) -> bool {
        if self.staged.is_none() {
            return false;
        }
        // The board's copy may hold what an interrupted commit left there.
        desk.give(WorkKind::DropStaged, 0, 0);
        self.phase = Phase::Telling(0);
        true
    }

    /// One period of a commit, with the board's report if one came.
    pub fn step(&mut self, desk: &mut WorkDesk, report: Option<WorkReport>) -> Committed {
        let (Some(report), Some(staged)) = (report, &self.staged) else { return Committed::UnderWay };
        if report != WorkReport::Done {
            self.phase = Phase::Idle;
            self.staged = None;
            return Committed::Failed;
        }
        match self.phase {
            Phase::Idle | Phase::Saved => Committed::UnderWay,
            Phase::Saving => {
                self.phase = Phase::Saved;
                Committed::Saved
            }
            Phase::Telling(place) => {
                match P::RULES.get(usize::from(place)) {
                    Some(rule) => {
                        let item = parameter_item(rule.id, staged.raw(place));
                        desk.give(WorkKind::StageParameter, 0, item);
                        self.phase = Phase::Telling(place.saturating_add(1));
                    }
                    None => {
                        desk.give(WorkKind::SaveParameters, 0, 0);
                        self.phase = Phase::Saving;
                    }
                }
                Committed::UnderWay
            }
        }
    }

    /// The saved set, taken out.
    pub const fn take_saved(&mut self) -> Option<P> {
        if !matches!(self.phase, Phase::Saved) {
            return None;
        }
        self.phase = Phase::Idle;
        self.staged.take()
    }

    /// A saved set that nobody took is no staged one.
    pub fn forget_saved(&mut self) {
        if self.phase == Phase::Saved {
            self.take_saved();
        }
    }
}
