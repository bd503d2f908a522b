use trunnion::declare::{ParameterInfo, ParameterSet, Rule};
use trunnion::quantity::Period;

use super::plant::{ActionInfo, BreakInfo};
use super::values::{action_value, parameter_raw};
use super::way::Way;
use crate::language::{Complaint, Quantity, Span, Spanned, Unit};
use crate::requirement::show_number;
use crate::scenario::{Deed, Moment, Scenario, Setting};

/// What a machine on its plant lets a scenario speak of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cast {
    pub(super) actions: &'static [ActionInfo],
    pub(super) breaks: &'static [BreakInfo],
    pub(super) rules: &'static [Rule],
    pub(super) parameters: &'static [ParameterInfo],
    pub(super) period: Period,
}

/// A scenario in terms of ticks and places.
#[derive(Debug, Clone)]
pub(super) struct Plan<S> {
    /// Number of ticks.
    pub(super) ticks: u32,
    /// Parameters at the start.
    pub(super) parameters: S,
    /// Every action's value at the start.
    pub(super) actions: Vec<f64>,
    /// What happens, in the order of time.
    pub(super) steps: Vec<Step>,
}

/// Something that happens at a tick.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub(super) tick: u32,
    pub(super) change: Change,
    /// As written.
    pub(super) text: String,
    /// Where.
    pub(super) span: Span,
}

#[derive(Debug, Clone)]
pub(crate) enum Change {
    /// Moves an action to a value in so many ticks.
    Action {
        place: usize,
        target: f64,
        ticks: u32,
    },
    Break {
        place: u16,
        way: Way,
    },
    Mend {
        place: u16,
    },
    /// Writes parameters, by identifier, all at once.
    Write(Vec<(u16, i32)>),
}

/// Longest scenario: an hour.
const LONGEST_SECONDS: f64 = 3600.0;

impl Cast {
    /// Looks up all names of a scenario and checks all values; every complaint at once.
    pub(super) fn plan<S: ParameterSet>(&self, scenario: &Scenario) -> Result<Plan<S>, Vec<Complaint>> {
        let mut complaints = Vec::new();
        let mut keep = |result: Result<(), Complaint>| complaints.extend(result.err());
        let mut plan = Plan { ticks: 0, parameters: S::default(), actions: Vec::new(), steps: Vec::new() };
        plan.actions = self.actions.iter().map(|action| action.rest).collect();
        keep(self.length(&scenario.length).map(|ticks| plan.ticks = ticks));
        for setting in &scenario.parameters {
            keep(self.parameter(setting).and_then(|(id, raw)| stage(&mut plan.parameters, setting, id, raw)));
        }
        for setting in &scenario.settings {
            keep(self.action(setting).map(|(place, value)| plan.actions[place] = value));
        }
        let mut above = 0.0;
        for event in &scenario.events {
            let seconds = seconds(event.moment.quantity());
            let time = if matches!(event.moment, Moment::After(_)) { above + seconds } else { seconds };
            above = time;
            let tick = self.tick_at(time);
            if plan.ticks > 0 && tick >= plan.ticks {
                let what = format!("{} s is not before the end of the scenario", show_number(time));
                keep(Err(Complaint::new(event.moment.quantity().span, what)
                    .expected(format!("less than {}", scenario.length))));
                continue;
            }
            for deed in &event.deeds {
                let step = |change| Step { tick, change, text: deed.to_string(), span: place_of(deed) };
                keep(self.change(deed).map(|change| plan.add(step(change))));
            }
        }
        plan.steps.sort_by_key(|step| step.tick);
        complaints.extend(self.mended_whole(&plan));
        if complaints.is_empty() { Ok(plan) } else { Err(complaints) }
    }

    /// First tick that begins at or after a time; the millionth keeps a written tick from being rounded past.
    fn tick_at(&self, seconds: f64) -> u32 {
        libm::ceil(seconds * 1e6 / f64::from(self.period.micros()) - 1e-6).max(0.0) as u32
    }

    fn length(&self, length: &Quantity) -> Result<u32, Complaint> {
        let seconds = seconds(length);
        let ticks = self.tick_at(seconds);
        if ticks == 0 || seconds > LONGEST_SECONDS {
            return Err(Complaint::new(length.span, format!("a scenario cannot last {length}"))
                .expected(format!("at least one tick of {} µs, at most an hour", self.period.micros())));
        }
        Ok(ticks)
    }

