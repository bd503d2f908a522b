//! Several operator's stations, of which one commands.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Rules of a [`StationLatch`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StationLatchConfig {
    /// How long the claim, the released levers and the machine at rest must last, 50 ms to 5 s.
    pub hold: Millis,
}

/// Why a [`StationLatchConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StationLatchConfigError {
    /// The time is outside 50 ms to 5 s.
    Hold(Millis),
}

impl fmt::Display for StationLatchConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Hold(given) = self;
        write!(
            formatter,
            "levers released for {given} before a take-over: set {SHORTEST_HOLD} to {LONGEST_HOLD}"
        )
    }
}

impl core::error::Error for StationLatchConfigError {}

const SHORTEST_HOLD: Millis = Millis::millis(50);
const LONGEST_HOLD: Millis = Millis::millis(5_000);

/// What a [`StationLatch`] looks at, an entry a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StationLatchInputs<const N: usize> {
    /// Somebody wants to command from there: a seat taken, a button pressed.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    pub claimed: [bool; N],
    /// All levers there are released. A lever that is known to be broken may count as released: it asks for nothing, and it
    /// must not keep the sound station from taking over.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    pub neutral: [bool; N],
    /// The machine stands with nothing commanded.
    pub at_rest: bool,
}

/// What a [`StationLatch`] says after a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StationState {
    /// The station whose levers count, from 0 on; `None`: nobody's do.
    pub in_command: Option<u8>,
    /// The station that would take over and may not yet.
    pub waiting: Option<u8>,
    /// The command changed in this step.
    pub changed: bool,
}

/// Lets the levers of one station act, and hands them over only in neutral.
///
/// - The command passes to a station that alone is claimed, once the claim, the released levers of **all** stations and the
///   machine at rest have lasted for `hold`; until then the claim waits, and any of the three that goes starts the
///   time anew. So neither a lever held at the new place nor one left out at the old one moves the machine.
/// - While two are claimed nothing passes: a passenger sits down, the driver goes on.
/// - A station keeps the command until another one has it, also when nobody claims any: whether it may move with an empty
///   seat is for the permission to say.
/// - After power-up and after `reset` no station commands.
///
/// The time counts from the first step that saw all of it, so it is never shorter than `hold`. The state is small and
/// comparable, to be walked as a whole: waiting ends at `hold`.
///
#[doc = include_str!("../../docs/guard-station_latch.svg")]
///
/// ```
/// use trunnion::guard::{StationLatch, StationLatchConfig, StationLatchInputs};
/// use trunnion::quantity::{Millis, Period, Ratio};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let mut seats = StationLatch::<2>::new(StationLatchConfig { hold: Millis::millis(100) }, TICK).unwrap();
/// let rest = StationLatchInputs { claimed: [true, false], neutral: [true; 2], at_rest: true };
/// for _ in 0..11 {
///     seats.step(rest);
/// }
/// assert_eq!(seats.in_command(), Some(0));
///
/// // The driver slides over with a hand on the right lever: it does not act.
/// let held = StationLatchInputs { claimed: [false, true], neutral: [true, false], at_rest: true };
/// for _ in 0..1_000 {
///     assert_eq!(seats.step(held).waiting, Some(1));
/// }
/// assert_eq!(seats.chosen([Ratio::ZERO, Ratio::ONE]), Some(Ratio::ZERO));
/// for _ in 0..11 {
///     seats.step(StationLatchInputs { neutral: [true; 2], ..held });
/// }
/// assert_eq!(seats.in_command(), Some(1));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StationLatch<const N: usize> {
    hold: u32,
    period: Period,
    in_command: Option<u8>,
    contender: Option<u8>,
    /// Steps since the contender could have taken over, at most `hold`.
    waited: u32,
}

impl<const N: usize> StationLatch<N> {
    /// Shortest time.
    pub const SHORTEST_HOLD: Millis = SHORTEST_HOLD;
    /// Longest time.
    pub const LONGEST_HOLD: Millis = LONGEST_HOLD;

    /// Nobody commands. Refuses a time outside its range; a latch of no station, or of more than 200, does not compile.
    ///
    /// # Errors
    ///
    /// [`StationLatchConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: StationLatchConfig, period: Period) -> Result<Self, StationLatchConfigError> {
        const { assert!(N > 0 && N <= 200, "a latch has 1 to 200 stations") };
        if config.hold.ticks() < SHORTEST_HOLD.ticks() || config.hold.ticks() > LONGEST_HOLD.ticks() {
            return Err(StationLatchConfigError::Hold(config.hold));
        }
        Ok(Self { hold: period.steps(config.hold), period, in_command: None, contender: None, waited: 0 })
    }

    /// Another time; who commands stays, and what was waited counts.
    ///
    /// # Errors
    ///
    /// [`StationLatchConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: StationLatchConfig) -> Result<(), StationLatchConfigError> {
        self.hold = Self::new(config, self.period)?.hold;
        self.waited = self.waited.min(self.hold);
        Ok(())
    }

    /// Nobody commands, as after power-up.
    pub fn reset(&mut self) {
        self.in_command = None;
        self.contender = None;
        self.waited = 0;
    }

    /// One period.
    pub fn step(&mut self, inputs: StationLatchInputs<N>) -> StationState {
        let contender = alone(&inputs.claimed).filter(|place| self.in_command != Some(*place));
        let free = inputs.at_rest && inputs.neutral.iter().all(|neutral| *neutral);
        let waits_on = free && contender.is_some() && contender == self.contender;
        let lasted = waits_on && self.waited >= self.hold;
        if lasted {
            self.in_command = contender;
        }
        self.contender = if lasted || !free { None } else { contender };
        self.waited = if waits_on && !lasted { self.waited.saturating_add(1).min(self.hold) } else { 1 };
        StationState { in_command: self.in_command, waiting: contender.filter(|_| !lasted), changed: lasted }
    }

    /// The station whose levers count, from 0 on.
    pub const fn in_command(&self) -> Option<u8> {
        self.in_command
    }

    /// The entry of the station in command.
    pub fn chosen<T: Copy>(&self, of_stations: [T; N]) -> Option<T> {
        self.in_command.and_then(|place| of_stations.get(usize::from(place)).copied())
    }
}

/// The place of the only one that is claimed.
fn alone<const N: usize>(claimed: &[bool; N]) -> Option<u8> {
    let mut places = (0..N as u8).zip(claimed).filter(|(_, claimed)| **claimed).map(|(place, _)| place);
    let first = places.next();
    if places.next().is_some() { None } else { first }
}

#[cfg(test)]
mod tests;
