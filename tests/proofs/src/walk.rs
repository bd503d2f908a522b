//! Walks a block through every state that it can reach, with every input in every state.
//!
//! The state space is searched by an explicit-state checker (stateright): breadth first, each state expanded once,
//! with "always" and "sometimes" (reachable) properties. A state is the block, what an observer with a note-pad
//! remembers beside it, and which requirements the last step broke or met. The observer knows inputs and outputs only:
//! requirements are phrased over what can be seen from outside.
//!
//! **Scaling.** Blocks have no clock: they count steps and compare the count with a number of steps that was worked out
//! once, when the block was built. So times are walked as 0 to 4 steps instead of hundreds. A longer time adds states
//! that are one more step of the same waiting; it adds no comparison and no other way out. Every requirement names the
//! number of steps of the configuration, and must hold for each of several numbers, so that a requirement that held by
//! accident for one would fail for the next. Long times at odd periods are the properties' part.
//!
//! **Counters without end.** A few blocks count on after the count has ceased to matter. States that differ only in
//! counts beyond [`Merge::counts_above`], which is well above every limit that is walked, are taken for one.
//! That is checked and not believed: when a state falls together with another one, both are stepped with every input;
//! outputs must be equal and what follows must fall together too. It is the always-property [`ALIKE`].

mod clipped;
mod note;
mod search;

use std::{
    collections::{HashMap, hash_map::Entry},
    fmt::Debug,
    hash::{DefaultHasher, Hash, Hasher},
    sync::{Arc, Mutex, PoisonError},
    time::Instant,
};

pub use clipped::Merge;
pub use note::Run;
pub use search::ALIKE;

use crate::{
    proof::{Bench, Outcome},
    threads,
    walk::{
        clipped::Clipped,
        search::{Scene, Spot, Until, searched},
    },
};

/// A block with one configuration, its inputs, and what is required of it.
pub trait Walked: Clone + Debug + Send + Sync + 'static {
    /// The block.
    type Block: Clone + Debug + Hash + PartialEq + Send + Sync;
    /// What a step takes.
    type Input: Copy + Debug + PartialEq + Send + Sync;
    /// What a step gives.
    type Output: Copy + Debug + PartialEq;
    /// What an observer remembers.
    type Memory: Clone + Debug + Default + Hash + PartialEq + Send + Sync;
    /// Which states are taken for one.
    const MERGE: Merge = Merge::COUNTS;

    /// The block as it starts.
    fn block(&self) -> Self::Block;
    /// Every input that is told from others.
    fn inputs(&self) -> Vec<Self::Input>;
    /// One step of the block.
    fn step(block: &mut Self::Block, input: Self::Input) -> Self::Output;
    /// What the observer writes down after it.
    fn remember(&self, memory: &mut Self::Memory, input: Self::Input, output: Self::Output);
    /// What is required.
    fn requirements() -> Vec<Requirement<Self>>;
}

/// A step as the observer sees it.
pub struct Moment<'a, W: Walked> {
    /// The configuration.
    pub rules: &'a W,
    /// What was remembered before the step.
    pub before: &'a W::Memory,
    /// What the step took.
    pub input: W::Input,
    /// What it gave.
    pub output: W::Output,
    /// What is remembered now.
    pub after: &'a W::Memory,
}

/// What is expected of a requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expectation {
    /// It holds in every step.
    Always,
    /// Some step meets it.
    Sometimes,
    /// It is wrong on purpose: the checker has to find the step that breaks it.
    Planted,
}

/// A sentence and the test of a step.
pub struct Requirement<W: Walked> {
    /// The sentence.
    pub name: &'static str,
    /// What is expected of it.
    pub expectation: Expectation,
    holds: fn(&Moment<'_, W>) -> bool,
}

impl<W: Walked> Clone for Requirement<W> {
    fn clone(&self) -> Self {
        Self { ..*self }
    }
}

/// It holds in every step.
pub fn always<W: Walked>(name: &'static str, holds: fn(&Moment<'_, W>) -> bool) -> Requirement<W> {
    Requirement { name, expectation: Expectation::Always, holds }
}

/// Some step meets it.
pub fn sometimes<W: Walked>(name: &'static str, holds: fn(&Moment<'_, W>) -> bool) -> Requirement<W> {
    Requirement { name, expectation: Expectation::Sometimes, holds }
}

/// Wrong on purpose.
pub fn planted<W: Walked>(name: &'static str, holds: fn(&Moment<'_, W>) -> bool) -> Requirement<W> {
    Requirement { name, expectation: Expectation::Planted, holds }
}

/// A block and what is remembered beside it.
struct Inside<W: Walked> {
    block: W::Block,
    memory: W::Memory,
}

/// One configuration as the search sees it.
struct Space<W: Walked> {
    rules: W,
    inputs: Vec<W::Input>,
    requirements: Vec<Requirement<W>>,
    /// The first block of each class.
    first_of_class: Mutex<HashMap<u64, W::Block>>,
}

/// What a block is taken for.
fn class<W: Walked>(block: &W::Block) -> u64 {
    let mut hasher = DefaultHasher::new();
    block.hash(&mut Clipped::new(&mut hasher, W::MERGE));
    hasher.finish()
}

