use trunnion::machine::Machine;

use super::stories::{Chase, pick, within};
use super::story::Act;
use super::territory::Places;
use crate::run::Plant;

/// What somebody does at a tick.
pub(super) struct Hand<'a> {
    pub(super) places: &'a Places,
    pub(super) period: f64,
    pub(super) now: u32,
}

impl Hand<'_> {
    /// What a leg's genes mean, and what the run has to remember of it.
    pub(super) fn acts<M: Machine, P: Plant<M>>(
        &self,
        run: &mut Chase<M, P>,
        what: f64,
        which: f64,
        value: f64,
        time: f64,
    ) -> Vec<(u32, Act)> {
        let levers = &self.places.levers;
        match what {
            ..0.34 => {
                let lever = levers[pick(which, levers.len())];
                let ticks = if time < 0.4 { 0 } else { self.ticks(20.0 * (time - 0.4) / 0.6 * 0.05) };
                self.moves::<M, P>(run, lever, self.travel::<M, P>(lever, value), ticks)
            }
            ..0.42 => self.release::<M, P>(run, if time < 0.5 { 0 } else { self.ticks(0.3) }),
            ..0.54 => {
                let one = levers[pick(which, levers.len())];
                let other = levers[pick(which * levers.len() as f64 % 1.0, levers.len())];
                let mut acts = self.moves::<M, P>(run, one, self.travel::<M, P>(one, value), 0);
                acts.extend(self.moves::<M, P>(run, other, self.travel::<M, P>(other, time), 0));
                acts
            }
            ..0.66 => {
                self.press(self.places.buttons[pick(which, self.places.buttons.len())], 0.1 + 0.3 * time)
            }
            ..0.74 => self.anew::<M, P>(run),
            ..0.90 => self.throw::<M, P>(run, which, value, time),
            _ => self.fail::<M, P>(run, which, value, time),
        }
    }

    fn ticks(&self, seconds: f64) -> u32 {
        libm::round(seconds / self.period).max(0.0) as u32
    }

    /// From 20 ms to 2 s, short times as likely as long ones.
    fn while_of(&self, gene: f64) -> u32 {
        self.ticks(0.02 * libm::pow(100.0, gene)).max(1)
    }

    /// A place in the lever's range, in twentieths of it, the ends more often than any other.
    fn travel<M: Machine, P: Plant<M>>(&self, place: usize, gene: f64) -> f64 {
        let (low, high) = P::ACTIONS.get(place).map_or((0.0, 0.0), |info| (info.low, info.high));
        let share = ((gene * 1.3 - 0.15).max(0.0).min(1.0) * 40.0).round() / 40.0;
        low + share * (high - low)
    }

    fn moves<M: Machine, P: Plant<M>>(
        &self,
        run: &mut Chase<M, P>,
        place: usize,
        value: f64,
        ticks: u32,
    ) -> Vec<(u32, Act)> {
        if let Some(asked) = run.asked.get_mut(place) {
            *asked = value;
        }
        vec![(self.now, Act::Move { place, value, ticks })]
    }

    /// Lets go of all levers.
    fn release<M: Machine, P: Plant<M>>(&self, run: &mut Chase<M, P>, ticks: u32) -> Vec<(u32, Act)> {
        let mut acts = Vec::new();
        for lever in &self.places.levers {
            let rest = P::ACTIONS.get(*lever).map_or(0.0, |info| info.rest);
            if run.asked.get(*lever).is_some_and(|asked| *asked != rest) {
                acts.extend(self.moves(run, *lever, rest, ticks));
            }
        }
        acts
    }

    fn press(&self, place: usize, seconds: f64) -> Vec<(u32, Act)> {
        let at = |tick, value| (tick, Act::Move { place, value, ticks: 0 });
        vec![at(self.now, 1.0), at(self.now + self.ticks(seconds).max(1), 0.0)]
    }

    /// Levers let go of, everything as in the opening, then the button that starts anew.
    fn anew<M: Machine, P: Plant<M>>(&self, run: &mut Chase<M, P>) -> Vec<(u32, Act)> {
        let mut acts = self.release::<M, P>(run, 0);
        let dials = self.places.dials.iter().map(|(place, _)| *place);
        for place in self.places.switches.iter().copied().chain(dials) {
            let home = run.opened.get(place).copied().unwrap_or(0.0);
            if run.asked.get(place).is_some_and(|asked| *asked != home) {
                acts.extend(self.moves(run, place, home, 0));
            }
        }
        let button = self.places.buttons[0];
        acts.push((self.now + self.ticks(0.3), Act::Move { place: button, value: 1.0, ticks: 0 }));
        acts.push((self.now + self.ticks(0.5), Act::Move { place: button, value: 0.0, ticks: 0 }));
        acts
    }

    /// A switch or a dial, for a while or for good.
    fn throw<M: Machine, P: Plant<M>>(
        &self,
        run: &mut Chase<M, P>,
        which: f64,
        value: f64,
        time: f64,
    ) -> Vec<(u32, Act)> {
        let (switches, dials) = (&self.places.switches, &self.places.dials);
        let count = switches.len() + dials.len();
        if count == 0 {
            return Vec::new();
        }
        let drawn = pick(which, count);
        let (place, to) = match (switches.get(drawn), dials.get(drawn.saturating_sub(switches.len()))) {
            (Some(place), _) => {
                let choices = P::ACTIONS.get(*place).map_or(1, |info| info.choices.len());
                let before = run.asked.get(*place).copied().unwrap_or(0.0) as usize;
                // Any position but the present one.
                let other = (before + 1 + pick(value, choices.saturating_sub(1))) % choices.max(1);
                (*place, other as f64)
            }
            (None, Some((place, range))) => (*place, within(value, range)),
            (None, None) => return Vec::new(),
        };
        let before = run.asked.get(place).copied().unwrap_or(0.0);
        let for_good = time > 0.65;
        let mut acts = self.moves(run, place, to, 0);
        if !for_good {
            let back = self.now + self.while_of(time / 0.65);
            acts.push((back, Act::Move { place, value: before, ticks: 0 }));
            if let Some(asked) = run.asked.get_mut(place) {
                *asked = before;
            }
        }
        acts
    }

    /// A break, for a while or for good; none while the same signal is broken.
    fn fail<M: Machine, P: Plant<M>>(
        &self,
        run: &mut Chase<M, P>,
        which: f64,
        value: f64,
        time: f64,
    ) -> Vec<(u32, Act)> {
        if self.places.breaks.is_empty() {
            return Vec::new();
        }
        let place = self.places.breaks[pick(which, self.places.breaks.len())];
        let Some(until) = run.broken_until.get_mut(place).filter(|until| **until <= self.now) else {
            return Vec::new();
        };
        let ways = P::BREAKS.get(place).map_or(0, |info| info.failures.len());
        let Ok(signal) = u16::try_from(place) else { return Vec::new() };
        let mut acts = vec![(self.now, Act::Break { place: signal, way: pick(value, ways) })];
        if time > 0.6 {
            *until = u32::MAX;
        } else {
            let mended = self.now + self.while_of(time / 0.6);
            *until = mended + 1;
            acts.push((mended, Act::Mend { place: signal }));
        }
        acts
    }
}
