//! Processor in the loop: the image of a machine in an emulated board, stepped tick by tick.
//!
//! The host drives the plant with its own copy of the control program and lets the board answer the same
//! inputs. While all answers are equal, bit for bit, this is the same as driving the plant with the board; the
//! first difference stops the run and is named. So the host need not wait for an answer before it goes on: it
//! runs [`AHEAD`] ticks ahead.
//!
//! The emulator is `qemu-system-arm`, board `mps2-an386`. It is ended when the controller is dropped; a host
//! program that ends by `std::process::exit` leaves it behind, asleep.

mod answer_log;
mod difference;
mod emulator;
mod error;
mod link;
#[cfg(test)]
mod tests;

use std::collections::VecDeque;
use std::path::Path;
use std::time::{Duration, Instant};

use trunnion::machine::{Boot, FastInputs, FastOutputs, Machine};
use trunnion_board::host::{Answer, Host};

pub use answer_log::{LogLevel, LogLine};
pub use difference::Difference;
pub use error::VirtualControllerError;

use answer_log::AnswerLog;
use difference::Driven;
use emulator::Emulator;
use link::Link;

/// Ticks that are sent before the answer to the first of them is awaited.
pub const AHEAD: usize = 8;

/// What came in and what the host's copy drove in one tick.
pub struct ControlTick<'a, M: Machine> {
    /// What the fast loop measured, step by step: [`Machine::FAST_STEPS`] of them.
    pub fast_inputs: &'a [FastInputs<M>],
    /// What the wiring and the bus brought at the end of the tick.
    pub inputs: &'a M::Inputs,
    /// What the host's fast loop drove, step by step.
    pub fast_outputs: &'a [FastOutputs<M>],
    /// What the host's machine drives.
    pub outputs: &'a M::Outputs,
    /// Its internal points.
    pub diagnostics: &'a M::Diagnostics,
}

/// How a run on the board went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BoardRun {
    /// Ticks whose answers were equal.
    pub ticks: u32,
    /// The time that those ticks last on a machine.
    pub simulated: Duration,
    /// The time that they took here, the host's own work included.
    pub elapsed: Duration,
    /// Bytes to the board.
    pub bytes_sent: u64,
    /// Bytes from the board.
    pub bytes_received: u64,
}

impl BoardRun {
    /// Simulated time over elapsed time; 1 is real time.
    pub fn real_time_factor(&self) -> f64 {
        self.simulated.as_secs_f64() / self.elapsed.as_secs_f64().max(1e-9)
    }
}

/// A request whose answer is still to come, and what it must be.
enum Open<M: Machine> {
    Tick { tick: u32, driven: Box<Driven<M>> },
    Reconfiguration { tick: u32, accepted: bool },
}

/// A board that runs a machine's image.
pub struct VirtualController<M: Machine> {
    // Dropped in this order: the emulator last, for its connections are closed first.
    link: Link,
    log: AnswerLog,
    emulator: Emulator,
    host: Host<M>,
    open: VecDeque<Open<M>>,
    ticks: u32,
    started: Instant,
}

impl<M: Machine> VirtualController<M> {
    /// Starts the emulator with an image, and the machine in it.
    pub fn start(image: &Path, boot: &Boot<M::Parameters>) -> Result<Self, VirtualControllerError> {
        let log_table = answer_log::read_table(image)?;
        let (emulator, connections) = Emulator::start(image)?;
        let mut controller = Self {
            link: Link::new(connections.wire),
            log: AnswerLog::new(connections.log, log_table, log_names::<M>()),
            emulator,
            host: Host::start(boot),
            open: VecDeque::new(),
            ticks: 0,
            started: Instant::now(),
        };
        controller.start_machine(boot)?;
        Ok(controller)
    }

    /// Ends the last run as [`finish`](Self::finish) does and starts the machine anew, in the same emulator. After
    /// an error start another controller instead.
    pub fn restart(&mut self, boot: &Boot<M::Parameters>) -> Result<(), VirtualControllerError> {
        self.finish()?;
        self.host = Host::start(boot);
        self.start_machine(boot)
    }

