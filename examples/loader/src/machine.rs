//! The control program as a machine that hosts and boards step.

use trunnion::declare::Refusal;
use trunnion::machine::{Boot, Machine};
use trunnion::quantity::Period;
use trunnion_can::mailbox::Filter;

use crate::control::coils::CoilLoop;
use crate::control::{Control, PERIOD};
use crate::declaration::{CoilReports, Diagnostics, Fault, Inputs, Outputs, Parameters, SetPoints};

/// The loader's controller.
///
/// Stored parameters that contradict one another are replaced by the defaults, with a fault. Should even those
/// be refused, which a test rules out, every output stays at its safe state.
#[derive(Debug, Clone)]
pub struct Loader {
    control: Result<Control, Refusal>,
}

impl Loader {
    /// The control program, or why it cannot run.
    pub fn control(&self) -> Result<&Control, Refusal> {
        self.control.as_ref().map_err(|refusal| *refusal)
    }

    /// The messages that the bus has to bring: both levers and the engine controller, in the order of the slots.
    pub fn filters(parameters: &Parameters) -> [Filter; 5] {
        use trunnion_can::id::pgn;
        let from = |group, source| Filter { pgn: group, source };
        [
            from(pgn::BASIC_JOYSTICK_1, parameters.left_lever_address()),
            from(pgn::EXTENDED_JOYSTICK_1, parameters.left_lever_address()),
            from(pgn::BASIC_JOYSTICK_1, parameters.right_lever_address()),
            from(pgn::EXTENDED_JOYSTICK_1, parameters.right_lever_address()),
            from(pgn::ELECTRONIC_ENGINE_CONTROLLER_1, parameters.engine_address()),
        ]
    }
}

impl Machine for Loader {
    const PERIOD: Period = PERIOD;
    const FAST_STEPS: u8 = 10;
    type Parameters = Parameters;
    type Fast = CoilLoop;
    type Inputs = Inputs;
    type Outputs = Outputs;
    type Diagnostics = Diagnostics;
    type Faults = Fault;

    fn start(boot: &Boot<Parameters>) -> (Self, CoilLoop) {
        let built = |parameters: &Parameters, replaced| {
            Ok((Control::new(parameters, replaced)?, CoilLoop::new(parameters)?))
        };
        match built(&boot.parameters, false).or_else(|_: Refusal| built(&Parameters::default(), true)) {
            Ok((control, coils)) => (Self { control: Ok(control) }, coils),
            Err(refusal) => (Self { control: Err(refusal) }, CoilLoop::idle()),
        }
    }

    fn step(&mut self, inputs: &Inputs, report: &CoilReports) -> Outputs {
        match &mut self.control {
            Ok(control) => control.step(inputs, report),
            Err(_) => Outputs::default(),
        }
    }

    fn set_points(&self) -> SetPoints {
        self.control.as_ref().map_or_else(|_| SetPoints::default(), Control::set_points)
    }

    fn reconfigure(&mut self, fast: &mut CoilLoop, parameters: &Parameters) -> Result<(), Refusal> {
        let control = self.control.as_mut().map_err(|refusal| *refusal)?;
        let mut next = fast.clone();
        next.reconfigure(parameters)?;
        control.reconfigure(parameters)?;
        *fast = next;
        Ok(())
    }

    fn is_fault_active(&self, index: u16) -> bool {
        self.control.as_ref().is_ok_and(|control| control.faults().is_active(index))
    }

    fn diagnostics(&self) -> Diagnostics {
        self.control.as_ref().map_or_else(|_| Diagnostics::default(), Control::diagnostics)
    }
}
