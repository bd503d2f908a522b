//! The fault log in flash: what was logged before this start, and what is to be written.
//!
//! The log is read at start, entry by entry, and written as a whole: within two seconds of rest after a fault came that has no
//! entry yet or an entry was cleared, and for faults that came again at most once in ten minutes. So a fault that
//! flickers all day writes six times an hour.
//!
//! A power cut before that loses the entry of that fault; one in the midst of it leaves the log old or new.

use trunnion::declare::ParameterSet;
use trunnion::fault::{FaultLog, LogEntry};
use trunnion::quantity::{Millis, Period};

use crate::server::{GuestEnd, Server};
use crate::work::{WorkKind, WorkReport};

/// Least time between two writes.
const GAP: Millis = Millis::from_ticks(2_000);
/// Least time between two writes when no fault is new.
const LONG_GAP: Millis = Millis::from_ticks(600_000);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum Phase {
    /// The place of the stored entry with this number is asked for.
    ReadingPlace(u8),
    /// The times of the fault in this place, which came so often.
    ReadingTimes {
        number: u8,
        place: u16,
        count: u8,
    },
    Watching,
    TellingTimes(u16),
    TellingCount(u16),
    Saving,
}

/// Keeps the log of `F` faults in flash, by ticket.
///
/// It holds what was logged up to the last write; the machine's own [`FaultLog`] holds what came since. Times go on
/// from the latest stored one, in periods: the time with the supply off is not counted.
#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct LogKeeper<const F: usize> {
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    stored: [LogEntry; F],
    /// What the times of the machine's own log are ahead of.
    base: u32,
    phase: Phase,
    /// The order of this phase stands.
    ordered: bool,
    /// The next place to look at.
    scan: u16,
    /// Something is to be written; a new fault among it.
    changed: bool,
    new: bool,
    /// Places whose stored entry differs from what the board was told.
    untold: [u32; 8],
    /// A write failed: everything is told anew.
    all: bool,
    since_write: u32,
    gap: u32,
    long_gap: u32,
}

impl<const F: usize> LogKeeper<F> {
    /// Begins by reading what is stored.
    pub fn new(period: Period) -> Self {
        let (gap, long_gap) = (period.steps(GAP), period.steps(LONG_GAP));
        Self {
            stored: [LogEntry { first: 0, last: 0, count: 0 }; F],
            base: 0,
            phase: Phase::ReadingPlace(0),
            ordered: false,
            scan: 0,
            changed: false,
            new: false,
            untold: [0; 8],
            all: false,
            since_write: gap,
            gap,
            long_gap,
        }
    }

    /// What was logged of a fault, before this start and since.
    pub fn entry(&self, log: &FaultLog<F>, place: u16) -> LogEntry {
        let stored = self.stored.get(usize::from(place)).copied().unwrap_or_default();
        let now = log.entry(place);
        if now.count == 0 {
            return stored;
        }
        let first = if stored.count > 0 { stored.first } else { now.first.saturating_add(self.base) };
        LogEntry {
            first,
            last: now.last.saturating_add(self.base),
            count: stored.count.saturating_add(now.count),
        }
    }

    /// Forgets a fault's history, in flash as well. One that is active stays so and is not counted again.
    pub fn clear(&mut self, log: &mut FaultLog<F>, place: u16) {
        if self.entry(log, place).count == 0 {
            return;
        }
        log.clear(place);
        if let Some(entry) = self.stored.get_mut(usize::from(place)) {
            *entry = LogEntry::default();
        }
        self.mark(place);
        self.changed = true;
        self.new = true;
    }

    /// One period, after the server's own step: orders at most one piece of work. Flash is written only while the
    /// machine rests.
    pub fn step<P: ParameterSet, const R: usize, const S: usize>(
        &mut self,
        log: &mut FaultLog<F>,
        at_rest: bool,
        server: &mut Server<P, R, S>,
    ) {
        self.since_write = self.since_write.saturating_add(1);
        if let Some(end) = server.take_guest_end() {
            self.ended(end);
        }
        if self.ordered {
            return;
        }
        if self.phase == Phase::Watching {
            self.watch(log, at_rest);
        } else if let Some((kind, place, item)) = self.wanted(log, at_rest) {
            self.ordered = server.order_as_guest(kind, place, item);
            // A clear that comes from now on marks it again.
            if let (true, Phase::TellingTimes(told)) = (self.ordered, self.phase) {
                self.unmark(told);
            }
        }
    }

    /// Seldom, as all but watching: kept out of the way of the period in which the board does nothing for the log.
    #[cold]
    #[inline(never)]
    fn ended(&mut self, end: GuestEnd) {
        self.ordered = false;
        match (end, self.phase) {
            (GuestEnd::Told(report, item), _) => self.told(report, item),
            (GuestEnd::Displaced, Phase::TellingTimes(place)) => self.mark(place),
            (GuestEnd::Displaced, _) => {}
        }
    }

