//! What is done to a session that branched off another one.

use trunnion::machine::Machine;

use super::{EventRecord, Plant, Session};
use crate::run::Way;

/// Something that is done to a session at the beginning of its next tick.
#[derive(Debug, Clone, Copy)]
pub(super) enum Deed {
    Break(u16, Way),
    Mend(u16),
}

impl<M: Machine, P: Plant<M>> Session<M, P> {
    /// Breaks a signal, by its place in [`Plant::BREAKS`], at the beginning of the next tick: before what the scenario does
    /// then. The result is what a scenario gives that breaks it first thing at that time. A place or a way that the plant
    /// does not name is refused with `false`, and nothing changes.
    pub fn break_next(&mut self, place: u16, way: impl Into<Way>) -> bool {
        let way = way.into();
        let known =
            P::BREAKS.get(usize::from(place)).is_some_and(|info| info.ways().any(|known| known == way));
        if known {
            self.deeds.push(Deed::Break(place, way));
        }
        known
    }

    /// Mends all that is broken about a signal, likewise; `false` for a place that the plant does not name.
    pub fn mend_next(&mut self, place: u16) -> bool {
        let known = usize::from(place) < P::BREAKS.len();
        if known {
            self.deeds.push(Deed::Mend(place));
        }
        known
    }

    /// Keeps from now on how the plant moves, for branches off this tick that are to [follow](Self::follow).
    pub fn lead(&mut self) {
        self.plant.lead();
    }

    /// Follows a branch that has led since this tick: it costs less, and the values are the same. Branches of this session follow,
    /// too.
    pub fn follow(&mut self, leader: &mut Self) {
        self.plant.follow(&mut leader.plant);
    }

    /// A restart that a deed of the last tick asked for comes before the deeds of this one, as in a scenario.
    pub(super) fn do_deeds(&mut self) {
        for deed in std::mem::take(&mut self.deeds) {
            let signal = |place: u16| P::BREAKS.get(usize::from(place)).map_or("", |info| info.signal);
            let text = match deed {
                Deed::Break(place, way) => {
                    self.plant.break_signal(place, way);
                    format!("break {}: {}", signal(place), way.name())
                }
                Deed::Mend(place) => {
                    self.plant.mend(place);
                    format!("mend {}", signal(place))
                }
            };
            let at = f64::from(self.tick) * f64::from(M::PERIOD.micros()) / 1e6;
            self.events.push(EventRecord { at, text });
        }
    }
}
