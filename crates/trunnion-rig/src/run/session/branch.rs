//! What is done to a session that branched off another one.

use trunnion::declare::Failure;
use trunnion::machine::Machine;

use super::{EventRecord, Plant, Session};

impl<M: Machine, P: Plant<M>> Session<M, P> {
    /// Breaks a signal, by its place in [`Plant::BREAKS`], before the next tick: before what the scenario does then. The
    /// result is what a scenario gives that breaks it first thing at that time. A place or a way that the plant does not
    /// name is refused with `false`, and nothing changes.
    pub fn break_next(&mut self, place: u16, failure: Failure) -> bool {
        let Some(info) = P::BREAKS.get(usize::from(place)) else { return false };
        if !info.failures.contains(&failure) {
            return false;
        }
        self.plant.break_signal(place, failure);
        self.note(format!("break {}: {}", info.signal, failure.name()));
        true
    }

    /// Mends all that is broken about a signal, likewise; `false` for a place that the plant does not name.
    pub fn mend_next(&mut self, place: u16) -> bool {
        let Some(info) = P::BREAKS.get(usize::from(place)) else { return false };
        self.plant.mend(place);
        self.note(format!("mend {}", info.signal));
        true
    }

    fn note(&mut self, text: String) {
        let at = f64::from(self.tick) * f64::from(M::PERIOD.micros()) / 1e6;
        self.events.push(EventRecord { at, text });
    }
}
