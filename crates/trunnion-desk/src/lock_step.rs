//! A board that runs the machine's image beside the host's own copy, tick by tick.

use trunnion::declare::Refusal;
use trunnion::machine::{Boot, Machine};
use trunnion_rig::run::Tick;

use crate::virtual_controller::{BoardRun, ControlTick, LogLine, VirtualController, VirtualControllerError};

/// Something that runs a machine's image and tells the first value in which it differs from the host's copy.
pub trait Board<M: Machine> {
    /// Starts the machine anew, for the next run.
    fn restart(&mut self, boot: &Boot<M::Parameters>) -> Result<(), VirtualControllerError>;

    /// Lets the board do one tick and compares; a difference may be told some ticks later.
    fn check(&mut self, tick: &ControlTick<'_, M>) -> Result<(), VirtualControllerError>;

    /// Lets the board put a parameter set into effect; `accepted` says whether the host's copy took it.
    fn reconfigure(
        &mut self,
        parameters: &M::Parameters,
        accepted: bool,
    ) -> Result<(), VirtualControllerError>;

    /// Awaits what is still to come of this run.
    fn finish(&mut self) -> Result<BoardRun, VirtualControllerError>;

    /// What the board has logged; each line is given once.
    fn take_log(&mut self) -> Vec<LogLine>;
}

impl<M: Machine> Board<M> for VirtualController<M> {
    fn restart(&mut self, boot: &Boot<M::Parameters>) -> Result<(), VirtualControllerError> {
        Self::restart(self, boot)
    }

    fn check(&mut self, tick: &ControlTick<'_, M>) -> Result<(), VirtualControllerError> {
        Self::check(self, tick)
    }

    fn reconfigure(
        &mut self,
        parameters: &M::Parameters,
        accepted: bool,
    ) -> Result<(), VirtualControllerError> {
        Self::reconfigure(self, parameters, accepted)
    }

    fn finish(&mut self) -> Result<BoardRun, VirtualControllerError> {
        Self::finish(self)
    }

    fn take_log(&mut self) -> Vec<LogLine> {
        Self::take_log(self)
    }
}

/// Lets the board do a tick of a run, with the restart or the parameter write at its beginning.
pub fn follow<M: Machine>(
    board: &mut dyn Board<M>,
    tick: &Tick<'_, M>,
) -> Result<(), VirtualControllerError> {
    if tick.restarted {
        board.restart(tick.boot)?;
    }
    if let Some((parameters, result)) = tick.written {
        // What the set itself refuses never reaches a machine; only what the machine judged is compared.
        match result {
            Ok(()) => board.reconfigure(parameters, true)?,
            Err(Refusal::Contradiction { .. }) => board.reconfigure(parameters, false)?,
            Err(Refusal::Unknown { .. } | Refusal::OutOfRange { .. } | Refusal::Constant { .. }) => {}
        }
    }
    board.check(&ControlTick {
        fast_inputs: tick.fast_inputs,
        inputs: tick.inputs,
        fast_outputs: tick.fast_outputs,
        outputs: tick.outputs,
        diagnostics: tick.diagnostics,
    })
}
