//! All cells, on all processors.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use thiserror::Error;
use trunnion::declare::{FaultSet, Latch};
use trunnion::machine::Machine;

use super::entered::{Entered, enter, replay};
use super::eyes::Eyes;
use super::judge::{CellResult, judged};
use super::order::Order;
use super::pair::{mistakes, pairs};
use super::state::{Charter, State};
use super::task::{Task, pair_name};
use super::{Cell, Expectations, Rule, RuleMistake, cells};
use crate::language::Complaints;
use crate::run::{Plant, Rig};

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
    /// A machine in which nothing is broken has a fault or breaks a requirement.
    #[error("state {state}: with nothing broken it comes to {wrong}")]
    Unsound {
        /// The state.
        state: &'static str,
        /// Faults and requirements.
        wrong: String,
    },
    /// A column that the declaration names does not exist.
    #[error("there is no column or choice `{0}`; see the list of columns")]
    NoColumn(String),
}

/// What a campaign has come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Campaign {
    /// How many cells the order names, whoever does them.
    pub ordered: u64,
    /// The cells of the order's part with their number in it, in its order.
    pub results: Vec<(u64, CellResult)>,
}

/// Runs the cells or pairs of an order; `told` hears of each that is done. The result does not depend on the number of threads.
pub fn run<M: Machine, P: Plant<M>>(
    rig: &Rig<M, P>,
    charter: &Charter,
    order: &Order,
    told: &(dyn Fn(&CellResult) + Sync),
) -> Result<Campaign, CampaignError> {
    let names: Vec<&'static str> = charter.states.iter().map(|state| state.name).collect();
    let faults: Vec<&str> = M::Faults::INFO.iter().map(|info| info.name).collect();
    let latches = faults.iter().zip(M::Faults::RULES);
    let until_restart = latches.filter(|(_, rule)| rule.latch == Latch::UntilRestart);
    let latched: Vec<&str> = until_restart.map(|(name, _)| *name).collect();
    let requirements: Vec<&str> = rig.requirements().map(|requirement| requirement.id).collect();
    let rules: Vec<Rule> = charter.rules.concat();
    let all = cells(P::BREAKS, &names);
    let expectations =
        Expectations::new(&all, &rules, &faults, &requirements).map_err(CampaignError::Rules)?;
    let wrong = mistakes(charter.together, &all, &faults, &requirements);
    if !wrong.is_empty() {
        return Err(CampaignError::Rules(wrong));
    }
    let eyes = Eyes::of(rig, charter)?;
    let work = Work::of(charter, &expectations, order);
    let ordered = order.choose(work.len(), |at| work.name(at));
    let mine = (0_u64..).zip(&ordered).filter(|(number, _)| order.shard.does(*number));
    let chosen: Vec<(u64, usize)> = mine.map(|(number, at)| (number, *at)).collect();
    let named: BTreeSet<&str> = chosen.iter().map(|(_, at)| work.state(*at)).collect();
    let wanted = |state: &&'static State| named.contains(state.name);
    let states: Vec<&'static State> = charter.states.iter().filter(wanted).collect();
    let entered: Result<Vec<Entered<M, P>>, CampaignError> =
        states.par_iter().map(|state| enter(rig, charter, state, &eyes)).collect();
    let entered: BTreeMap<&str, Entered<M, P>> =
        states.iter().map(|state| state.name).zip(entered?).collect();
    let results = chosen
        .par_iter()
        .filter_map(|(number, at)| {
            let task = work.task(*at, &faults)?;
            let entered = entered.get(task.state)?;
            let measured = entered.measure(&task, &eyes);
            let replay = replay(entered.state, charter, &task);
            let result = judged(&task, entered.state, &latched, measured, replay);
            told(&result);
            Some((*number, result))
        })
        .collect();
    Ok(Campaign { ordered: ordered.len() as u64, results })
}

/// A cell with its rule.
type Expected<'a> = Option<&'a (Cell, Rule)>;

/// The cells or the pairs, by their numbers.
struct Work<'a> {
    charter: &'a Charter,
    expectations: &'a Expectations,
    pairs: Option<Vec<(usize, usize)>>,
}

impl<'a> Work<'a> {
    fn of(charter: &'a Charter, expectations: &'a Expectations, order: &Order) -> Self {
        Self { charter, expectations, pairs: order.pairs.then(|| pairs(expectations, charter.one_thing)) }
    }

    fn len(&self) -> usize {
        self.pairs.as_ref().map_or(self.expectations.len(), Vec::len)
    }

    /// The cells of an item: two of a pair.
    fn cells(&self, at: usize) -> (Expected<'a>, Expected<'a>) {
        match &self.pairs {
            None => (self.expectations.get(at), None),
            Some(pairs) => {
                let cell = |number: Option<usize>| number.and_then(|number| self.expectations.get(number));
                let pair = pairs.get(at);
                (cell(pair.map(|(one, _)| *one)), cell(pair.map(|(_, other)| *other)))
            }
        }
    }

    fn name(&self, at: usize) -> String {
        match self.cells(at) {
            (Some((one, _)), Some((other, _))) => pair_name(one, other),
            (Some((cell, _)), None) => cell.to_string(),
            _ => String::new(),
        }
    }

    fn state(&self, at: usize) -> &'static str {
        self.cells(at).0.map_or("", |(cell, _)| cell.state)
    }

    fn task(&self, at: usize, faults: &[&str]) -> Option<Task> {
        match self.cells(at) {
            (Some(one), Some(other)) => {
                let mut elsewhere = self.expectations.faults_anywhere(&one.0, faults);
                elsewhere.extend(self.expectations.faults_anywhere(&other.0, faults));
                Some(Task::pair(one, other, &elsewhere, self.charter.together))
            }
            (Some((cell, rule)), None) => Some(Task::single(cell, rule)),
            _ => None,
        }
    }
}

/// What rules excuse and no cell showed, for a campaign of all cells: an excuse in vain hides the next mistake.
pub fn needless_excuses(charter: &Charter, results: &[CellResult]) -> Vec<String> {
    let mut seen: BTreeSet<(&str, &str)> = BTreeSet::new();
    for result in results {
        seen.extend(result.excused.iter().map(|name| (result.rule.as_str(), name.as_str())));
    }
    let mut needless = Vec::new();
    for rule in charter.rules.iter().copied().flatten() {
        let name = rule.to_string();
        let idle = rule.also.iter().filter(|also| !seen.contains(&(name.as_str(), **also)));
        needless.extend(
            idle.map(|also| format!("rule `{name}` excuses `{also}`, which never comes: take it out")),
        );
    }
    needless
}
