//! A control program whose parameters may be refused, started so that something safe always runs.

use super::{Boot, FastLoop, Machine};
use crate::declare::{FaultSet, ParameterSet, Record, Refusal};
use crate::quantity::Period;

/// A control program that is built from one parameter set, or says which parameter cannot be.
///
/// What a [`Machine`] is behind a [`SafeStart`]; its items mean the same there.
pub trait Program: Clone + Sized + Send + Sync + 'static {
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
    /// What it drives and asks for; the default of each is its safe state.
    type Outputs: Record;
    /// What an engineer looks at from outside.
    type Diagnostics: Record;
    /// Its faults.
    type Faults: FaultSet;

    /// Builds every block. `replaced`: these are the defaults because the stored set was damaged or refused, which is a
    /// fault.
    ///
    /// # Errors
    ///
    /// [`Refusal`]: which parameter contradicts which rule.
    fn new(boot: &Boot<Self::Parameters>, replaced: bool) -> Result<Self, Refusal>;

    /// Builds the fast loop.
    ///
    /// # Errors
    ///
    /// [`Refusal`]: which parameter contradicts which rule.
    fn fast(parameters: &Self::Parameters) -> Result<Self::Fast, Refusal>;

    /// The fast loop that is asked for nothing.
    fn idle_fast() -> Self::Fast;

    /// One period.
    fn step(&mut self, inputs: &Self::Inputs, report: &<Self::Fast as FastLoop>::Report) -> Self::Outputs;

    /// What the fast loop is to do until the next step.
    fn set_points(&self) -> <Self::Fast as FastLoop>::SetPoints;

    /// Puts a whole set into effect, or refuses it and changes nothing.
    ///
    /// # Errors
    ///
    /// [`Refusal`]: which parameter contradicts which rule.
    fn reconfigure(&mut self, parameters: &Self::Parameters) -> Result<(), Refusal>;

    /// The same for the fast loop, whose currents and estimates go on.
    ///
    /// # Errors
    ///
    /// [`Refusal`]: which parameter contradicts which rule; the loop is then as it was.
    fn reconfigure_fast(fast: &mut Self::Fast, parameters: &Self::Parameters) -> Result<(), Refusal>;

    /// The set that a tester committed in the last step, taken once.
    fn committed(&mut self) -> Option<Self::Parameters> {
        None
    }

    /// True while the fault in this place of the table is active.
    fn is_fault_active(&self, index: u16) -> bool;

    /// The internal points of the last step.
    fn diagnostics(&self) -> Self::Diagnostics;
}

/// The machine of a control program that may refuse its parameters.
///
/// - Stored parameters that contradict one another are replaced by the defaults as a whole, and the program tells it by a fault.
/// - Should even the defaults be refused, which a machine's test rules out, every output stays at its safe state, every
///   set-point at its default, and the fast loop idles.
/// - A live write is taken by both loops or by neither.
///
/// ```text
/// pub type Roller = SafeStart<Control>; // Control implements Program
/// ```
#[derive(Debug, Clone)]
pub struct SafeStart<P> {
    program: Result<P, Refusal>,
}

impl<P> SafeStart<P> {
    /// The control program, or why it cannot run.
    ///
    /// # Errors
    ///
    /// [`Refusal`]: why even the defaults cannot be built.
    pub fn control(&self) -> Result<&P, Refusal> {
        self.program.as_ref().map_err(|refusal| *refusal)
    }
}

impl<P: Program> Machine for SafeStart<P> {
    const PERIOD: Period = P::PERIOD;
    const FAST_STEPS: u8 = P::FAST_STEPS;
    type Parameters = P::Parameters;
    type Fast = P::Fast;
    type Inputs = P::Inputs;
    type Outputs = P::Outputs;
    type Diagnostics = P::Diagnostics;
    type Faults = P::Faults;

    fn start(boot: &Boot<P::Parameters>) -> (Self, P::Fast) {
        let built =
            |boot: &Boot<P::Parameters>, replaced| Ok((P::new(boot, replaced)?, P::fast(&boot.parameters)?));
        let defaults = Boot { parameters: P::Parameters::default(), ..*boot };
        match built(boot, boot.damaged).or_else(|_: Refusal| built(&defaults, true)) {
            Ok((program, fast)) => (Self { program: Ok(program) }, fast),
            Err(refusal) => (Self { program: Err(refusal) }, P::idle_fast()),
        }
    }

    fn step(&mut self, inputs: &P::Inputs, report: &<P::Fast as FastLoop>::Report) -> P::Outputs {
        match &mut self.program {
            Ok(program) => program.step(inputs, report),
            Err(_) => P::Outputs::default(),
        }
    }

    fn set_points(&self) -> <P::Fast as FastLoop>::SetPoints {
        self.program.as_ref().map_or_else(|_| Default::default(), P::set_points)
    }

    fn reconfigure(&mut self, fast: &mut P::Fast, parameters: &P::Parameters) -> Result<(), Refusal> {
        let program = self.program.as_mut().map_err(|refusal| *refusal)?;
        let mut next = fast.clone();
        P::reconfigure_fast(&mut next, parameters)?;
        program.reconfigure(parameters)?;
        *fast = next;
        Ok(())
    }

    fn committed(&mut self) -> Option<P::Parameters> {
        self.program.as_mut().ok().and_then(P::committed)
    }

    fn is_fault_active(&self, index: u16) -> bool {
        self.program.as_ref().is_ok_and(|program| program.is_fault_active(index))
    }

    fn diagnostics(&self) -> P::Diagnostics {
        self.program.as_ref().map_or_else(|_| Default::default(), P::diagnostics)
    }
}

#[cfg(test)]
mod tests;