    /// What the board is to do in this phase.
    #[cold]
    #[inline(never)]
    fn wanted(&mut self, log: &mut FaultLog<F>, at_rest: bool) -> Option<(WorkKind, u8, u64)> {
        match self.phase {
            Phase::ReadingPlace(number) => Some((WorkKind::ReadFault, number, 0)),
            Phase::ReadingTimes { number, .. } => Some((WorkKind::ReadFault, number, 1)),
            Phase::Watching => None,
            Phase::TellingTimes(place) => self.times(log, place),
            Phase::TellingCount(place) => Some((WorkKind::FaultCount, place as u8, self.count(place))),
            Phase::Saving => at_rest.then_some((WorkKind::SaveFaultLog, 0, 0)),
        }
    }

    /// Looks at one place a period; begins to write when it is time.
    fn watch(&mut self, log: &FaultLog<F>, at_rest: bool) {
        let place = self.scan;
        self.scan = if usize::from(place).saturating_add(1) < F { place.saturating_add(1) } else { 0 };
        if log.entry(place).count > 0 {
            self.changed = true;
            self.new |= self.stored.get(usize::from(place)).is_some_and(|stored| stored.count == 0);
        }
        let due = (self.new && self.since_write >= self.gap) || self.since_write >= self.long_gap;
        if self.changed && due && at_rest {
            self.changed = false;
            self.new = false;
            self.phase = Phase::TellingTimes(0);
        }
    }

    /// The times of a place that has changed, taken over into what is stored; the next place if it has not.
    fn times(&mut self, log: &mut FaultLog<F>, place: u16) -> Option<(WorkKind, u8, u64)> {
        if usize::from(place) >= F {
            self.phase = Phase::Saving;
            return None;
        }
        let entry = self.entry(log, place);
        if log.entry(place).count > 0 {
            log.clear(place);
            if let Some(stored) = self.stored.get_mut(usize::from(place)) {
                *stored = entry;
            }
            self.mark(place);
        }
        if !self.all && !self.is_marked(place) {
            self.phase = Phase::TellingTimes(place.saturating_add(1));
            return None;
        }
        Some((WorkKind::FaultTimes, place as u8, (u64::from(entry.first) << 32) | u64::from(entry.last)))
    }

    fn mark(&mut self, place: u16) {
        if let Some(word) = self.untold.get_mut(usize::from(place / 32)) {
            *word |= 1_u32.wrapping_shl(u32::from(place % 32));
        }
    }

    fn unmark(&mut self, place: u16) {
        if let Some(word) = self.untold.get_mut(usize::from(place / 32)) {
            *word &= !1_u32.wrapping_shl(u32::from(place % 32));
        }
    }

    fn is_marked(&self, place: u16) -> bool {
        let word = self.untold.get(usize::from(place / 32)).copied().unwrap_or(0);
        word & 1_u32.wrapping_shl(u32::from(place % 32)) != 0
    }

    fn count(&self, place: u16) -> u64 {
        self.stored.get(usize::from(place)).map_or(0, |entry| u64::from(entry.count))
    }

    /// The board's report on the order of this phase.
    fn told(&mut self, report: WorkReport, item: u64) {
        let done = report == WorkReport::Done;
        self.phase = match self.phase {
            Phase::ReadingPlace(number) if done => {
                Phase::ReadingTimes { number, place: (item >> 8) as u16, count: item as u8 }
            }
            Phase::ReadingTimes { number, place, count } if done => {
                self.restore(place, LogEntry { first: (item >> 32) as u32, last: item as u32, count });
                number.checked_add(1).map_or(Phase::Watching, Phase::ReadingPlace)
            }
            Phase::ReadingPlace(_) | Phase::ReadingTimes { .. } | Phase::Watching => Phase::Watching,
            Phase::TellingTimes(place) if done => Phase::TellingCount(place),
            Phase::TellingCount(place) if done => Phase::TellingTimes(place.saturating_add(1)),
            Phase::Saving if done => {
                self.all = false;
                self.since_write = 0;
                Phase::Watching
            }
            Phase::TellingTimes(_) | Phase::TellingCount(_) | Phase::Saving => {
                // Tried again, all of it, after the long time: a flash that fails is not worn out by trying.
                self.all = true;
                self.changed = true;
                self.since_write = 0;
                Phase::Watching
            }
        };
    }

    fn restore(&mut self, place: u16, entry: LogEntry) {
        if let Some(stored) = self.stored.get_mut(usize::from(place)) {
            *stored = entry;
            self.base = self.base.max(entry.last.saturating_add(1));
        }
    }
}

#[cfg(test)]
mod tests;
