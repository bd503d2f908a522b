use trunnion::declare::{Failure, Wire};
use trunnion::machine::{Boot, FastInputs, FastOutputs, Machine};
use trunnion_can::frame::Frame;

use super::way::Way;

/// The simulated rest of a machine: operator's controls, wiring, bus devices, engine, hydraulics, ground.
///
/// A plant is deterministic: the same seed and the same calls give the same values, bit for bit, on every
/// computer (`libm` instead of the platform's functions, no clock, no threads). Its fast step is one
/// [`Machine::FAST_STEPS`]th of the machine's period.
pub trait Plant<M: Machine>: Clone + Send + Sync + 'static {
    /// What an operator or the surroundings can do.
    const ACTIONS: &'static [ActionInfo];
    /// What can break.
    const BREAKS: &'static [BreakInfo];
    /// What is true of the machine, whatever its sensors say.
    const OBSERVATIONS: &'static [ObservationInfo];

    /// A plant with all actions at rest and nothing broken.
    fn start(seed: u64) -> Self;

    /// Takes over what the controller's shell sets up from its parameters, such as which bus messages pass its
    /// filters. Called at start and after each accepted live write. Nothing by default.
    fn adopt(&mut self, _parameters: &M::Parameters) {}

    /// The set that the controller stored by itself since the last call, which it puts into effect with its next step.
    /// None by default.
    fn stored(&mut self) -> Option<M::Parameters> {
        None
    }

    /// What the controller is told when it starts anew before the next tick, if it ordered a restart or its supply
    /// failed since the last call. Never by default.
    fn restart(&mut self) -> Option<Boot<M::Parameters>> {
        None
    }

    /// Whether all that this plant has done so far, and does in its next period under these outputs, is the same with either
    /// of two parameter sets, one of which it has [adopted](Self::adopt) where the other could have been: then one run of it
    /// serves controllers with both ([`Twins`](super::Twins)). Adopting the other one makes it as if it had been there from the
    /// start. Never by default.
    fn is_alike(&self, _outputs: &M::Outputs, _one: &M::Parameters, _other: &M::Parameters) -> bool {
        false
    }

    /// Whether breaking or mending a signal, by its place, does the same whatever the parameters are. Never by default.
    fn breaks_alike(_place: u16) -> bool {
        false
    }

    /// Keeps from now on how it moves, for copies of it as it is now that are to [follow](Self::follow). Nothing by default.
    fn lead(&mut self) {}

    /// Follows one that has led since it was the same as this: as long as both are driven the same, what moves is taken over
    /// instead of being computed ([`SharedMotion`](crate::plant::SharedMotion)); the values are those that it would have alone.
    /// It must be told the same actions at the same times; what is broken may differ. Nothing by default.
    fn follow(&mut self, _leader: &mut Self) {}

    /// The machine's bus, if others may join it. None by default.
    fn bus(&mut self) -> Option<&mut dyn OnTheBus> {
        None
    }

    /// Puts an action, by its place in [`ACTIONS`](Self::ACTIONS), to a value in its unit, inside its range;
    /// for a choice the place of the choice. Called for every action before the first tick, later at the
    /// beginning of a tick at which the value differs.
    fn act(&mut self, action: u16, value: f64);

    /// Breaks a signal, by its place in [`BREAKS`](Self::BREAKS), in one of its ways.
    fn break_signal(&mut self, place: u16, way: Way);

    /// Mends everything that is broken about a signal.
    fn mend(&mut self, place: u16);

    /// What the fast loop measures now.
    fn fast_inputs(&mut self) -> FastInputs<M>;

    /// Moves on by one fast step under what the controller drives: the fast outputs of this step, and the
    /// outputs of the last period (the defaults before the first).
    fn advance(&mut self, fast: &FastOutputs<M>, outputs: &M::Outputs);

    /// What the machine reads now; called once a period, after its fast steps.
    fn inputs(&mut self) -> M::Inputs;

    /// The true values, one for each of [`OBSERVATIONS`](Self::OBSERVATIONS).
    fn observe(&self, values: &mut [f64]);
}

/// A plant whose bus others may join: testers, tools, further units.
pub trait OnTheBus {
    /// From now on [`traffic`](Self::traffic) is kept.
    fn listen(&mut self);

    /// A frame from outside, heard by all units at once; `false` when it does not find its way onto the bus.
    fn bring(&mut self, frame: &Frame) -> bool;

