//! All cells, on all processors.

use std::collections::BTreeMap;
use std::fmt;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use thiserror::Error;
use trunnion::declare::FaultSet;
use trunnion::machine::Machine;

use super::state::{Charter, MEND_AFTER_MS, Measured, State, WATCHED_MS};
use super::{Cell, Expectation, Expectations, Rule, RuleMistake, cells};
use crate::language::Complaints;
use crate::run::{Plant, Rig, Session};
use crate::scenario::Scenario;
use crate::trace::ColumnKind;

/// Both coils of a pair were on.
const PAIR: &str = "both of a pair";
/// A group was driven although its permission was gone for longer than a stop lasts.
const UNPERMITTED: &str = "driven without permission";
/// The machine moved after the mending although nothing was permitted.
const MOVED: &str = "moved after the mending";
/// A machine without permission may settle by so much.
const SETTLING_M: f64 = 0.1;
/// From the mending on it may still be coming to rest.
const COMING_TO_REST_MS: u32 = 500;

/// Which cells are run.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Order {
    /// Only those of which the whole name, `signal:way@state`, contains each of these.
    pub only: Vec<String>,
}

impl Order {
    fn takes(&self, cell: &Cell) -> bool {
        let name = cell.to_string();
        self.only.iter().all(|part| name.contains(part.as_str()))
    }
}

/// Why a campaign cannot be run: something is wrong in what the machine declares for it.
#[derive(Debug, Error)]
pub enum CampaignError {
    /// The rules do not decide every cell, or decide nothing.
    #[error("{}", .0.iter().map(RuleMistake::to_string).collect::<Vec<_>>().join("\n"))]
    Rules(Vec<RuleMistake>),
    /// A state's story cannot be told.
    #[error(transparent)]
    Story(#[from] Complaints),
    /// A state is not what it says when it should be.
    #[error("state {state}: at {seconds} s `{seen}` is not true; {}", .violated)]
    NotThere {
        /// The state.
        state: &'static str,
        /// When.
        seconds: f64,
        /// What should be true.
        seen: &'static str,
        /// Requirements that are violated before anything is broken.
        violated: String,
    },
    /// A column that the declaration names does not exist.
    #[error("there is no column `{0}`; see the list of columns")]
    NoColumn(String),
}

/// What became of a cell, and whether that was expected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellResult {
    /// `signal:way@state`.
    pub cell: String,
    /// What breaks.
    pub signal: String,
    /// How.
    pub way: String,
    /// What the machine is doing.
    pub state: String,
    /// What was expected, in words.
    pub expected: String,
    /// The residual hazard, where the failure cannot be detected.
    pub hazard: String,
    /// What was seen.
    pub measured: Measured,
    /// What differs from what was expected; empty when nothing does.
    pub red: Vec<String>,
    /// The story as a scenario that replays it.
    #[serde(skip)]
    pub replay: String,
}

/// Runs the cells of an order; `told` hears of each that is done. The result does not depend on the number of threads.
pub fn run<M: Machine, P: Plant<M>>(
    rig: &Rig<M, P>,
    charter: &Charter,
    order: &Order,
    told: &(dyn Fn(&CellResult) + Sync),
) -> Result<Vec<CellResult>, CampaignError> {
    let names: Vec<&'static str> = charter.states.iter().map(|state| state.name).collect();
    let faults: Vec<&str> = M::Faults::INFO.iter().map(|info| info.name).collect();
    let expectations =
        Expectations::new(&cells(P::BREAKS, &names), charter.rules, &faults).map_err(CampaignError::Rules)?;
    let eyes = Eyes::of(rig, charter)?;
    let chosen: Vec<&(Cell, Rule)> = expectations.iter().filter(|(cell, _)| order.takes(cell)).collect();
    let wanted = |state: &&'static State| chosen.iter().any(|(cell, _)| cell.state == state.name);
    let states: Vec<&'static State> = charter.states.iter().filter(wanted).collect();
    let entered: Result<Vec<Entered<M, P>>, CampaignError> =
        states.par_iter().map(|state| enter(rig, state, &eyes)).collect();
    let entered: BTreeMap<&str, Entered<M, P>> =
        states.iter().map(|state| state.name).zip(entered?).collect();
    let results = chosen
        .par_iter()
        .filter_map(|(cell, rule)| {
            let state = entered.get(cell.state)?;
            let measured = state.measure(cell, &eyes);
            let result = judged(cell, rule, state.state, measured);
            told(&result);
            Some(result)
        })
        .collect();
    Ok(results)
}

