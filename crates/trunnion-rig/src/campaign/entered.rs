//! A machine in a state, from which cells branch off.

use trunnion::machine::Machine;

use super::eyes::Eyes;
use super::state::{Charter, LET_GO_AFTER_MS, MEND_AFTER_MS, State, WATCHED_MS};
use super::task::Task;
use super::walker::Walker;
use super::watch::{Sound, Watch};
use super::{CampaignError, Measured};
use crate::requirement::show_number;
use crate::run::{Plant, Rig, Session};
use crate::scenario::Scenario;

/// A machine in a state, with what a sound one does from there on.
pub(super) struct Entered<M: Machine, P: Plant<M>> {
    pub(super) state: &'static State,
    session: Session<M, P>,
    sound: Vec<Sound>,
}

fn at(state: &State, millis: u32) -> String {
    show_number(state.seconds + f64::from(millis) / 1_000.0)
}

/// The story of a state. What is broken comes first, as it comes before all else that happens at the same time.
fn story(state: &State, charter: &Charter, deeds: &str) -> String {
    let mut text =
        format!("scenario  {}\nlength    {} s\n{deeds}{}", state.about, at(state, WATCHED_MS), state.story);
    for (millis, deed) in charter.let_go {
        text += &format!("at {} s {deed}\n", at(state, LET_GO_AFTER_MS + millis));
    }
    text
}

/// The story of a cell or pair, to be replayed as a scenario.
pub(super) fn replay(state: &State, charter: &Charter, task: &Task) -> String {
    let mut deeds = String::new();
    for part in &task.parts {
        deeds += &format!("at {} s break {}: {}\n", at(state, 0), part.signal, part.way.name());
    }
    for part in &task.parts {
        deeds += &format!("at {} s mend {}\n", at(state, MEND_AFTER_MS), part.signal);
    }
    story(state, charter, &deeds)
}

pub(super) fn enter<M: Machine, P: Plant<M>>(
    rig: &Rig<M, P>,
    charter: &Charter,
    state: &'static State,
    eyes: &Eyes,
) -> Result<Entered<M, P>, CampaignError> {
    let scenario = Scenario::parse(&format!("{}.state", state.name), &story(state, charter, ""))?;
    let mut session = rig.start_unrecorded(&scenario)?;
    for _ in 0..eyes.ticks(libm::round(state.seconds * 1_000.0) as u32) {
        session.step();
    }
    let violated: Vec<&str> = session.violated().map(|(id, _)| id).collect();
    if !rig.holds(state.seen, session.row(), session.parameters())? || !violated.is_empty() {
        let violated =
            if violated.is_empty() { "see it with a scenario".to_owned() } else { violated.join(", ") };
        return Err(CampaignError::NotThere {
            state: state.name,
            seconds: state.seconds,
            seen: state.seen,
            violated,
        });
    }
    let sound = sound(&mut session, state, eyes)?;
    Ok(Entered { state, session, sound })
}

/// What a sound machine does, which those that are broken follow while they can. One that has a fault or breaks a requirement by itself is no measure for others.
fn sound<M: Machine, P: Plant<M>>(
    session: &mut Session<M, P>,
    state: &'static State,
    eyes: &Eyes,
) -> Result<Vec<Sound>, CampaignError> {
    let mut twin = session.clone();
    twin.lead();
    let mut walker = Walker::new(eyes, session.row());
    let mut watch = Watch::new(eyes, session.row());
    let mut ways = Vec::new();
    for tick in 0..eyes.ticks(WATCHED_MS) {
        twin.step();
        let row = twin.row();
        let sound = Sound {
            way: walker.step(eyes, row).clone(),
            permitted: eyes.groups.iter().map(|group| group.permitted(row)).collect(),
            why_not: eyes.groups.iter().map(|group| row[group.why_not]).collect(),
        };
        watch.see(eyes, tick, row, &sound);
        ways.push(sound);
    }
    session.follow(&mut twin);
    let mut wrong: Vec<String> = watch.measured.faults.iter().map(|(name, _)| name.clone()).collect();
    wrong.extend(watch.measured.violated);
    wrong.extend(twin.violated().map(|(id, _)| id.to_owned()));
    if wrong.is_empty() {
        Ok(ways)
    } else {
        Err(CampaignError::Unsound { state: state.name, wrong: wrong.join(", ") })
    }
}

impl<M: Machine, P: Plant<M>> Entered<M, P> {
    pub(super) fn measure(&self, task: &Task, eyes: &Eyes) -> Measured {
        let mut session = self.session.clone();
        for part in &task.parts {
            session.break_next(part.place, part.way);
        }
        let mut watch = Watch::new(eyes, session.row());
        let mend_at = eyes.ticks(MEND_AFTER_MS);
        let nothing = Sound::default();
        for (tick, sound) in (0..).zip(&self.sound) {
            if tick == mend_at {
                for part in &task.parts {
                    session.mend_next(part.place);
                }
            }
            session.step();
            watch.see(eyes, tick, session.row(), sound);
        }
        let mut measured = watch.end(eyes, self.sound.last().unwrap_or(&nothing));
        measured.violated.extend(session.violated().map(|(id, _)| id.to_owned()));
        measured
    }
}
