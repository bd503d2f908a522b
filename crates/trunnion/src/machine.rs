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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::declare::{Access, Latch, Reactions};

    crate::signals! {
        /// All that it reads and shows.
        pub struct Level, pub enum LevelIndex {
            /// A level.
            level: u8 = 0;
        }
    }
    crate::parameters! {
        /// One of a kind.
        pub struct Set, pub enum SetIndex {
            /// What it shows.
            0x0001 shown: u8 = 1, in 0..=100, Access::Tune;
        }
    }
    crate::faults! {
        /// What can go wrong.
        pub enum Fault {
            /// Never.
            Never: spn 1, fmi 1, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 1, "nowhere";
        }
    }

    /// Both loops of a machine without a service port: it shows what its parameter says.
    #[derive(Debug, Clone)]
    struct Plain(Set);

    impl FastLoop for Plain {
        type SetPoints = Level;
        type Inputs = Level;
        type Outputs = Level;
        type Report = ();

        fn step(&mut self, set_points: &Level, _: &Level) -> Level {
            *set_points
        }

        fn report(&mut self) {}
    }

    impl Machine for Plain {
        const PERIOD: Period = Period::from_micros(10_000).unwrap();
        const FAST_STEPS: u8 = 1;
        type Parameters = Set;
        type Fast = Self;
        type Inputs = Level;
        type Outputs = Level;
        type Diagnostics = Level;
        type Faults = Fault;

        fn start(boot: &Boot<Set>) -> (Self, Self) {
            (Self(boot.parameters), Self(boot.parameters))
        }

        fn step(&mut self, _: &Level, (): &()) -> Level {
            self.diagnostics()
        }

        fn set_points(&self) -> Level {
            self.diagnostics()
        }

        fn reconfigure(&mut self, _: &mut Self, parameters: &Set) -> Result<(), Refusal> {
            self.0 = *parameters;
            Ok(())
        }

        fn is_fault_active(&self, _: u16) -> bool {
            false
        }

        fn diagnostics(&self) -> Level {
            Level { level: self.0.shown() }
        }
    }

    #[test]
    fn the_parameters_of_a_machine_without_a_service_port_stay_as_they_were_set() {
        let mut stepper = Stepper::<Plain>::start(&Boot::default());
        let mut parameters = Set::default();
        parameters.stage(SetIndex::shown.id(), 40).unwrap();
        stepper.reconfigure(&parameters).unwrap();
        for _ in 0..3 {
            assert_eq!(stepper.step(&Level::default()).level, 40);
        }
        assert_eq!(stepper.fast_step(&Level::default()).level, 40);
    }
}