/// Where in a row is what the rules look at.
struct Eyes {
    faults: Vec<(String, usize)>,
    groups: Vec<(&'static str, usize, Vec<usize>)>,
    pairs: Vec<(usize, usize)>,
    path: Option<[usize; 3]>,
    stop_ticks: u32,
    period_ms: f64,
}

impl Eyes {
    fn of<M: Machine, P: Plant<M>>(rig: &Rig<M, P>, charter: &Charter) -> Result<Self, CampaignError> {
        let place = |name: &str| {
            let found = rig.columns().iter().position(|column| column.name == name);
            found.ok_or_else(|| CampaignError::NoColumn(name.to_owned()))
        };
        let first = rig.columns().iter().position(|column| column.kind == ColumnKind::Fault).unwrap_or(0);
        let period_ms = f64::from(M::PERIOD.micros()) / 1_000.0;
        Ok(Self {
            faults: (first..).zip(M::Faults::INFO).map(|(at, info)| (info.name.to_owned(), at)).collect(),
            groups: charter
                .groups
                .iter()
                .map(|group| {
                    let driven: Result<Vec<usize>, CampaignError> =
                        group.driven_by.iter().map(|name| place(name)).collect();
                    Ok((group.permission, place(group.permission)?, driven?))
                })
                .collect::<Result<_, CampaignError>>()?,
            pairs: charter
                .pairs
                .iter()
                .map(|(one, other)| Ok((place(one)?, place(other)?)))
                .collect::<Result<_, CampaignError>>()?,
            path: match charter.path {
                Some([x, y, yaw]) => Some([place(x)?, place(y)?, place(yaw)?]),
                None => None,
            },
            stop_ticks: (f64::from(charter.longest_stop_ms) / period_ms) as u32,
            period_ms,
        })
    }

    fn ticks(&self, millis: u32) -> u32 {
        (f64::from(millis) / self.period_ms) as u32
    }

    fn driven(&self, row: &[f64]) -> bool {
        self.groups.iter().any(|(_, _, driven)| driven.iter().any(|place| row[*place] != 0.0))
    }
}

/// A machine in a state, with the way of a sound one from there on.
struct Entered<M: Machine, P: Plant<M>> {
    state: &'static State,
    session: Session<M, P>,
    sound: Vec<Way>,
}

/// How far a machine has come: metres of way, degrees of heading.
#[derive(Debug, Clone, Copy, Default)]
struct Way {
    metres: f64,
    heading: f64,
}

fn story(state: &State, deeds: &str) -> String {
    let length = state.seconds + f64::from(WATCHED_MS) / 1_000.0;
    format!("scenario  {}\nlength    {length} s\n{}{deeds}", state.about, state.story)
}

fn enter<M: Machine, P: Plant<M>>(
    rig: &Rig<M, P>,
    state: &'static State,
    eyes: &Eyes,
) -> Result<Entered<M, P>, CampaignError> {
    let scenario = Scenario::parse(&format!("{}.state", state.name), &story(state, ""))?;
    let mut session = rig.start_unrecorded(&scenario)?;
    let ticks = (state.seconds * 1_000.0 / eyes.period_ms) as u32;
    for _ in 0..ticks {
        session.step();
    }
    let violated: Vec<&str> = session.violated().map(|(id, _)| id).collect();
    if !rig.holds(state.seen, session.row())? || !violated.is_empty() {
        let violated =
            if violated.is_empty() { "see it with a scenario".to_owned() } else { violated.join(", ") };
        return Err(CampaignError::NotThere {
            state: state.name,
            seconds: state.seconds,
            seen: state.seen,
            violated,
        });
    }
    let mut twin = session.clone();
    let mut walker = Walker::new(eyes, session.row());
    let sound = (0..eyes.ticks(WATCHED_MS))
        .map(|_| {
            twin.step();
            walker.step(eyes, twin.row())
        })
        .collect();
    Ok(Entered { state, session, sound })
}

/// Adds up a way.
struct Walker {
    last: Option<[f64; 3]>,
    begin: f64,
    way: Way,
}

impl Walker {
    fn new(eyes: &Eyes, row: &[f64]) -> Self {
        let last = eyes.path.map(|path| path.map(|place| row[place]));
        Self { last, begin: last.map_or(0.0, |[_, _, yaw]| yaw), way: Way::default() }
    }

