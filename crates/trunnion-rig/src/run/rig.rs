use std::fmt;
use std::marker::PhantomData;
use std::ops::ControlFlow;
use std::sync::Arc;

use miette::Diagnostic;
use thiserror::Error;
use trunnion::declare::ParameterSet;
use trunnion::machine::Machine;

use super::Run;
use super::plan::Cast;
use super::plant::Plant;
use super::session::{Session, Tick, Twins, Watched};
use crate::language::{Complaint, Complaints};
use crate::requirement::{Constant, Expression, Monitor, RESERVED, Requirement, Signal, Vocabulary};
use crate::scenario::Scenario;
use crate::trace::{ColumnInfo, ColumnKind, Layout};

/// A machine on a plant, with what it must always do: runs scenarios.
pub struct Rig<M, P> {
    layout: Layout,
    requirements: Vec<(Requirement, Expression)>,
    parts: PhantomData<fn() -> (M, P)>,
}

impl<M, P> Clone for Rig<M, P> {
    fn clone(&self) -> Self {
        Self { layout: self.layout.clone(), requirements: self.requirements.clone(), parts: PhantomData }
    }
}

impl<M, P> fmt::Debug for Rig<M, P> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Rig").field("layout", &self.layout).field("requirements", &self.requirements).finish()
    }
}

/// Why a rig cannot be built: something is wrong in the machine's own declarations.
#[derive(Debug, Error, Diagnostic)]
pub enum RigError {
    /// Names that make no sense together.
    #[error("names of this machine's columns: {}", .0.join("; "))]
    Names(Vec<String>),
    /// Requirements that cannot be checked against this machine.
    #[error("{}", .0.iter().map(Complaints::to_string).collect::<Vec<_>>().join("\n"))]
    Requirements(#[related] Vec<Complaints>),
}

impl<M: Machine, P: Plant<M>> Rig<M, P> {
    /// Checks names and requirements of the machine.
    pub fn new(requirements: &[Requirement]) -> Result<Self, RigError> {
        let layout = Layout::of::<M, P>();
        let wrong = wrong_names(&layout.columns);
        if !wrong.is_empty() {
            return Err(RigError::Names(wrong));
        }
        let rig = Self { layout, requirements: Vec::new(), parts: PhantomData };
        let vocabulary = rig.vocabulary(&M::Parameters::default());
        let mut checked = Vec::new();
        let mut complaints = Vec::new();
        for (place, requirement) in requirements.iter().enumerate() {
            let twice = requirements[..place].iter().any(|known| known.id == requirement.id);
            match check(requirement, twice, &vocabulary) {
                Ok(formula) => checked.push((*requirement, formula)),
                Err(complaint) => complaints.push(complaint),
            }
        }
        if !complaints.is_empty() {
            return Err(RigError::Requirements(complaints));
        }
        Ok(Self { requirements: checked, ..rig })
    }

    /// The columns of every trace of this rig.
    pub fn columns(&self) -> &[ColumnInfo] {
        &self.layout.columns
    }

    /// What the machine must always do.
    pub fn requirements(&self) -> impl Iterator<Item = &Requirement> {
        self.requirements.iter().map(|(requirement, _)| requirement)
    }

    /// Runs a scenario to its end. Refuses one that speaks of what this machine does not have, with every
    /// complaint at once.
    pub fn run(&self, scenario: &Scenario) -> Result<Run, Complaints> {
        self.run_watched(scenario, &mut |_| ControlFlow::Continue(()))
    }

