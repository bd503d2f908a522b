//! A control program: started once, stepped once a period, pure.
//!
//! All that the wiring and the bus bring is in the inputs, all that the machine drives is in the outputs:
//! no clock, no hardware, no allocation, no global state. A run is its [`Boot`] and its inputs; a snapshot is
//! a copy. So a laptop, an emulated processor and the controller give the same bits.

mod boot;
mod safe_start;
mod stepper;

pub use boot::{Boot, ResetCause};
pub use safe_start::{Program, SafeStart};
pub use stepper::Stepper;

use crate::declare::{FaultSet, ParameterSet, Record, Refusal};
use crate::quantity::Period;

/// A loop that runs several times a period: current control and its monitoring.
pub trait FastLoop: Clone + Send + Sync + 'static {
    /// What the machine asks of it, latched for a whole period; the default is safe.
    type SetPoints: Record;
    /// What it measures.
    type Inputs: Record;
    /// What it drives.
    type Outputs: Record;
    /// What it tells the machine at the end of a period.
    type Report: Copy + Default + Send + Sync + 'static;

    /// One step.
    fn step(&mut self, set_points: &Self::SetPoints, inputs: &Self::Inputs) -> Self::Outputs;

    /// What happened since the last report.
    fn report(&mut self) -> Self::Report;
}

/// Inputs of a machine's fast loop.
pub type FastInputs<M> = <<M as Machine>::Fast as FastLoop>::Inputs;
/// Outputs of a machine's fast loop.
pub type FastOutputs<M> = <<M as Machine>::Fast as FastLoop>::Outputs;

/// A control program.
pub trait Machine: Clone + Send + Sync + 'static {
    /// The period of [`step`](Self::step).
    const PERIOD: Period;
    /// Steps of the fast loop in one period.
    const FAST_STEPS: u8;

    /// Its parameter set.
    type Parameters: ParameterSet + Send + Sync + 'static;
    /// Its fast loop.
    type Fast: FastLoop;
    /// What the wiring and the bus bring.
    type Inputs: Record;
    /// What it drives and asks for.
    type Outputs: Record;
    /// What an engineer looks at from outside.
    type Diagnostics: Record;
    /// Its faults.
    type Faults: FaultSet;

    /// Starts the machine and its fast loop. Parameters that contradict one another are replaced by the
    /// defaults, and the machine says so by a fault.
    fn start(boot: &Boot<Self::Parameters>) -> (Self, Self::Fast);

    /// One period.
    fn step(&mut self, inputs: &Self::Inputs, report: &<Self::Fast as FastLoop>::Report) -> Self::Outputs;

    /// What the fast loop is to do until the next step.
    fn set_points(&self) -> <Self::Fast as FastLoop>::SetPoints;

    /// Puts a whole parameter set into effect, or refuses it as a whole.
    ///
    /// # Errors
    ///
    /// [`Refusal`]: which parameter contradicts which rule; nothing changes then.
    fn reconfigure(&mut self, fast: &mut Self::Fast, parameters: &Self::Parameters) -> Result<(), Refusal>;

    /// The set that a tester committed in the last step, taken once: the [`Stepper`] puts it into effect between that
    /// step and the next. A machine without a service port never has one.
    fn committed(&mut self) -> Option<Self::Parameters> {
        None
    }

    /// True while the fault in this place of the table is active.
    fn is_fault_active(&self, index: u16) -> bool;

    /// The internal points of the last step.
    fn diagnostics(&self) -> Self::Diagnostics;
}