    fn action(&self, setting: &Setting) -> Result<(usize, f64), Complaint> {
        let Spanned { value: name, span } = &setting.name;
        let place = self.actions.iter().position(|action| action.name == name).ok_or_else(|| {
            Complaint::unknown(*span, "action", name, self.actions.iter().map(|action| action.name))
        })?;
        Ok((place, action_value(&self.actions[place], setting)?))
    }

    fn parameter(&self, setting: &Setting) -> Result<(u16, i32), Complaint> {
        let Spanned { value: name, span } = &setting.name;
        let mut rows = self.parameters.iter().zip(self.rules);
        let (info, rule) = rows.find(|(info, _)| info.name == name).ok_or_else(|| {
            Complaint::unknown(*span, "parameter", name, self.parameters.iter().map(|info| info.name))
        })?;
        Ok((rule.id, parameter_raw(info, rule, setting)?))
    }

    fn breakable(&self, signal: &Spanned<String>) -> Result<(u16, &'static BreakInfo), Complaint> {
        let known = self.breaks.iter().map(|info| info.signal);
        let place = self.breaks.iter().position(|info| info.signal == signal.value);
        let place = place.and_then(|place| Some((u16::try_from(place).ok()?, self.breaks.get(place)?)));
        place.ok_or_else(|| Complaint::unknown(signal.span, "breakable signal", &signal.value, known))
    }

    fn change(&self, deed: &Deed) -> Result<Change, Complaint> {
        match deed {
            Deed::Set(setting) => {
                let (place, target) = self.action(setting)?;
                Ok(Change::Action { place, target, ticks: 0 })
            }
            Deed::Move(setting, time) => {
                let (place, target) = self.action(setting)?;
                if !self.actions[place].choices.is_empty() {
                    let name = &setting.name;
                    return Err(Complaint::new(
                        name.span,
                        format!("`{}` is a choice and cannot move", name.value),
                    )
                    .expected(format!("`{setting}`")));
                }
                Ok(Change::Action { place, target, ticks: self.tick_at(seconds(time)) })
            }
            Deed::Break(signal, failure) => {
                let (place, info) = self.breakable(signal)?;
                let found = info.ways().find(|known| known.name() == failure.value);
                let way = found.ok_or_else(|| {
                    let kind = format!("failure of `{}` called", signal.value);
                    let known: Vec<&str> = info.ways().map(Way::name).collect();
                    Complaint::unknown(failure.span, &kind, &failure.value, known)
                })?;
                Ok(Change::Break { place, way })
            }
            Deed::Mend(signal) => Ok(Change::Mend { place: self.breakable(signal)?.0 }),
            Deed::Parameter(setting) => Ok(Change::Write(vec![self.parameter(setting)?])),
        }
    }

    /// Refuses to mend what is not broken at that time: the writer has another signal in mind.
    fn mended_whole<S>(&self, plan: &Plan<S>) -> Vec<Complaint> {
        let mut broken = vec![false; self.breaks.len()];
        let mut complaints = Vec::new();
        for step in &plan.steps {
            let (place, breaks) = match step.change {
                Change::Break { place, .. } => (usize::from(place), true),
                Change::Mend { place } => (usize::from(place), false),
                _ => continue,
            };
            let was_broken = std::mem::replace(&mut broken[place], breaks);
            if !breaks && !was_broken {
                let what = format!("`{}` is not broken when it is mended", self.breaks[place].signal);
                complaints
                    .push(Complaint::new(step.span, what).expected("a signal that an earlier event breaks"));
            }
        }
        complaints
    }
}

/// The name that a deed is about.
fn place_of(deed: &Deed) -> Span {
    match deed {
        Deed::Set(setting) | Deed::Move(setting, _) | Deed::Parameter(setting) => setting.name.span,
        Deed::Break(signal, _) | Deed::Mend(signal) => signal.span,
    }
}

fn seconds(time: &Quantity) -> f64 {
    time.value_in(&Unit::second()).unwrap_or(0.0)
}

fn stage<S: ParameterSet>(set: &mut S, setting: &Setting, id: u16, raw: i32) -> Result<(), Complaint> {
    set.stage(id, raw).map_err(|refusal| Complaint::new(setting.value.span(), refusal.to_string()))
}

impl<S> Plan<S> {
    /// Adds a step; writes of one tick are one write.
    fn add(&mut self, step: Step) {
        if let Change::Write(more) = &step.change {
            for earlier in self.steps.iter_mut().filter(|earlier| earlier.tick == step.tick) {
                if let Change::Write(writes) = &mut earlier.change {
                    writes.extend(more);
                    earlier.text = format!("{}, {}", earlier.text, step.text);
                    return;
                }
            }
        }
        self.steps.push(step);
    }
}