    /// Every frame that a unit of the plant or the controller sent since the last call, in their order; not those that
    /// were brought.
    fn traffic(&mut self) -> Vec<Frame>;

    /// From now on the plant's own units send nothing, and the controller hears only what is brought, in the period that
    /// comes next; [`traffic`](Self::traffic) gives what the controller sends. Its board has this serial number.
    fn play_back(&mut self, serial: u32);

    /// From now on the units with which a person asks for something, such as levers, send nothing, and what is brought stands
    /// in for them, in the period that comes next. All other units go on: what they say follows from the simulated machine.
    /// Its board has this serial number.
    fn play_demands(&mut self, serial: u32);

    /// Whether a frame is one of those that [`play_demands`](Self::play_demands) silences, with the present parameters.
    fn is_demand(&self, frame: &Frame) -> bool;

    /// Access codes that the board is asked about from now on are right, or wrong, whatever they are; `None` lets the board
    /// compare them itself.
    fn believe_codes(&mut self, right: Option<bool>);
}

/// Something that an operator or the surroundings can do: a control to move, a load to put on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ActionInfo {
    /// Name in scenarios; its column in the trace is `set_` and this name.
    pub name: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// Unit; empty for a choice.
    pub unit: &'static str,
    /// Smallest value.
    pub low: f64,
    /// Largest value.
    pub high: f64,
    /// Value when nobody touches it.
    pub rest: f64,
    /// Names of the values from 0 on; empty for a number.
    pub choices: &'static [&'static str],
}

const YES_NO: &[&str] = &["no", "yes"];

impl ActionInfo {
    /// A number between `low` and `high`.
    pub const fn number(
        name: &'static str,
        doc: &'static str,
        unit: &'static str,
        low: f64,
        high: f64,
        rest: f64,
    ) -> Self {
        Self { name, doc, unit, low, high, rest, choices: &[] }
    }

    /// Yes or no.
    pub const fn switch(name: &'static str, doc: &'static str, rest: bool) -> Self {
        Self::choice(name, doc, YES_NO, rest as u16)
    }

    /// One of several; `rest` is the place of one of them.
    pub const fn choice(
        name: &'static str,
        doc: &'static str,
        choices: &'static [&'static str],
        rest: u16,
    ) -> Self {
        let high = choices.len() as f64 - 1.0;
        Self { name, doc, unit: "", low: 0.0, high, rest: rest as f64, choices }
    }
}

/// A signal that can break, and how.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BreakInfo {
    /// Name of the signal or device in scenarios.
    pub signal: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// The steady ways in which the plant can break it.
    pub failures: &'static [Failure],
    /// The other ways: a scenario and a campaign know them, a hunt does not draw from them.
    pub beyond: &'static [Way],
}

impl BreakInfo {
    /// A signal that breaks in steady ways only.
    pub const fn steady(signal: &'static str, doc: &'static str, failures: &'static [Failure]) -> Self {
        Self { signal, doc, failures, beyond: &[] }
    }

    /// A signal that breaks in every way of a kind of wire.
    pub const fn wired(signal: &'static str, doc: &'static str, wire: Wire) -> Self {
        Self { signal, doc, failures: wire.failures(), beyond: Way::beyond(wire) }
    }

    /// Every way in which the plant can break it, in the order of their declaration.
    pub fn ways(&self) -> impl Iterator<Item = Way> + '_ {
        self.failures.iter().copied().map(Way::from).chain(self.beyond.iter().copied())
    }
}

/// A true value that the plant knows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ObservationInfo {
    /// Name of its column; begins with `true_`.
    pub name: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// Unit; empty for a bare number or a choice.
    pub unit: &'static str,
    /// Names of the values from 0 on; empty for a number.
    pub choices: &'static [&'static str],
}

impl ObservationInfo {
    /// A number.
    pub const fn number(name: &'static str, doc: &'static str, unit: &'static str) -> Self {
        Self { name, doc, unit, choices: &[] }
    }

    /// Yes or no.
    pub const fn switch(name: &'static str, doc: &'static str) -> Self {
        Self { name, doc, unit: "", choices: YES_NO }
    }

    /// One of several.
    pub const fn choice(name: &'static str, doc: &'static str, choices: &'static [&'static str]) -> Self {
        Self { name, doc, unit: "", choices }
    }
}
