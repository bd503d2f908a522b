//! The search itself, by stateright, over states whose types are hidden: compiled once and not once a block.

use std::{
    any::Any,
    fmt,
    hash::{Hash, Hasher},
    sync::{Arc, Mutex, PoisonError},
};

use stateright::{Checker, HasDiscoveries, Model, Path, Property};

use super::Expectation;

/// Name of the property that merged states behave alike.
pub const ALIKE: &str = "states that are taken for one behave alike";

/// A state of the search.
#[derive(Clone)]
pub struct Spot {
    /// Hash of block and memory, without what the block's merge leaves out.
    pub key: u64,
    /// Bit by requirement: the last step did not satisfy it (always), or met it (sometimes).
    pub marks: u32,
    /// It behaves as the first of those that it is taken for one with.
    pub alike: bool,
    /// Block and memory.
    pub inside: Arc<dyn Any + Send + Sync>,
}

impl Spot {
    fn identity(&self) -> (u64, u32, bool) {
        (self.key, self.marks, self.alike)
    }
}

impl PartialEq for Spot {
    fn eq(&self, other: &Self) -> bool {
        self.identity() == other.identity()
    }
}

impl Hash for Spot {
    fn hash<H: Hasher>(&self, hasher: &mut H) {
        self.identity().hash(hasher);
    }
}

impl fmt::Debug for Spot {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.identity().fmt(formatter)
    }
}

/// A block with one configuration, as the search needs it.
pub trait Scene: Send + Sync {
    /// The state at the start.
    fn begin(&self) -> Spot;
    /// How many inputs there are.
    fn inputs(&self) -> usize;
    /// The state after one of them.
    fn step(&self, from: &Spot, input: usize) -> Option<Spot>;
    /// An input in words.
    fn spelled(&self, input: usize) -> String;
    /// What is required.
    fn expected(&self) -> Vec<(&'static str, Expectation)>;
}

/// When a search ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Until {
    /// Every state was expanded with every input.
    AllIsSeen,
    /// A requirement is broken.
    OneIsBroken,
}

/// What a search went through and found.
pub struct Searched {
    /// States that were reached.
    pub states: u64,
    /// Steps that were taken from them.
    pub transitions: u64,
    /// What is broken or was never reached, with the inputs that lead there.
    pub findings: Vec<String>,
}

/// Goes through a scene, breadth first.
pub fn searched(scene: Arc<dyn Scene>, until: Until) -> Searched {
    let expected = scene.expected();
    assert!(expected.len() <= BY_PLACE.len(), "more requirements than there are tests by place");
    let mut search = Search(Arc::clone(&scene)).checker().threads(1);
    if until == Until::OneIsBroken {
        search = search.finish_when(HasDiscoveries::AnyFailures);
    }
    let checker = search.spawn_bfs().join();
    let found = checker.discoveries();
    let mut findings = Vec::new();
    let expected =
        expected.into_iter().zip(0..).map(|((name, expectation), place)| (name, expectation, Some(place)));
    for (name, expectation, place) in expected.chain([(ALIKE, Expectation::Always, None)]) {
        match (expectation, found.get(name)) {
            (Expectation::Sometimes, None) => findings.push(format!("never reached: {name}")),
            (Expectation::Always | Expectation::Planted, Some(path)) => {
                let way = shortest(&scene, place).unwrap_or_else(|| path.clone().into_actions());
                let words: Vec<String> = way.into_iter().map(|input| scene.spelled(input)).collect();
                findings.push(format!("broken: {name}; by {}", words.join(", ")));
            }
            _ => {}
        }
    }
    Searched {
        states: checker.unique_state_count() as u64,
        transitions: checker.state_count() as u64 - 1,
        findings,
    }
}

/// The shortest way to a broken requirement, or without a place to states that are wrongly taken for one.
///
/// The checker keeps the way to the last such state that it meets. States are visited in the order of their distance,
/// so the first one visited is as near as any.
fn shortest(scene: &Arc<dyn Scene>, place: Option<u32>) -> Option<Vec<usize>> {
    let first = Arc::new(Mutex::new(None));
    let seen = Arc::clone(&first);
    let visitor = move |path: Path<Spot, usize>| {
        let spot = path.last_state();
        let broken = place.map_or(!spot.alike, |place| spot.marks & (1 << place) != 0);
        if broken {
            seen.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert_with(|| path.into_actions());
        }
    };
    Search(Arc::clone(scene)).checker().threads(1).visitor(visitor).spawn_bfs().join();
    first.lock().unwrap_or_else(PoisonError::into_inner).take()
}

struct Search(Arc<dyn Scene>);

impl Model for Search {
    type State = Spot;
    type Action = usize;

    fn init_states(&self) -> Vec<Spot> {
        vec![self.0.begin()]
    }

    fn actions(&self, _: &Spot, actions: &mut Vec<usize>) {
        actions.extend(0..self.0.inputs());
    }

    fn next_state(&self, last: &Spot, input: usize) -> Option<Spot> {
        self.0.step(last, input)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        let mut properties = vec![Property::always(ALIKE, |_: &Self, spot: &Spot| spot.alike)];
        for ((name, expectation), (always, sometimes)) in self.0.expected().into_iter().zip(BY_PLACE) {
            properties.push(match expectation {
                Expectation::Sometimes => Property::sometimes(name, sometimes),
                Expectation::Always | Expectation::Planted => Property::always(name, always),
            });
        }
        properties
    }
}

type Test = fn(&Search, &Spot) -> bool;

const fn by_place<const PLACE: u32>() -> (Test, Test) {
    (|_, spot| spot.marks & (1 << PLACE) == 0, |_, spot| spot.marks & (1 << PLACE) != 0)
}

/// A property's test may not capture anything, so there is a pair for each place: not marked, marked.
const BY_PLACE: [(Test, Test); 16] = [
    by_place::<0>(),
    by_place::<1>(),
    by_place::<2>(),
    by_place::<3>(),
    by_place::<4>(),
    by_place::<5>(),
    by_place::<6>(),
    by_place::<7>(),
    by_place::<8>(),
    by_place::<9>(),
    by_place::<10>(),
    by_place::<11>(),
    by_place::<12>(),
    by_place::<13>(),
    by_place::<14>(),
    by_place::<15>(),
];
