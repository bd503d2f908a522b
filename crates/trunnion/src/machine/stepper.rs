//! The two loops of a controller, in the order that every host and every board keeps.

use super::{Boot, FastInputs, FastLoop, FastOutputs, Machine};
use crate::declare::Refusal;

/// A machine with its fast loop and the set-points latched between them.
///
/// Within one period come [`Machine::FAST_STEPS`] calls of [`fast_step`](Self::fast_step), then one of
/// [`step`](Self::step), whose set-points hold for the next period. A copy of it is a snapshot.
#[derive(Clone)]
pub struct Stepper<M: Machine> {
    machine: M,
    fast: M::Fast,
    set_points: <M::Fast as FastLoop>::SetPoints,
}

impl<M: Machine> Stepper<M> {
    /// Starts the machine; until its first step all set-points are safe.
    pub fn start(boot: &Boot<M::Parameters>) -> Self {
        let (machine, fast) = M::start(boot);
        Self { machine, fast, set_points: Default::default() }
    }

    /// One step of the fast loop on the latched set-points.
    pub fn fast_step(&mut self, inputs: &FastInputs<M>) -> FastOutputs<M> {
        self.fast.step(&self.set_points, inputs)
    }

    /// One step of the machine; latches the set-points for the fast loop.
    pub fn step(&mut self, inputs: &M::Inputs) -> M::Outputs {
        let report = self.fast.report();
        let outputs = self.machine.step(inputs, &report);
        self.set_points = self.machine.set_points();
        outputs
    }

    /// Puts a whole parameter set into effect between two periods, or refuses it as a whole.
    pub fn reconfigure(&mut self, parameters: &M::Parameters) -> Result<(), Refusal> {
        self.machine.reconfigure(&mut self.fast, parameters)
    }

    /// The machine, for its diagnostic signals.
    pub fn machine(&self) -> &M {
        &self.machine
    }
}
