//! One pump, one path, and the brake in step with it.

use core::fmt;

use crate::quantity::{Millis, Period, Ratio};

/// Times of a [`SinglePath`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct SinglePathConfig {
    /// From the brake valve on until the brake is open, 0 to 5 s.
    pub brake_opens_in: Millis,
    /// How long the machine stands with nothing asked before the brake comes on, 0 to 60 s.
    pub apply_after: Millis,
    /// How long a stop may take before the brake comes on without standstill, 100 ms to 30 s: longer than the ramp.
    pub stop_time_out: Millis,
}

/// Why a [`SinglePathConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SinglePathConfigError {
    /// The time to open is above 5 s.
    BrakeOpensIn(Millis),
    /// The time at standstill is above 60 s.
    ApplyAfter(Millis),
    /// The time-out of a stop is outside 100 ms to 30 s.
    StopTimeOut(Millis),
}

impl fmt::Display for SinglePathConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BrakeOpensIn(given) => {
                write!(formatter, "brake opens in {given}: set 0 ms to {}", SinglePath::LONGEST_OPENING)
            }
            Self::ApplyAfter(given) => {
                write!(
                    formatter,
                    "brake after {given} at standstill: set 0 ms to {}",
                    SinglePath::LONGEST_REST
                )
            }
            Self::StopTimeOut(given) => write!(
                formatter,
                "time-out of the stop of {given}: set {} to {}, longer than the ramp",
                SinglePath::SHORTEST_TIME_OUT,
                SinglePath::LONGEST_TIME_OUT
            ),
        }
    }
}

impl core::error::Error for SinglePathConfigError {}

/// What a [`SinglePath`] looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SinglePathInputs {
    /// The drive is permitted.
    pub permitted: bool,
    /// There is pressure to hold the brake open and to drive.
    pub charge_pressure_good: bool,
    /// What the lever asks for.
    pub drive: Ratio,
    /// The ramp behind this block is at zero and the machine does not turn a wheel.
    pub standstill: bool,
}

crate::choices! {
    /// Where the sequence of drive and brake is.
    pub enum SinglePathState {
        /// The brake holds; nothing drives.
        Braked = "braked",
        /// The brake valve is on; nothing drives yet.
        Opening = "opening",
        /// The brake is open; the lever drives.
        Driving = "driving",
        /// The brake is still open; the machine comes to rest.
        Stopping = "stopping",
    }
}

