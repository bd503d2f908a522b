//! Hunts on a bench: a search, and the shrunk story of what it found.

use serde::{Deserialize, Serialize};
use thiserror::Error;
use trunnion_rig::hunt::{
    Budget, Hunt, Progress, Report, STRATEGIES, Stories, TerritoryError, shrink, strategy,
};
use trunnion_rig::language::Complaints;
use trunnion_rig::requirement::Requirement;
use trunnion_rig::run::{Rig, RigError};

use crate::bench::Bench;

/// Runs that shrinking may spend.
const SHRINKING: u32 = 1_500;

/// What a hunt is asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// One of [`STRATEGIES`].
    pub strategy: String,
    /// Of everything that is drawn.
    pub seed: u64,
    /// Runs at most.
    pub simulations: u64,
    /// Requirements that are hunted; all when empty.
    pub only: Vec<String>,
    /// Whether what is found is shrunk.
    pub shrink: bool,
}

/// What a hunt came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Catch {
    /// Of everything that was drawn.
    pub seed: u64,
    /// The account.
    pub report: Report,
    /// The violated requirement, if any.
    pub requirement: Option<String>,
    /// Its sentence.
    pub sentence: String,
    /// The story as the text of a scenario that violates it, shrunk if asked for.
    pub story: Option<String>,
    /// Runs that shrinking took.
    pub shrinking: u32,
}

/// Why a hunt cannot be.
#[derive(Debug, Error)]
pub enum HuntError {
    /// The machine says nothing on what may be tried.
    #[error("{0} declares no territory: nothing says what may be tried on it")]
    NoTerritory(&'static str),
    /// The territory is wrong.
    #[error(transparent)]
    Territory(#[from] TerritoryError),
    /// The requirements are wrong.
    #[error(transparent)]
    Rig(#[from] RigError),
    /// There is no such strategy.
    #[error("there is no strategy `{name}`; there are {}", STRATEGIES.join(", "))]
    Strategy {
        /// What was asked for.
        name: String,
    },
    /// There is no such requirement.
    #[error("{machine} has no requirement `{id}`")]
    Requirement {
        /// The machine's name.
        machine: &'static str,
        /// What was asked for.
        id: String,
    },
    /// A story that was told and does not violate the requirement: a mistake of the hunt.
    #[error("the story of run {0} does not violate {1} when it is replayed")]
    NotReplayed(u64, &'static str),
    /// A story that cannot be told: a mistake of the hunt.
    #[error("the story that was found cannot be told: {0}")]
    Story(#[from] Complaints),
}

/// Hunts on the threads of the current pool. `watch` is shown the progress and ends the hunt by saying `false`.
pub fn hunt<B: Bench>(
    order: &Order,
    watch: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Catch, HuntError> {
    let territory = B::TERRITORY.ok_or(HuntError::NoTerritory(B::NAME))?;
    let requirements = hunted::<B>(&order.only)?;
    let rig = Rig::<B::Machine, B::Plant>::new(&requirements)?;
    let stories = Stories::new(&rig, territory)?;
    let mut strategy = strategy(&order.strategy, order.seed)
        .ok_or_else(|| HuntError::Strategy { name: order.strategy.clone() })?;
    let budget = Budget { simulations: order.simulations };
    let report = Hunt::run(&stories, strategy.as_mut(), budget, watch);
    let mut caught = Catch {
        seed: order.seed,
        requirement: None,
        sentence: String::new(),
        story: None,
        shrinking: 0,
        report,
    };
    let Some(found) = &caught.report.found else { return Ok(caught) };
    let Some(requirement) = requirements.get(found.requirement) else { return Ok(caught) };
    let title = format!("{} violated: {}", requirement.id, requirement.sentence);
    let mut scenario = stories.scenario(&found.genes, &title)?;
    // Without shrinking, too: a story that does not replay is never handed out.
    let runs = if order.shrink { SHRINKING } else { 1 };
    let shrunk = shrink(&rig, &scenario, requirement.id, runs)
        .ok_or(HuntError::NotReplayed(found.simulation, requirement.id))?;
    scenario = shrunk.scenario;
    caught.shrinking = shrunk.runs;
    scenario.about = format!(
        "Found by the hunt ({}, seed {}, run {}){}.",
        order.strategy,
        order.seed,
        found.simulation,
        if order.shrink { " and made as short as it could be" } else { "" }
    );
    caught.requirement = Some(requirement.id.to_owned());
    caught.sentence = requirement.sentence.to_owned();
    caught.story = Some(scenario.to_string());
    Ok(caught)
}

fn hunted<B: Bench>(only: &[String]) -> Result<Vec<Requirement>, HuntError> {
    let unknown = only.iter().find(|id| B::REQUIREMENTS.iter().all(|known| known.id != **id));
    if let Some(id) = unknown {
        return Err(HuntError::Requirement { machine: B::NAME, id: id.clone() });
    }
    let wanted = |requirement: &&Requirement| only.is_empty() || only.iter().any(|id| id == requirement.id);
    Ok(B::REQUIREMENTS.iter().filter(wanted).copied().collect())
}
