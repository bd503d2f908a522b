mod branch;
mod twins;

use std::sync::Arc;

use trunnion::declare::{ParameterSet, Refusal};
use trunnion::machine::{Boot, FastInputs, FastOutputs, Machine, Stepper};

use super::controls::Controls;
#[cfg(feature = "hunt")]
use super::plan::Step;
use super::plan::{Change, Plan};
use super::plant::Plant;
use super::result::{EventRecord, RequirementResult, Run};
use crate::requirement::{Expression, Monitor, Requirement};
use crate::scenario::{Scenario, StatedRequirement};
use crate::trace::{ColumnInfo, Layout, TickRecords, Trace, TraceHasher};

pub use twins::Twins;

/// A requirement under watch.
#[derive(Debug, Clone)]
pub(super) struct Watched {
    id: String,
    sentence: String,
    hazard: String,
    formula: String,
    monitor: Monitor,
}

impl Watched {
    pub(super) fn of_machine(requirement: &Requirement, formula: &Expression, monitor: Monitor) -> Self {
        Self {
            id: requirement.id.to_owned(),
            sentence: requirement.sentence.to_owned(),
            hazard: requirement.hazard.to_owned(),
            formula: formula.to_string(),
            monitor,
        }
    }

    pub(super) fn of_scenario(stated: &StatedRequirement, monitor: Monitor) -> Self {
        Self {
            id: stated.id.value.clone(),
            sentence: stated.sentence.clone(),
            hazard: stated.hazard.clone(),
            formula: stated.formula.to_string(),
            monitor,
        }
    }
}

/// A scenario under way, stepped tick by tick.
#[derive(Clone)]
pub struct Session<M: Machine, P: Plant<M>> {
    plan: Plan<M::Parameters>,
    next_step: usize,
    /// What is done to a branch at its next tick, before what the scenario does.
    deeds: Vec<branch::Deed>,
    tick: u32,
    boot: Boot<M::Parameters>,
    parameters: M::Parameters,
    written: Option<(M::Parameters, Result<(), Refusal>)>,
    restarted: bool,
    stepper: Stepper<M>,
    plant: P,
    controls: Controls,
    watched: Vec<Watched>,
    inputs: M::Inputs,
    outputs: M::Outputs,
    diagnostics: M::Diagnostics,
    fast_inputs: Vec<FastInputs<M>>,
    fast_outputs: Vec<FastOutputs<M>>,
    row: Vec<f64>,
    trace: Trace,
    hasher: TraceHasher,
    events: Vec<EventRecord>,
    scenario: Arc<Scenario>,
    /// Trace and hash are kept; a run that only its requirements are asked of does without.
    recorded: bool,
}

/// One tick of a run: all that crossed the controller's border, in the order in which it did.
pub struct Tick<'a, M: Machine> {
    /// Which tick, from 0.
    pub index: u32,
    /// How many the scenario has.
    pub ticks: u32,
    /// What the machine was told when it started.
    pub boot: &'a Boot<M::Parameters>,
    /// The controller started anew at the beginning of this tick, with this `boot`.
    pub restarted: bool,
    /// A parameter write at the beginning of this tick: the whole set, and what the machine said.
    pub written: Option<(&'a M::Parameters, &'a Result<(), Refusal>)>,
    /// What the fast loop read, one for each fast step.
    pub fast_inputs: &'a [FastInputs<M>],
    /// What the fast loop drove, one for each fast step.
    pub fast_outputs: &'a [FastOutputs<M>],
    /// What the machine read after the fast steps.
    pub inputs: &'a M::Inputs,
    /// What it answered.
    pub outputs: &'a M::Outputs,
    /// Its internal points.
    pub diagnostics: &'a M::Diagnostics,
    /// The machine itself, after the step.
    pub machine: &'a M,
    /// The row of the trace.
    pub row: &'a [f64],
}

impl<M: Machine, P: Plant<M>> Session<M, P> {
    pub(super) fn new(
        scenario: &Scenario,
        plan: Plan<M::Parameters>,
        watched: Vec<Watched>,
        columns: &[ColumnInfo],
        recorded: bool,
    ) -> Self {
        let boot = Boot {
            parameters: plan.parameters,
            // Any bits will do, as long as they are the same every time.
            entropy: (scenario.seed as u32) ^ 0x9E37_79B9,
            serial: 1,
            ..Boot::default()
        };
        let mut plant = P::start(scenario.seed);
        plant.adopt(&plan.parameters);
        for (place, value) in (0..).zip(&plan.actions) {
            plant.act(place, *value);
        }
        let fast_steps = usize::from(M::FAST_STEPS);
        Self {
            next_step: 0,
            deeds: Vec::new(),
            tick: 0,
            parameters: plan.parameters,
            written: None,
            restarted: false,
            stepper: Stepper::start(&boot),
            boot,
            plant,
            controls: Controls::new(plan.actions.clone()),
            watched,
            inputs: M::Inputs::default(),
            outputs: M::Outputs::default(),
            diagnostics: M::Diagnostics::default(),
            fast_inputs: Vec::with_capacity(fast_steps),
            fast_outputs: Vec::with_capacity(fast_steps),
            row: Vec::with_capacity(columns.len()),
            trace: if recorded {
                Trace::new(f64::from(M::PERIOD.micros()) / 1e6, columns, plan.ticks)
            } else {
                Trace::new(f64::from(M::PERIOD.micros()) / 1e6, &[], 0)
            },
            hasher: TraceHasher::new(),
            events: Vec::new(),
            plan,
            scenario: Arc::new(scenario.clone()),
            recorded,
        }
    }

