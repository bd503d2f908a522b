//! Two runs of a scenario that differ in parameters only, on one plant for as long as both controllers do the same.

use trunnion::declare::{ParameterSet, Record};
use trunnion::machine::Machine;

use super::{Change, Plant, Run, Session};

/// Two sessions of the same story with different parameters.
///
/// The plant is what a run costs. As long as both controllers have driven the same, bit for bit, and the plant says that it is
/// [alike](Plant::is_alike) with both sets, what they read is the same: the first one's plant serves both. At the first bit that
/// differs the second one goes on with a copy. As long as their rows are the same as well, the first one's record serves both,
/// and its monitors do, but for those whose formula names a parameter that differs. Each run is what its session would have given
/// by itself.
#[derive(Clone)]
pub struct Twins<M: Machine, P: Plant<M>> {
    first: Session<M, P>,
    second: Session<M, P>,
    together: bool,
    /// The record of the first one is that of both.
    one_record: bool,
    /// The requirements, by their place, that do not mean the same with both sets.
    own: Vec<bool>,
}

impl<M: Machine, P: Plant<M>> Twins<M, P> {
    /// Of two sessions that have not been stepped.
    pub fn new(first: Session<M, P>, second: Session<M, P>) -> Self {
        let (one, other) = (&first.scenario, &second.scenario);
        let together = first.plan.actions == second.plan.actions
            && first.boot.serial == second.boot.serial
            && one.seed == other.seed
            && one.length == other.length
            && one.settings == other.settings
            && one.events == other.events;
        let differs = |place: u16| first.parameters.raw(place) != second.parameters.raw(place);
        let infos = (0..).zip(M::Parameters::INFO).filter(|(place, _)| differs(*place));
        let differing: Vec<&str> = infos.map(|(_, info)| info.name).collect();
        let is_own = |formula: &str| words(formula).any(|word| differing.contains(&word));
        let own = first.watched.iter().map(|watched| is_own(&watched.formula)).collect();
        let watched = first.watched.iter().map(|watched| (&watched.id, &watched.formula));
        let one_record = together
            && first.recorded == second.recorded
            && watched.eq(second.watched.iter().map(|watched| (&watched.id, &watched.formula)));
        Self { first, second, together, one_record, own }
    }

    /// Steps both; `false` when they are over.
    pub fn step(&mut self) -> bool {
        if self.together && self.breaks_apart() {
            self.part();
        }
        if !self.together {
            let first = self.first.step().is_some();
            return self.second.step().is_some() || first;
        }
        let index = self.first.tick;
        if index >= self.first.plan.ticks || index >= self.second.plan.ticks {
            self.part();
            return self.step();
        }
        self.first.happen(index);
        self.second.happen(index);
        let (first, second) = (&self.first, &self.second);
        if !first.plant.is_alike(&first.outputs, &first.parameters, &second.parameters) {
            self.part();
        }
        self.fast_steps();
        self.slow_step();
        true
    }

    /// What to bring over the bus, to each plant that runs.
    pub fn plants_mut(&mut self) -> impl Iterator<Item = &mut P> {
        let second = (!self.together).then_some(&mut self.second.plant);
        std::iter::once(&mut self.first.plant).chain(second)
    }

    /// The rows of the last tick, each as its session has it.
    pub fn rows(&self) -> [&[f64]; 2] {
        [&self.first.row, &self.second.row]
    }

    /// Ends both runs here and judges them.
    pub fn finish(mut self) -> [Run; 2] {
        self.part_records();
        [self.first.finish(), self.second.finish()]
    }

    /// Something is to break now that may break otherwise with another set.
    fn breaks_apart(&self) -> bool {
        let session = &self.first;
        let coming = session.plan.steps.get(session.next_step..).unwrap_or_default();
        let mut now = coming.iter().take_while(|step| step.tick <= session.tick);
        let deeds = !session.deeds.is_empty() || !self.second.deeds.is_empty();
        deeds
            || now.any(|step| match step.change {
                Change::Break { place, .. } | Change::Mend { place } => !P::breaks_alike(place),
                _ => false,
            })
    }

