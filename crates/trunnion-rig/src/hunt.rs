//! The hunt: a search for the story that breaks a requirement.
//!
//! ```text
//!  strategy ──► trials ──► field (all cores) ──► outcomes ──► strategy …
//!                                                   │
//!                              violation ──► shrink ┴─► scenario file
//! ```
//!
//! A [`Field`] is what is hunted in: a run that opens, goes on leg by leg, can be copied between two legs, and is
//! described by genes from 0 to 1. [`Stories`] makes one of a machine on its plant: what an operator's hands,
//! switches, faults, parameters and the surroundings may do. A [`Strategy`] chooses the trials:
//!
//! | strategy | chooses |
//! |---|---|
//! | [`Uniform`] | every gene by lot |
//! | [`Evolution`] | CMA-ES around the best, restarted with a larger population when it stalls |
//! | [`Branching`] | branches off copies of earlier runs: from situations that were seldom seen, and from those that came nearest |
//!
//! The same seed gives the same trials and the same result on any number of threads: trials are made in rounds
//! whose size does not depend on the threads, and counted in the order in which they were made.

mod branching;
mod evolution;
mod field;
mod hand;
mod search;
mod shrink;
mod stories;
mod story;
mod territory;
mod uniform;

pub use branching::Branching;
pub use evolution::Evolution;
pub use field::{Field, Finding, Mark, Outcome, Start, Trial};
pub use search::{Budget, Found, Hunt, Progress, Report};
pub use shrink::{Shrunk, shrink};
pub use stories::{Chase, Stories};
pub use story::Story;
pub use territory::{Opening, Range, Territory, TerritoryError};
pub use uniform::Uniform;

/// Chooses what is tried.
pub trait Strategy<F: Field> {
    /// Its name.
    fn name(&self) -> &'static str;

    /// Hunts until the hunt is over: something was found, or the budget is spent.
    fn search(&mut self, hunt: &mut Hunt<'_, F>);
}

/// The names of the strategies, for a command line.
pub const STRATEGIES: [&str; 3] = ["uniform", "evolution", "branching"];

/// A strategy by its name.
pub fn strategy<F: Field>(name: &str, seed: u64) -> Option<Box<dyn Strategy<F>>> {
    match name {
        "uniform" => Some(Box::new(Uniform::new(seed))),
        "evolution" => Some(Box::new(Evolution::new(seed))),
        "branching" => Some(Box::new(Branching::<F::Run>::new(seed))),
        _ => None,
    }
}