    /// Runs a scenario and shows every tick to `watch`, which may end the run.
    pub fn run_watched(
        &self,
        scenario: &Scenario,
        watch: &mut dyn FnMut(&Tick<'_, M>) -> ControlFlow<()>,
    ) -> Result<Run, Complaints> {
        let mut session = self.start(scenario)?;
        while let Some(tick) = session.step() {
            if watch(&tick).is_break() {
                break;
            }
        }
        Ok(session.finish())
    }

    /// Runs a scenario with two parameter sets, the plant once for as long as both controllers do the same: what
    /// [`run`](Self::run) gives of each.
    pub fn run_twins(&self, first: &Scenario, second: &Scenario) -> Result<[Run; 2], Complaints> {
        let mut twins = Twins::new(self.start(first)?, self.start(second)?);
        while twins.step() {}
        Ok(twins.finish())
    }

    /// The same without trace and hash: what is wanted of a tick is taken from the rows of both, which `told` sees.
    pub fn run_twins_unrecorded(
        &self,
        first: &Scenario,
        second: &Scenario,
        told: &mut dyn FnMut([&[f64]; 2]),
    ) -> Result<[Run; 2], Complaints> {
        let mut twins = Twins::new(self.start_unrecorded(first)?, self.start_unrecorded(second)?);
        while twins.step() {
            told(twins.rows());
        }
        Ok(twins.finish())
    }

    /// Prepares a run that the caller steps.
    pub fn start(&self, scenario: &Scenario) -> Result<Session<M, P>, Complaints> {
        self.prepare(scenario, true)
    }

    /// A run that keeps neither trace nor hash: only its requirements are asked for, and copies are cheap.
    pub fn start_unrecorded(&self, scenario: &Scenario) -> Result<Session<M, P>, Complaints> {
        self.prepare(scenario, false)
    }

    /// A run without an end and without a record: what the scenario says happens, and then all stays as it is. For a
    /// machine that tools talk to.
    pub fn start_endless(&self, scenario: &Scenario) -> Result<Session<M, P>, Complaints> {
        Ok(self.prepare(scenario, false)?.without_end())
    }

    /// Whether a formula is true of a single row, with these parameters.
    #[cfg(feature = "hunt")]
    pub(crate) fn holds(
        &self,
        formula: &str,
        row: &[f64],
        parameters: &M::Parameters,
    ) -> Result<bool, Complaints> {
        let formula = format!("at 0 s ({formula})");
        let refuse = |complaint| Complaints::new("a state", &formula, vec![complaint]);
        let parsed = Expression::parse(&formula).map_err(refuse)?;
        let vocabulary = self.vocabulary(parameters);
        let mut monitor = Monitor::new(&parsed, &vocabulary).map_err(refuse)?;
        monitor.push(row);
        Ok(monitor.so_far().0)
    }

    fn prepare(&self, scenario: &Scenario, recorded: bool) -> Result<Session<M, P>, Complaints> {
        let refuse = |list: Vec<Complaint>| Complaints::new(&scenario.origin, &scenario.text, list);
        let cast = Cast {
            actions: P::ACTIONS,
            breaks: P::BREAKS,
            rules: M::Parameters::RULES,
            parameters: M::Parameters::INFO,
            period: M::PERIOD,
        };
        let plan = cast.plan::<M::Parameters>(scenario);
        let parameters = plan.as_ref().map_or_else(|_| M::Parameters::default(), |plan| plan.parameters);
        let watched = self.watched(scenario, &self.vocabulary(&parameters));
        match (plan, watched) {
            (Ok(plan), Ok(watched)) => {
                Ok(Session::new(scenario, plan, watched, &self.layout.columns, recorded))
            }
            (plan, watched) => {
                let mut list = plan.err().unwrap_or_default();
                list.extend(watched.err().unwrap_or_default());
                list.sort_by_key(|complaint| complaint.span.start);
                Err(refuse(list))
            }
        }
    }

    /// Monitors of the machine's requirements and of the scenario's own.
    fn watched(
        &self,
        scenario: &Scenario,
        vocabulary: &Arc<Vocabulary>,
    ) -> Result<Vec<Watched>, Vec<Complaint>> {
        let mut watched = Vec::new();
        let mut complaints = Vec::new();
        for (requirement, formula) in &self.requirements {
            // Bound before, when the rig was built; only values of parameters differ now.
            match Monitor::new(formula, vocabulary) {
                Ok(monitor) => watched.push(Watched::of_machine(requirement, formula, monitor)),
                Err(complaint) => {
                    let what = format!("requirement {}: {}", requirement.id, complaint.what);
                    complaints.push(Complaint { what, span: Default::default(), ..complaint });
                }
            }
        }
        for stated in &scenario.requirements {
            if self.requirements.iter().any(|(known, _)| known.id == stated.id.value) {
                let what = format!("the machine has a requirement `{}` of its own", stated.id.value);
                complaints.push(Complaint::new(stated.id.span, what).expected("another id"));
            }
            match Monitor::new(&stated.formula, vocabulary) {
                Ok(monitor) => watched.push(Watched::of_scenario(stated, monitor)),
                Err(complaint) => complaints.push(complaint),
            }
        }
        if complaints.is_empty() { Ok(watched) } else { Err(complaints) }
    }

    /// What formulas may speak of: all columns, and the parameters as they are at the start.
    fn vocabulary(&self, parameters: &M::Parameters) -> Arc<Vocabulary> {
        let signal = |column: &ColumnInfo| Signal {
            name: column.name.clone(),
            unit: column.unit.clone(),
            choices: column.choices.clone(),
        };
        let constant = |(place, info): (usize, &trunnion::declare::ParameterInfo)| Constant {
            signal: Signal {
                name: info.name.to_owned(),
                unit: info.unit.to_owned(),
                choices: info.choices.iter().map(|choice| (*choice).to_owned()).collect(),
            },
            value: f64::from(parameters.raw(u16::try_from(place).unwrap_or(u16::MAX)))
                * info.numerator as f64
                / info.denominator as f64,
        };
        Arc::new(Vocabulary {
            signals: self.layout.columns.iter().map(signal).collect(),
            constants: M::Parameters::INFO.iter().enumerate().map(constant).collect(),
            period: M::PERIOD,
        })
    }
}

fn check(
    requirement: &Requirement,
    twice: bool,
    vocabulary: &Arc<Vocabulary>,
) -> Result<Expression, Complaints> {
    let refuse = |complaint| {
        let origin = format!("requirement {}", requirement.id);
        Complaints::new(origin, requirement.formula, vec![complaint])
    };
    if twice {
        let complaint =
            Complaint::new(Default::default(), "this id stands twice").expected("an id of its own");
        return Err(refuse(complaint));
    }
    let formula = Expression::parse(requirement.formula).map_err(refuse)?;
    Monitor::new(&formula, vocabulary).map_err(refuse)?;
    Ok(formula)
}

/// Names that stand twice, that formulas could not speak of, or that lack their prefix.
fn wrong_names(columns: &[ColumnInfo]) -> Vec<String> {
    let mut wrong = Vec::new();
    for (place, column) in columns.iter().enumerate() {
        let name = &column.name;
        if let Some(earlier) = columns[..place].iter().find(|earlier| earlier.name == *name) {
            wrong.push(format!(
                "`{name}` stands twice, as {:?} and as {:?}: name one of them anew",
                earlier.kind, column.kind
            ));
        }
        let well_formed = name.chars().all(|c| c.is_alphanumeric() || c == '_')
            && name.starts_with(char::is_alphabetic)
            && !RESERVED.contains(&name.as_str());
        if !well_formed {
            wrong.push(format!("`{name}` is not a name that a formula could use: letters, digits and `_`"));
        }
        if column.kind == ColumnKind::Observation && !name.starts_with("true_") {
            wrong.push(format!("`{name}` is an observation: call it `true_{name}`"));
        }
    }
    wrong
}