/// The drive of a machine with one path, a roller or a wheel loader, with its spring-applied brake in sequence.
///
/// - From `Braked`, with permission and charge pressure, a lever out of neutral opens the brake; the command follows only
///   after `brake_opens_in`, so that the pump never works against the brake. A lever that is let go of meanwhile closes it again.
/// - While `Driving` the command is the lever's; a change of direction keeps the brake open.
/// - With the lever at zero and the machine at rest for `apply_after` the brake comes on: it holds the slope.
/// - A loss of permission asks for zero (the ramp behind this block stops the machine) and brakes at standstill, or
///   after `stop_time_out`. Without charge pressure the brake comes on at once, since nothing can hold it open.
///   Permission that comes back during the stop does not drive on before standstill.
///
/// The command is for a ramp; it is zero in every state but `Driving`.
///
#[doc = include_str!("../../docs/propel-single_path.svg")]
///
/// ```
/// use trunnion::propel::{SinglePath, SinglePathConfig, SinglePathInputs, SinglePathState};
/// use trunnion::quantity::{Millis, Period, Ratio};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = SinglePathConfig {
///     brake_opens_in: Millis::millis(20),
///     apply_after: Millis::millis(1_000),
///     stop_time_out: Millis::millis(3_000),
/// };
/// let mut roller = SinglePath::new(config, TICK).unwrap();
/// let ahead = SinglePathInputs { permitted: true, charge_pressure_good: true, drive: Ratio::ONE, standstill: false };
///
/// assert_eq!([roller.step(ahead), roller.step(ahead)], [Ratio::ZERO; 2]);
/// assert!(roller.brake_open() && roller.state() == SinglePathState::Opening);
/// assert_eq!(roller.step(ahead), Ratio::ONE);
/// assert_eq!(roller.step(SinglePathInputs { permitted: false, ..ahead }), Ratio::ZERO);
/// assert!(roller.brake_open()); // until the ramp has stopped the machine
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct SinglePath {
    steps: Steps,
    period: Period,
    state: SinglePathState,
    /// Steps in this state, while `Driving` steps at rest.
    waited: u32,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Steps {
    opening: u32,
    rest: u32,
    stop: u32,
}

impl SinglePath {
    /// Longest time for the brake to open.
    pub const LONGEST_OPENING: Millis = Millis::millis(5_000);
    /// Longest time at standstill before the brake.
    pub const LONGEST_REST: Millis = Millis::millis(60_000);
    /// Shortest time-out of a stop.
    pub const SHORTEST_TIME_OUT: Millis = Millis::millis(100);
    /// Longest time-out of a stop.
    pub const LONGEST_TIME_OUT: Millis = Millis::millis(30_000);

    /// Braked. Refuses times outside their range.
    ///
    /// # Errors
    ///
    /// [`SinglePathConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: SinglePathConfig, period: Period) -> Result<Self, SinglePathConfigError> {
        let SinglePathConfig { brake_opens_in, apply_after, stop_time_out } = config;
        if brake_opens_in.ticks() > Self::LONGEST_OPENING.ticks() {
            return Err(SinglePathConfigError::BrakeOpensIn(brake_opens_in));
        }
        if apply_after.ticks() > Self::LONGEST_REST.ticks() {
            return Err(SinglePathConfigError::ApplyAfter(apply_after));
        }
        if stop_time_out.ticks() < Self::SHORTEST_TIME_OUT.ticks()
            || stop_time_out.ticks() > Self::LONGEST_TIME_OUT.ticks()
        {
            return Err(SinglePathConfigError::StopTimeOut(stop_time_out));
        }
        let steps = Steps {
            opening: period.steps(brake_opens_in),
            rest: period.steps(apply_after),
            stop: period.steps(stop_time_out),
        };
        Ok(Self { steps, period, state: SinglePathState::Braked, waited: 0 })
    }

    /// Other times, also for what is under way.
    ///
    /// # Errors
    ///
    /// [`SinglePathConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: SinglePathConfig) -> Result<(), SinglePathConfigError> {
        self.steps = Self::new(config, self.period)?.steps;
        Ok(())
    }

    /// Braked at once.
    pub fn reset(&mut self) {
        self.enter(SinglePathState::Braked);
    }

    /// One period: the command for the ramp.
    pub fn step(&mut self, inputs: SinglePathInputs) -> Ratio {
        let wanted = inputs.permitted && inputs.charge_pressure_good;
        match self.state {
            _ if !inputs.charge_pressure_good => self.enter(SinglePathState::Braked),
            SinglePathState::Braked if wanted && !inputs.drive.is_zero() => {
                self.enter(if self.steps.opening == 0 {
                    SinglePathState::Driving
                } else {
                    SinglePathState::Opening
                });
            }
            SinglePathState::Braked => {}
            SinglePathState::Opening => self.open(wanted && !inputs.drive.is_zero()),
            SinglePathState::Driving if !wanted => self.enter(SinglePathState::Stopping),
            SinglePathState::Driving => self.rest(inputs.drive.is_zero() && inputs.standstill),
            SinglePathState::Stopping => self.stop(inputs.standstill),
        }
        if self.state == SinglePathState::Driving { inputs.drive } else { Ratio::ZERO }
    }

    /// Where the sequence is.
    pub const fn state(&self) -> SinglePathState {
        self.state
    }

    /// True while the valve of the brake is to be on.
    pub const fn brake_open(&self) -> bool {
        !matches!(self.state, SinglePathState::Braked)
    }

    fn enter(&mut self, state: SinglePathState) {
        self.state = state;
        // The step that opens the brake, or begins the stop, is the first of its time; driving is no rest.
        self.waited = u32::from(state != SinglePathState::Driving);
    }

    fn open(&mut self, wanted: bool) {
        if !wanted {
            self.enter(SinglePathState::Braked);
        } else if self.waited >= self.steps.opening {
            self.enter(SinglePathState::Driving);
        } else {
            self.waited = self.waited.saturating_add(1);
        }
    }

    fn rest(&mut self, at_rest: bool) {
        if !at_rest {
            self.waited = 0;
        } else if self.waited >= self.steps.rest {
            self.enter(SinglePathState::Braked);
        } else {
            self.waited = self.waited.saturating_add(1);
        }
    }

    fn stop(&mut self, standstill: bool) {
        if standstill || self.waited >= self.steps.stop {
            self.enter(SinglePathState::Braked);
        } else {
            self.waited = self.waited.saturating_add(1);
        }
    }
}

#[cfg(test)]
mod tests;