impl<W: Walked> Space<W> {
    fn new(rules: W, requirements: Vec<Requirement<W>>) -> Self {
        Self { inputs: rules.inputs(), rules, requirements, first_of_class: Mutex::default() }
    }

    fn spot(&self, block: W::Block, memory: W::Memory, marks: u32) -> Spot {
        let class = class::<W>(&block);
        let mut hasher = DefaultHasher::new();
        (class, &memory).hash(&mut hasher);
        let alike = self.is_like_the_first_of_its_class(class, &block);
        Spot { key: hasher.finish(), marks, alike, inside: Arc::new(Inside::<W> { block, memory }) }
    }

    fn marks(&self, moment: &Moment<'_, W>) -> u32 {
        let mut marks = 0;
        for (place, requirement) in self.requirements.iter().enumerate() {
            let wanted = requirement.expectation == Expectation::Sometimes;
            if (requirement.holds)(moment) == wanted {
                marks |= 1 << place;
            }
        }
        marks
    }

    fn is_like_the_first_of_its_class(&self, class: u64, block: &W::Block) -> bool {
        let first = match self.first_of_class.lock().unwrap_or_else(PoisonError::into_inner).entry(class) {
            Entry::Vacant(place) => {
                place.insert(block.clone());
                return true;
            }
            Entry::Occupied(first) => first.get().clone(),
        };
        first == *block || self.inputs.iter().all(|input| behave_alike::<W>(&first, block, *input))
    }
}

fn behave_alike<W: Walked>(one: &W::Block, other: &W::Block, input: W::Input) -> bool {
    let (mut one, mut other) = (one.clone(), other.clone());
    W::step(&mut one, input) == W::step(&mut other, input) && class::<W>(&one) == class::<W>(&other)
}

impl<W: Walked> Scene for Space<W> {
    fn begin(&self) -> Spot {
        self.spot(self.rules.block(), W::Memory::default(), 0)
    }

    fn inputs(&self) -> usize {
        self.inputs.len()
    }

    fn step(&self, from: &Spot, input: usize) -> Option<Spot> {
        let inside = from.inside.downcast_ref::<Inside<W>>()?;
        let input = *self.inputs.get(input)?;
        let (mut block, mut memory) = (inside.block.clone(), inside.memory.clone());
        let output = W::step(&mut block, input);
        self.rules.remember(&mut memory, input, output);
        let moment = Moment { rules: &self.rules, before: &inside.memory, input, output, after: &memory };
        let marks = self.marks(&moment);
        Some(self.spot(block, memory, marks))
    }

    fn spelled(&self, input: usize) -> String {
        self.inputs.get(input).map_or_else(String::new, |input| format!("{input:?}"))
    }

    fn expected(&self) -> Vec<(&'static str, Expectation)> {
        self.requirements.iter().map(|requirement| (requirement.name, requirement.expectation)).collect()
    }
}

/// Walks a family of configurations.
pub fn family<W: Walked>(bench: &Bench<'_>, name: &str, family: &[W]) -> Outcome {
    let began = Instant::now();
    bench.progress.begin(name, family.len() as u64);
    let outcomes = threads::in_order(bench.threads, family.len() as u64, |place| {
        let outcome = walked(&family[place as usize]);
        bench.progress.advance(1);
        outcome
    });
    let mut outcome = Outcome::default();
    let mut largest = (0, 0);
    for one in outcomes {
        largest = largest.max((one.states, one.transitions));
        outcome.add(one);
    }
    outcome.measured =
        vec![format!("largest configuration: {} states, {} transitions", largest.0, largest.1)];
    outcome.timed(began.elapsed())
}

/// What was required of a walk, without what is planted.
pub fn claims<W: Walked>() -> Vec<&'static str> {
    let real = |requirement: &Requirement<W>| requirement.expectation != Expectation::Planted;
    W::requirements().into_iter().filter(real).map(|requirement| requirement.name).collect()
}

/// Walks one configuration; the planted requirements are looked for in searches of their own.
pub fn walked<W: Walked>(rules: &W) -> Outcome {
    let (wrong, right): (Vec<_>, Vec<_>) = W::requirements()
        .into_iter()
        .partition(|requirement| requirement.expectation == Expectation::Planted);
    let searched = searched(Arc::new(Space::new(rules.clone(), right)), Until::AllIsSeen);
    let mut outcome = Outcome {
        configurations: 1,
        states: searched.states,
        transitions: searched.transitions,
        findings: searched.findings,
        ..Outcome::default()
    };
    if wrong.is_empty() {
        outcome
            .findings
            .push("no requirement is planted: nothing shows that a wrong one is found".to_owned());
    }
    for requirement in wrong {
        let name = requirement.name;
        let space = Space::new(rules.clone(), vec![requirement]);
        if self::searched(Arc::new(space), Until::OneIsBroken).findings.is_empty() {
            outcome.findings.push(format!("planted, and not found to be wrong: {name}"));
        }
    }
    for finding in &mut outcome.findings {
        *finding = format!("{rules:?}: {finding}");
    }
    outcome
}
