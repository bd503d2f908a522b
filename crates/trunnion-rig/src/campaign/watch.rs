//! What is seen of a cell, tick by tick.

use super::eyes::Eyes;
use super::measured::{LEVER_HELD, MOVED_AFTER_MENDING, Measured, PAIR, UNPERMITTED};
use super::state::{LET_GO_AFTER_MS, MEND_AFTER_MS};
use super::walker::{Walker, Way, beyond};

/// A machine without permission may settle by so much.
const SETTLING_M: f64 = 0.1;
/// From the mending on it may still be coming to rest.
const COMING_TO_REST_MS: u32 = 500;

/// What the sound machine does at a tick.
#[derive(Debug, Clone, Default)]
pub(super) struct Sound {
    pub(super) way: Way,
    pub(super) permitted: Vec<bool>,
    pub(super) why_not: Vec<f64>,
}

pub(super) struct Watch {
    pub(super) measured: Measured,
    walker: Walker,
    active: Vec<bool>,
    permitted: Vec<bool>,
    /// Since when a group has no permission.
    without: Vec<Option<u32>>,
    /// Where the machine was when a group lost what the sound machine keeps.
    lost_at: Vec<Option<Way>>,
    rest: Option<f64>,
    mend_at: u32,
    let_go_at: u32,
}

impl Watch {
    pub(super) fn new(eyes: &Eyes, row: &[f64]) -> Self {
        Self {
            measured: Measured::default(),
            walker: Walker::new(eyes, row),
            active: eyes.faults.iter().map(|(_, place)| row[*place] != 0.0).collect(),
            permitted: eyes.groups.iter().map(|group| group.permitted(row)).collect(),
            without: vec![None; eyes.groups.len()],
            lost_at: vec![None; eyes.groups.len()],
            rest: None,
            mend_at: eyes.ticks(MEND_AFTER_MS),
            let_go_at: eyes.ticks(LET_GO_AFTER_MS),
        }
    }

    /// Sees the row of a tick, counted from the break.
    pub(super) fn see(&mut self, eyes: &Eyes, tick: u32, row: &[f64], sound: &Sound) {
        let millis = eyes.millis(tick + 1);
        self.faults(eyes, millis, row);
        let way = self.walker.step(eyes, row).clone();
        self.permissions(eyes, tick, row, sound, &way);
        if eyes.pairs.iter().any(|(one, other)| row[*one] != 0.0 && row[*other] != 0.0) {
            self.note(PAIR);
        }
        if tick < self.mend_at {
            let off = self.measured.off_after_ms.take();
            self.measured.off_after_ms = if eyes.driven(row) { None } else { off.or(Some(millis)) };
        }
        self.travel(eyes, &way, &sound.way);
        self.limbs(eyes, &way, &sound.way);
        self.after_mending(eyes, millis, row, &way);
    }

    /// Which permissions of the sound machine are missing at the end.
    pub(super) fn end(mut self, eyes: &Eyes, sound: &Sound) -> Measured {
        for ((group, permitted), sound) in eyes.groups.iter().zip(&self.permitted).zip(&sound.permitted) {
            if *sound && !permitted {
                self.measured.missing.push(group.name.to_owned());
            }
        }
        self.measured
    }

    fn faults(&mut self, eyes: &Eyes, millis: u32, row: &[f64]) {
        for ((name, place), active) in eyes.faults.iter().zip(&mut self.active) {
            let now = row[*place] != 0.0;
            if now && !*active {
                once(&mut self.measured.faults, name, millis);
            }
            *active = now;
        }
    }

    fn permissions(&mut self, eyes: &Eyes, tick: u32, row: &[f64], sound: &Sound, way: &Way) {
        let millis = eyes.millis(tick + 1);
        for (index, group) in eyes.groups.iter().enumerate() {
            let permitted = group.permitted(row);
            let sound_permitted = sound.permitted.get(index).copied().unwrap_or(false);
            if permitted && !self.permitted[index] {
                if group.held(row) {
                    self.note(LEVER_HELD);
                }
                if !sound_permitted && tick < self.let_go_at {
                    once(&mut self.measured.gained, group.name, millis);
                }
            }
            if !permitted && sound_permitted && tick < self.mend_at {
                once(&mut self.measured.lost, group.name, millis);
                self.lost_at[index].get_or_insert_with(|| way.clone());
            }
            let why_not = sound.why_not.get(index).copied().unwrap_or(0.0);
            if !permitted && tick < self.mend_at && row[group.why_not] != why_not {
                once(&mut self.measured.reasons, group.reason(row), millis);
            }
            let testing = eyes.testing(row);
            if permitted || testing {
                self.without[index] = None;
            } else {
                let since = *self.without[index].get_or_insert(tick);
                if tick - since > eyes.stop_ticks && group.driven(row) {
                    self.note(UNPERMITTED);
                }
            }
            self.permitted[index] = permitted;
        }
    }

    fn travel(&mut self, eyes: &Eyes, way: &Way, sound: &Way) {
        let Some((_, group)) = eyes.path else { return };
        let measured = &mut self.measured;
        if let Some(begin) = &self.lost_at[group] {
            measured.stop_metres = measured.stop_metres.max(way.metres - begin.metres);
            measured.stop_degrees = measured.stop_degrees.max(libm::fabs(way.heading - begin.heading));
        } else {
            measured.metres_more = measured.metres_more.max(way.metres - sound.metres);
            measured.degrees_more = measured.degrees_more.max(beyond(way.heading, sound.heading));
        }
    }

    fn limbs(&mut self, eyes: &Eyes, way: &Way, sound: &Way) {
        for (index, limb) in eyes.limbs.iter().enumerate() {
            let (moved, sound) = (way.limbs[index], sound.limbs[index]);
            let more = match &self.lost_at[limb.group] {
                Some(begin) => libm::fabs(moved - begin.limbs[index]),
                None => beyond(moved, sound),
            };
            if more > limb.allowed {
                match self.measured.limbs.iter_mut().find(|(known, _)| known == limb.name) {
                    Some((_, most)) => *most = most.max(more),
                    None => self.measured.limbs.push((limb.name.to_owned(), more)),
                }
            }
        }
    }

    /// Nothing that is not permitted moves because a wire is sound again.
    fn after_mending(&mut self, eyes: &Eyes, millis: u32, row: &[f64], way: &Way) {
        let nothing_permitted = self.permitted.iter().all(|permitted| !permitted);
        if millis < MEND_AFTER_MS + COMING_TO_REST_MS || !nothing_permitted || eyes.driven(row) {
            self.rest = None;
            return;
        }
        let rest = *self.rest.get_or_insert(way.metres);
        if way.metres - rest > SETTLING_M {
            self.note(MOVED_AFTER_MENDING);
        }
    }

    fn note(&mut self, rule: &str) {
        if !self.measured.violated.iter().any(|known| known == rule) {
            self.measured.violated.push(rule.to_owned());
        }
    }
}

fn once(list: &mut Vec<(String, u32)>, name: &str, millis: u32) {
    if !list.iter().any(|(known, _)| known == name) {
        list.push((name.to_owned(), millis));
    }
}