    /// From here on each has a plant of its own.
    fn part(&mut self) {
        self.together = false;
        self.second.plant = self.first.plant.clone();
        self.second.plant.adopt(&self.second.parameters);
        self.part_records();
    }

    /// From here on each has a record of its own; what is past was the same.
    fn part_records(&mut self) {
        if !std::mem::take(&mut self.one_record) {
            return;
        }
        self.second.trace = self.first.trace.clone();
        self.second.hasher = self.first.hasher.clone();
        let watched = self.second.watched.iter_mut().zip(&self.first.watched).zip(&self.own);
        for ((second, first), _) in watched.filter(|(_, own)| !**own) {
            second.monitor = first.monitor.clone();
        }
    }

    fn record(&mut self) {
        self.first.fill_row(None);
        self.second.fill_row(self.together.then_some(&self.first.plant));
        let alike_rows = |one: &[f64], other: &[f64]| {
            one.iter().map(|value| value.to_bits()).eq(other.iter().map(|value| value.to_bits()))
        };
        let (first, second) = (&self.first, &self.second);
        // What is hashed is not all in the rows.
        let alike_records =
            || same(&first.outputs, &second.outputs) && same(&first.diagnostics, &second.diagnostics);
        let alike =
            self.together && alike_rows(&first.row, &second.row) && (!first.recorded || alike_records());
        if !alike {
            self.part_records();
        }
        self.first.keep_row();
        if !self.one_record {
            return self.second.keep_row();
        }
        let own = self.second.watched.iter_mut().zip(&self.own).filter(|(_, own)| **own);
        own.for_each(|(watched, _)| watched.monitor.push(&self.second.row));
    }

    fn fast_steps(&mut self) {
        for session in [&mut self.first, &mut self.second] {
            session.fast_inputs.clear();
            session.fast_outputs.clear();
        }
        for _ in 0..M::FAST_STEPS {
            let inputs = self.first.plant.fast_inputs();
            let others = if self.together { inputs } else { self.second.plant.fast_inputs() };
            let (outputs, other_outputs) =
                (self.first.stepper.fast_step(&inputs), self.second.stepper.fast_step(&others));
            if self.together && !same(&outputs, &other_outputs) {
                self.part();
            }
            for (session, inputs, outputs) in
                [(&mut self.first, inputs, outputs), (&mut self.second, others, other_outputs)]
            {
                session.fast_inputs.push(inputs);
                session.fast_outputs.push(outputs);
            }
            self.first.plant.advance(&outputs, &self.first.outputs);
            if !self.together {
                self.second.plant.advance(&other_outputs, &self.second.outputs);
            }
        }
    }

    fn slow_step(&mut self) {
        self.first.inputs = self.first.plant.inputs();
        self.second.inputs = if self.together { self.first.inputs } else { self.second.plant.inputs() };
        for session in [&mut self.first, &mut self.second] {
            session.outputs = session.stepper.step(&session.inputs);
            session.diagnostics = session.stepper.machine().diagnostics();
        }
        let stored = self.first.plant.stored();
        if let Some(parameters) = stored {
            self.first.parameters = parameters;
        }
        if !self.together
            && let Some(parameters) = self.second.plant.stored()
        {
            self.second.parameters = parameters;
        }
        self.record();
        self.first.tick += 1;
        self.second.tick += 1;
        if self.together && !same(&self.first.outputs, &self.second.outputs) {
            self.part();
        }
    }
}

/// The names and keywords of a formula.
fn words(formula: &str) -> impl Iterator<Item = &str> {
    formula.split(|letter: char| !letter.is_alphanumeric() && letter != '_')
}

/// Every signal has the same raw value.
fn same<R: Record>(one: &R, other: &R) -> bool {
    (0..).zip(R::FIELDS).all(|(place, _)| one.get(place) == other.get(place))
}