    fn step(&mut self, eyes: &Eyes, row: &[f64]) -> Way {
        if let (Some([x, y, _]), Some(path)) = (self.last, eyes.path) {
            let now = path.map(|place| row[place]);
            self.way.metres += libm::hypot(now[0] - x, now[1] - y);
            self.way.heading = now[2] - self.begin;
            self.last = Some(now);
        }
        self.way
    }
}

impl<M: Machine, P: Plant<M>> Entered<M, P> {
    fn measure(&self, cell: &Cell, eyes: &Eyes) -> Measured {
        let mut session = self.session.clone();
        session.break_next(cell.place, cell.failure);
        let mut watch = Watch::new(eyes, session.row());
        let mend_at = eyes.ticks(MEND_AFTER_MS);
        for tick in 0..eyes.ticks(WATCHED_MS) {
            if tick == mend_at {
                session.mend_next(cell.place);
            }
            session.step();
            let sound = self.sound.get(tick as usize).copied().unwrap_or_default();
            watch.see(eyes, tick, tick >= mend_at, session.row(), sound);
        }
        let mut measured = watch.measured;
        measured.violated.extend(session.violated().map(|(id, _)| id.to_owned()));
        measured
    }
}

/// What is seen of a cell, tick by tick.
struct Watch {
    measured: Measured,
    walker: Walker,
    active: Vec<bool>,
    permitted: Vec<bool>,
    lost: Vec<Option<u32>>,
    rest: Option<f64>,
}

impl Watch {
    fn new(eyes: &Eyes, row: &[f64]) -> Self {
        Self {
            measured: Measured::default(),
            walker: Walker::new(eyes, row),
            active: eyes.faults.iter().map(|(_, place)| row[*place] != 0.0).collect(),
            permitted: eyes.groups.iter().map(|(_, place, _)| row[*place] != 0.0).collect(),
            lost: vec![None; eyes.groups.len()],
            rest: None,
        }
    }

    fn see(&mut self, eyes: &Eyes, tick: u32, mended: bool, row: &[f64], sound: Way) {
        let millis = (f64::from(tick + 1) * eyes.period_ms) as u32;
        for ((name, place), active) in eyes.faults.iter().zip(&mut self.active) {
            let now = row[*place] != 0.0;
            if now && !*active && !self.measured.faults.iter().any(|(known, _)| known == name) {
                self.measured.faults.push((name.clone(), millis));
            }
            *active = now;
        }
        self.permissions(eyes, tick, mended, row);
        if eyes.pairs.iter().any(|(one, other)| row[*one] != 0.0 && row[*other] != 0.0) {
            self.note(PAIR);
        }
        if !mended {
            let off = self.measured.off_after_ms.take();
            self.measured.off_after_ms = if eyes.driven(row) { None } else { off.or(Some(millis)) };
        }
        let way = self.walker.step(eyes, row);
        let more = way.metres - sound.metres;
        self.measured.metres_more = self.measured.metres_more.max(more);
        let off = libm::fabs(way.heading) - libm::fabs(sound.heading);
        let wrong_way = way.heading * sound.heading < 0.0;
        let off = if wrong_way { libm::fabs(way.heading) } else { off };
        self.measured.degrees_off = self.measured.degrees_off.max(off);
        self.after_mending(eyes, millis, row, way);
    }

