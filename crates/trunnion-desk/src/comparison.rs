//! Plots that set something beside something else: two laws, two ramps, one scenario with other parameters.

mod mixing;
mod overlay;
mod ramps;

use thiserror::Error;
use trunnion::propel::MixerConfigError;
use trunnion::ramp::{MotionRampConfigError, PairRampConfigError};
use trunnion_rig::language::Complaints;
use trunnion_rig::run::RigError;

pub use mixing::mixing_laws;
pub use overlay::{Overlay, overlay};
pub use ramps::ramps;

use crate::report::ReportError;

/// Why something could not be compared.
#[derive(Debug, Error, miette::Diagnostic)]
pub enum ComparisonError {
    /// A mixer cannot be built so.
    #[error("the mixing law cannot be drawn: {0}")]
    Mixer(#[from] MixerConfigError),
    /// A pair ramp cannot be built so.
    #[error("the pair ramp cannot be drawn: {0}")]
    PairRamp(#[from] PairRampConfigError),
    /// Independent ramps cannot be built so.
    #[error("the independent ramps cannot be drawn: {0}")]
    IndependentRamps(#[from] MotionRampConfigError),
    /// The machine has no scenario of that name.
    #[error("there is no scenario `{name}` to be compared; {expected}")]
    NoSuchScenario {
        /// What was asked for.
        name: String,
        /// The nearest, or all.
        expected: String,
    },
    /// The scenario cannot be run, or not with those parameters.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Scenario(#[from] Complaints),
    /// The machine's own declarations are wrong.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Rig(#[from] RigError),
    /// A curve draws what was not recorded.
    #[error(transparent)]
    Report(#[from] ReportError),
}