    pub(super) fn without_end(mut self) -> Self {
        self.plan.ticks = u32::MAX;
        self
    }

    /// It lasts so many ticks, whatever the scenario says: what would happen later does not, and behind its end all stays.
    ///
    /// For a session that has not been stepped.
    #[must_use]
    pub fn lasting(mut self, ticks: u32) -> Self {
        self.plan.ticks = ticks;
        self
    }

    /// The controller has this serial number from its start on.
    ///
    /// For a session that has not been stepped.
    #[must_use]
    pub fn with_serial(mut self, serial: u32) -> Self {
        self.boot.serial = serial;
        self.stepper = Stepper::start(&self.boot);
        self
    }

    /// How many ticks it lasts.
    pub const fn ticks(&self) -> u32 {
        self.plan.ticks
    }

    /// The requirements that are violated for good, in their order: id and sentence.
    pub fn violated(&self) -> impl Iterator<Item = (&str, &str)> {
        let broken = self.watched.iter().filter(|watched| !watched.monitor.so_far().0);
        broken.map(|watched| (watched.id.as_str(), watched.sentence.as_str()))
    }

    /// Steps one tick; `None` when the scenario is over.
    pub fn step(&mut self) -> Option<Tick<'_, M>> {
        if self.tick >= self.plan.ticks {
            return None;
        }
        let index = self.tick;
        self.happen(index);
        self.fast_steps();
        self.inputs = self.plant.inputs();
        self.outputs = self.stepper.step(&self.inputs);
        self.diagnostics = self.stepper.machine().diagnostics();
        if let Some(parameters) = self.plant.stored() {
            self.parameters = parameters;
        }
        self.record();
        self.tick += 1;
        Some(Tick {
            index,
            ticks: self.plan.ticks,
            boot: &self.boot,
            restarted: self.restarted,
            written: self.written.as_ref().map(|(parameters, result)| (parameters, result)),
            fast_inputs: &self.fast_inputs,
            fast_outputs: &self.fast_outputs,
            inputs: &self.inputs,
            outputs: &self.outputs,
            diagnostics: &self.diagnostics,
            machine: self.stepper.machine(),
            row: &self.row,
        })
    }

    /// What the scenario does at the beginning of a tick.
    fn happen(&mut self, tick: u32) {
        self.written = None;
        self.restarted = false;
        if let Some(boot) = self.plant.restart() {
            self.start_anew(tick, boot);
        }
        self.do_deeds();
        while let Some(step) = self.plan.steps.get(self.next_step)
            && step.tick <= tick
        {
            let mut text = step.text.clone();
            match &step.change {
                Change::Action { place, target, ticks } => self.controls.begin(tick, *place, *target, *ticks),
                Change::Break { place, way } => self.plant.break_signal(*place, *way),
                Change::Mend { place } => self.plant.mend(*place),
                Change::Write(writes) => {
                    let mut set = self.parameters;
                    let staged = writes.iter().try_for_each(|(id, raw)| set.stage(*id, *raw));
                    let result = staged.and_then(|()| self.stepper.reconfigure(&set));
                    match &result {
                        Ok(()) => {
                            self.parameters = set;
                            self.plant.adopt(&set);
                        }
                        Err(refusal) => text = format!("{text} (refused: {refusal})"),
                    }
                    self.written = Some((set, result));
                }
            }
            let at = f64::from(tick) * f64::from(M::PERIOD.micros()) / 1e6;
            self.events.push(EventRecord { at, text });
            self.next_step += 1;
        }
        let plant = &mut self.plant;
        self.controls.move_to(tick, |place, value| {
            if let Ok(place) = u16::try_from(place) {
                plant.act(place, value);
            }
        });
    }

    /// The machine and its surroundings are as they were; the controller knows what it is told, and has driven nothing.
    fn start_anew(&mut self, tick: u32, boot: Boot<M::Parameters>) {
        self.stepper = Stepper::start(&boot);
        self.parameters = boot.parameters;
        self.boot = boot;
        self.outputs = M::Outputs::default();
        self.restarted = true;
        let at = f64::from(tick) * f64::from(M::PERIOD.micros()) / 1e6;
        // One that is held in reset starts anew every tick, and says so once.
        let text = "the controller starts anew";
        if self.events.last().is_none_or(|last| last.text != text) {
            self.events.push(EventRecord { at, text: text.to_owned() });
        }
    }

    fn fast_steps(&mut self) {
        self.fast_inputs.clear();
        self.fast_outputs.clear();
        for _ in 0..M::FAST_STEPS {
            let inputs = self.plant.fast_inputs();
            let outputs = self.stepper.fast_step(&inputs);
            self.plant.advance(&outputs, &self.outputs);
            self.fast_inputs.push(inputs);
            self.fast_outputs.push(outputs);
        }
    }

    fn hash(&mut self) {
        self.hasher.record(&self.inputs);
        self.fast_inputs.iter().for_each(|record| self.hasher.record(record));
        self.fast_outputs.iter().for_each(|record| self.hasher.record(record));
        self.hasher.record(&self.outputs);
        self.hasher.record(&self.diagnostics);
    }

    fn record(&mut self) {
        self.fill_row(None);
        self.keep_row();
    }

    /// The row of this tick, with what is true of another plant that stands in for its own.
    fn fill_row(&mut self, stand_in: Option<&P>) {
        let no_fast = (FastInputs::<M>::default(), FastOutputs::<M>::default());
        let records = TickRecords {
            inputs: &self.inputs,
            fast_inputs: self.fast_inputs.last().unwrap_or(&no_fast.0),
            fast_outputs: self.fast_outputs.last().unwrap_or(&no_fast.1),
            outputs: &self.outputs,
            diagnostics: &self.diagnostics,
        };
        let machine = self.stepper.machine();
        let plant = stand_in.unwrap_or(&self.plant);
        Layout::fill(&mut self.row, &records, machine, plant, self.controls.values());
    }

    fn keep_row(&mut self) {
        if self.recorded {
            self.hash();
            self.trace.push(&self.row);
        }
        for watched in &mut self.watched {
            watched.monitor.push(&self.row);
        }
    }

    /// Lets something more happen, now or later: behind all that is to happen at the same tick already.
    #[cfg(feature = "hunt")]
    pub(crate) fn schedule(&mut self, tick: u32, change: Change) {
        let steps = &mut self.plan.steps;
        let place = steps.partition_point(|step| step.tick <= tick).max(self.next_step);
        steps.insert(place, Step { tick, change, text: String::new(), span: Default::default() });
    }

    /// The tick that comes next.
    #[cfg(feature = "hunt")]
    pub(crate) fn next_tick(&self) -> u32 {
        self.tick
    }

    /// The row of the last tick.
    #[cfg(feature = "hunt")]
    pub(crate) fn row(&self) -> &[f64] {
        &self.row
    }

    /// The parameters that the machine works with.
    #[cfg(feature = "hunt")]
    pub(crate) fn parameters(&self) -> &M::Parameters {
        &self.parameters
    }

    /// What every action is at.
    #[cfg(feature = "hunt")]
    pub(crate) fn asked(&self) -> &[f64] {
        self.controls.values()
    }

    /// Whether a requirement is violated for good, by its id.
    #[cfg(feature = "hunt")]
    pub(crate) fn breaks(&self, id: &str) -> bool {
        self.watched.iter().any(|watched| watched.id == id && !watched.monitor.so_far().0)
    }

    /// What each requirement has come to so far, in their order.
    #[cfg(feature = "hunt")]
    pub(crate) fn monitors(&self) -> impl Iterator<Item = &Monitor> {
        self.watched.iter().map(|watched| &watched.monitor)
    }

    /// The plant, to join its bus.
    pub fn plant_mut(&mut self) -> &mut P {
        &mut self.plant
    }

    /// The trace so far.
    pub fn trace(&self) -> &Trace {
        &self.trace
    }

    /// Ends the run here and judges it.
    pub fn finish(self) -> Run {
        let judge = |watched: &Watched| {
            let judgement = watched.monitor.judge(|tick| self.trace.row(tick as usize));
            RequirementResult {
                id: watched.id.clone(),
                sentence: watched.sentence.clone(),
                hazard: watched.hazard.clone(),
                formula: watched.formula.clone(),
                verdict: judgement.verdict,
                margin: judgement.margin,
                unit: judgement.unit,
                at: judgement.at.map(|tick| f64::from(tick) * f64::from(M::PERIOD.micros()) / 1e6),
                explanation: judgement.explanation.text,
                evidence: judgement.explanation.evidence,
            }
        };
        let results = self.watched.iter().map(judge).collect();
        Run {
            origin: self.scenario.origin.clone(),
            title: self.scenario.title.clone(),
            about: self.scenario.about.clone(),
            seed: self.scenario.seed,
            complete: self.tick == self.plan.ticks,
            results,
            events: self.events,
            hash: self.hasher.hash(),
            trace: self.trace,
        }
    }
}