    fn start_machine(&mut self, boot: &Boot<M::Parameters>) -> Result<(), VirtualControllerError> {
        self.ticks = 0;
        self.started = Instant::now();
        self.link.reset_counts();
        let request = self.host.start_request(boot);
        self.link.send(request).map_err(|source| self.emulator.broken_link(source))?;
        let message = self.link.receive("the start", &mut self.log, &mut self.emulator)?;
        match self.host.answer(message) {
            Ok(Answer::Started) => Ok(()),
            Ok(Answer::Refused(reason)) => Err(VirtualControllerError::refused(0, reason)),
            Ok(_) => Err(VirtualControllerError::Unexpected { tick: 0 }),
            Err(nonsense) => Err(VirtualControllerError::nonsense(0, nonsense)),
        }
    }

    /// Lets the board do one tick. An answer that differs is told at the latest [`AHEAD`] ticks later, or by
    /// [`finish`](Self::finish).
    pub fn check(&mut self, tick: &ControlTick<'_, M>) -> Result<(), VirtualControllerError> {
        let request = self.host.period_request(tick.fast_inputs, tick.inputs);
        self.link.send(request).map_err(|source| self.emulator.broken_link(source))?;
        let driven = Box::new(Driven {
            fast_outputs: tick.fast_outputs.to_vec(),
            outputs: *tick.outputs,
            diagnostics: *tick.diagnostics,
        });
        self.open.push_back(Open::Tick { tick: self.ticks, driven });
        self.ticks += 1;
        self.await_answers(AHEAD)
    }

    /// Lets the board put a parameter set into effect between two ticks; `accepted` says whether the host's copy
    /// took it.
    pub fn reconfigure(
        &mut self,
        parameters: &M::Parameters,
        accepted: bool,
    ) -> Result<(), VirtualControllerError> {
        let request = self.host.reconfigure_request(parameters);
        self.link.send(request).map_err(|source| self.emulator.broken_link(source))?;
        self.open.push_back(Open::Reconfiguration { tick: self.ticks, accepted });
        self.await_answers(AHEAD)
    }

    /// Awaits all answers. The board stays ready for [`restart`](Self::restart).
    pub fn finish(&mut self) -> Result<BoardRun, VirtualControllerError> {
        self.await_answers(0)?;
        let period = Duration::from_micros(M::PERIOD.micros().into());
        Ok(BoardRun {
            ticks: self.ticks,
            simulated: period * self.ticks,
            elapsed: self.started.elapsed(),
            bytes_sent: self.link.bytes_sent(),
            bytes_received: self.link.bytes_received(),
        })
    }

    /// What the board has logged up to the last answer, oldest first; each line is given once.
    pub fn take_log(&mut self) -> Vec<LogLine> {
        self.log.take_lines()
    }

    fn await_answers(&mut self, still_open: usize) -> Result<(), VirtualControllerError> {
        while self.open.len() > still_open
            && let Some(open) = self.open.pop_front()
        {
            self.await_answer(&open)?;
        }
        Ok(())
    }

    fn await_answer(&mut self, open: &Open<M>) -> Result<(), VirtualControllerError> {
        let tick = match open {
            Open::Tick { tick, .. } | Open::Reconfiguration { tick, .. } => *tick,
        };
        let message = self.link.receive(&format!("tick {tick}"), &mut self.log, &mut self.emulator)?;
        let answer =
            self.host.answer(message).map_err(|nonsense| VirtualControllerError::nonsense(tick, nonsense))?;
        match (answer, open) {
            (Answer::Driven { fast_outputs, outputs, diagnostics }, Open::Tick { driven, .. }) => driven
                .difference(tick, fast_outputs, outputs, diagnostics)
                .map_or(Ok(()), |difference| Err(VirtualControllerError::Differs(difference))),
            (Answer::Reconfigured { accepted: board }, Open::Reconfiguration { accepted, .. }) => {
                if board == *accepted {
                    return Ok(());
                }
                Err(VirtualControllerError::ParametersDiffer { tick, accepted: *accepted })
            }
            (Answer::Refused(reason), _) => Err(VirtualControllerError::refused(tick, reason)),
            _ => Err(VirtualControllerError::Unexpected { tick }),
        }
    }
}

/// The names of a machine's faults, for log lines that carry their places only.
fn log_names<M: Machine>() -> Vec<&'static str> {
    use trunnion::declare::FaultSet;
    <M::Faults as FaultSet>::INFO.iter().map(|fault| fault.name).collect()
}