    fn permissions(&mut self, eyes: &Eyes, tick: u32, mended: bool, row: &[f64]) {
        for (index, (name, place, driven)) in eyes.groups.iter().enumerate() {
            let permitted = row[*place] != 0.0;
            if permitted {
                if mended && !self.permitted[index] && self.lost[index].is_some() {
                    self.measured.regained.push((*name).to_owned());
                }
                self.lost[index] = None;
            } else {
                let since = *self.lost[index].get_or_insert(tick);
                if tick - since > eyes.stop_ticks && driven.iter().any(|place| row[*place] != 0.0) {
                    self.note(UNPERMITTED);
                }
            }
            self.permitted[index] = permitted;
        }
    }

    /// Nothing that is not permitted moves because a wire is sound again.
    fn after_mending(&mut self, eyes: &Eyes, millis: u32, row: &[f64], way: Way) {
        let nothing_permitted = self.permitted.iter().all(|permitted| !permitted);
        if millis < MEND_AFTER_MS + COMING_TO_REST_MS || !nothing_permitted || eyes.driven(row) {
            self.rest = None;
            return;
        }
        let rest = *self.rest.get_or_insert(way.metres);
        if way.metres - rest > SETTLING_M {
            self.note(MOVED);
        }
    }

    fn note(&mut self, rule: &str) {
        if !self.measured.violated.iter().any(|known| known == rule) {
            self.measured.violated.push(rule.to_owned());
        }
    }
}

fn judged(cell: &Cell, rule: &Rule, state: &State, measured: Measured) -> CellResult {
    let mut red = Vec::new();
    let may = |name: &str| rule.also.contains(&name);
    let seconds = state.seconds;
    match rule.expect {
        Expectation::Detected { fault, within_ms } => {
            match measured.faults.iter().find(|(name, _)| name == fault) {
                None => red.push(format!("{fault} did not come")),
                Some((_, after)) if *after > within_ms => {
                    red.push(format!("{fault} came after {after} ms, {within_ms} ms are allowed"));
                }
                Some(_) => {}
            }
            let others = measured.faults.iter().filter(|(name, _)| name != fault && !may(name));
            red.extend(others.map(|(name, after)| format!("{name} came as well, after {after} ms")));
        }
        Expectation::Tolerated | Expectation::Undetectable { .. } => {
            let told = measured.faults.iter().filter(|(name, _)| !may(name));
            red.extend(
                told.map(|(name, after)| format!("{name} came after {after} ms, no fault was expected")),
            );
        }
    }
    let violated = measured.violated.iter().filter(|id| !may(id));
    red.extend(violated.map(|id| format!("violates {id}")));
    let hazardous = matches!(rule.expect, Expectation::Undetectable { .. });
    if !hazardous && measured.metres_more > state.allowed.metres {
        red.push(format!("moved {:.2} m further than a sound machine", measured.metres_more));
    }
    if !hazardous && measured.degrees_off > state.allowed.degrees {
        red.push(format!("turned {:.1}° more than a sound machine", measured.degrees_off));
    }
    let mend = seconds + f64::from(MEND_AFTER_MS) / 1_000.0;
    let deeds = format!(
        "at {seconds} s break {}: {}\nat {mend} s mend {}\n",
        cell.signal,
        cell.failure.name(),
        cell.signal
    );
    CellResult {
        cell: cell.to_string(),
        signal: cell.signal.to_owned(),
        way: cell.failure.name().to_owned(),
        state: cell.state.to_owned(),
        expected: rule.expect.to_string(),
        hazard: match rule.expect {
            Expectation::Undetectable { hazard } => hazard.to_owned(),
            _ => String::new(),
        },
        measured,
        red,
        replay: story(state, &deeds),
    }
}

impl fmt::Display for Expectation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Detected { fault, within_ms } => write!(f, "{fault} within {within_ms} ms"),
            Self::Tolerated => f.write_str("tolerated"),
            Self::Undetectable { .. } => f.write_str("undetectable by design"),
        }
    }
}
