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

use std::{
    collections::{HashMap, hash_map::Entry},
    fmt::Debug,
    hash::{DefaultHasher, Hash, Hasher},
    sync::{Mutex, PoisonError},
    time::Instant,
};

use stateright::{Checker, HasDiscoveries, Model, Property};

pub use clipped::Merge;
pub use note::Run;

use crate::{
    proof::{Bench, Outcome},
    threads,
    walk::clipped::Clipped,
};

/// Name of the property that merged states behave alike.
pub const ALIKE: &str = "states that are taken for one behave alike";

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

/// A state of the search.
#[derive(Debug, Clone)]
pub struct Spot<W: Walked> {
    block: W::Block,
    memory: W::Memory,
    /// Bit by requirement: the last step did not satisfy it (always), or met it (sometimes).
    marks: u32,
    alike: bool,
}

impl<W: Walked> Hash for Spot<W> {
    fn hash<H: Hasher>(&self, hasher: &mut H) {
        self.block.hash(&mut Clipped::new(hasher, W::MERGE));
        self.memory.hash(hasher);
        self.marks.hash(hasher);
        self.alike.hash(hasher);
    }
}

impl<W: Walked> PartialEq for Spot<W> {
    fn eq(&self, other: &Self) -> bool {
        class::<W>(&self.block) == class::<W>(&other.block)
            && self.memory == other.memory
            && self.marks == other.marks
            && self.alike == other.alike
    }
}

/// What a block is taken for.
fn class<W: Walked>(block: &W::Block) -> u64 {
    let mut hasher = DefaultHasher::new();
    block.hash(&mut Clipped::new(&mut hasher, W::MERGE));
    hasher.finish()
}

/// The search space of one configuration.
struct Space<W: Walked> {
    rules: W,
    inputs: Vec<W::Input>,
    requirements: Vec<Requirement<W>>,
    /// The first block of each class.
    first_of_class: Mutex<HashMap<u64, W::Block>>,
}

impl<W: Walked> Space<W> {
    fn new(rules: W, requirements: Vec<Requirement<W>>) -> Self {
        Self { inputs: rules.inputs(), rules, requirements, first_of_class: Mutex::default() }
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

    fn is_like_the_first_of_its_class(&self, block: &W::Block) -> bool {
        let class = class::<W>(block);
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

impl<W: Walked> Model for Space<W> {
    type State = Spot<W>;
    type Action = W::Input;

    fn init_states(&self) -> Vec<Spot<W>> {
        vec![Spot { block: self.rules.block(), memory: W::Memory::default(), marks: 0, alike: true }]
    }

    fn actions(&self, _: &Spot<W>, actions: &mut Vec<W::Input>) {
        actions.extend_from_slice(&self.inputs);
    }

    fn next_state(&self, last: &Spot<W>, input: W::Input) -> Option<Spot<W>> {
        let mut block = last.block.clone();
        let output = W::step(&mut block, input);
        let mut memory = last.memory.clone();
        self.rules.remember(&mut memory, input, output);
        let moment = Moment { rules: &self.rules, before: &last.memory, input, output, after: &memory };
        let marks = self.marks(&moment);
        let alike = self.is_like_the_first_of_its_class(&block);
        Some(Spot { block, memory, marks, alike })
    }

    fn properties(&self) -> Vec<Property<Self>> {
        let mut properties = vec![Property::always(ALIKE, |_: &Self, spot: &Spot<W>| spot.alike)];
        for (requirement, (always, sometimes)) in self.requirements.iter().zip(by_place::<W>()) {
            properties.push(match requirement.expectation {
                Expectation::Sometimes => Property::sometimes(requirement.name, sometimes),
                Expectation::Always | Expectation::Planted => Property::always(requirement.name, always),
            });
        }
        properties
    }
}

type Test<W> = fn(&Space<W>, &Spot<W>) -> bool;

/// A property's test may not capture anything, so there is one for each place.
fn by_place<W: Walked>() -> [(Test<W>, Test<W>); 16] {
    const fn both<W: Walked, const PLACE: u32>() -> (Test<W>, Test<W>) {
        (|_, spot| spot.marks & (1 << PLACE) == 0, |_, spot| spot.marks & (1 << PLACE) != 0)
    }
    [
        both::<W, 0>(),
        both::<W, 1>(),
        both::<W, 2>(),
        both::<W, 3>(),
        both::<W, 4>(),
        both::<W, 5>(),
        both::<W, 6>(),
        both::<W, 7>(),
        both::<W, 8>(),
        both::<W, 9>(),
        both::<W, 10>(),
        both::<W, 11>(),
        both::<W, 12>(),
        both::<W, 13>(),
        both::<W, 14>(),
        both::<W, 15>(),
    ]
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
    assert!(right.len() <= by_place::<W>().len(), "more requirements than there are tests by place");
    let expected: Vec<(&'static str, Expectation)> =
        right.iter().map(|requirement| (requirement.name, requirement.expectation)).collect();
    let checker = Space::new(rules.clone(), right).checker().threads(1).spawn_bfs().join();
    let mut outcome = Outcome {
        configurations: 1,
        states: checker.unique_state_count() as u64,
        transitions: checker.state_count() as u64 - 1,
        ..Outcome::default()
    };
    let found = checker.discoveries();
    for (name, expectation) in expected.into_iter().chain([(ALIKE, Expectation::Always)]) {
        match (expectation, found.get(name)) {
            (Expectation::Sometimes, None) => {
                outcome.findings.push(format!("{rules:?}: never reached: {name}"));
            }
            (Expectation::Always, Some(path)) => {
                let way = path.clone().into_actions();
                outcome.findings.push(format!("{rules:?}: broken: {name}; by {way:?}"));
            }
            _ => {}
        }
    }
    if wrong.is_empty() {
        outcome
            .findings
            .push(format!("{rules:?}: no requirement is planted: nothing shows that a wrong one is found"));
    }
    for requirement in wrong {
        let name = requirement.name;
        if !finds(rules, requirement) {
            outcome.findings.push(format!("{rules:?}: planted, and not found to be wrong: {name}"));
        }
    }
    outcome
}

/// Whether the checker finds the step that breaks a planted requirement.
fn finds<W: Walked>(rules: &W, requirement: Requirement<W>) -> bool {
    let name = requirement.name;
    let space = Space::new(rules.clone(), vec![requirement]);
    let search = space.checker().threads(1).finish_when(HasDiscoveries::AnyFailures);
    search.spawn_bfs().join().discovery(name).is_some()
}
