//! The spring-applied park brake.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Rules of a [`ParkBrake`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ParkBrakeConfig {
    /// How long a stop may take before the brake comes on without standstill, 100 ms to 30 s: longer than the
    /// controlled stop of the drive.
    pub stop_time_out: Millis,
}

/// Why a [`ParkBrakeConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ParkBrakeConfigError {
    /// The time-out is outside 100 ms to 30 s.
    StopTimeOut(Millis),
}

impl fmt::Display for ParkBrakeConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::StopTimeOut(given) = self;
        let (low, high) = (ParkBrake::SHORTEST_TIME_OUT, ParkBrake::LONGEST_TIME_OUT);
        write!(
            formatter,
            "time-out of the stop of {given}: set {low} to {high}, longer than the controlled stop"
        )
    }
}

impl core::error::Error for ParkBrakeConfigError {}

/// What a [`ParkBrake`] looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ParkBrakeInputs {
    /// The drive is permitted.
    pub permitted: bool,
    /// There is pressure to hold the brake open and to drive.
    pub charge_pressure_good: bool,
    /// The machine stands, as [`Standstill`](super::Standstill) sees it.
    pub standstill: bool,
}

crate::choices! {
    /// What the park brake does.
    pub enum ParkBrakeState {
        /// The spring holds the machine; the valve is off.
        Applied = "applied",
        /// Held open; the valve is on.
        Released = "released",
        /// Still held open while the drive stops the machine.
        Stopping = "stopping",
    }
}

/// Releases the brake with permission and charge pressure, applies it when the machine stands.
///
/// After a loss of permission the brake waits for standstill, at most for the time-out of the stop; without charge
/// pressure it waits for nothing. Permission that comes back during the stop releases it again.
///
/// ```
/// use trunnion::guard::{ParkBrake, ParkBrakeConfig, ParkBrakeInputs, ParkBrakeState};
/// use trunnion::quantity::{Millis, Period};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let mut brake = ParkBrake::new(ParkBrakeConfig { stop_time_out: Millis::millis(2_000) }, TICK).unwrap();
/// let driving = ParkBrakeInputs { permitted: true, charge_pressure_good: true, standstill: false };
///
/// assert_eq!(brake.step(driving), ParkBrakeState::Released);
/// let stopping = ParkBrakeInputs { permitted: false, ..driving };
/// assert_eq!(brake.step(stopping), ParkBrakeState::Stopping);
/// assert!(brake.released());
/// assert_eq!(brake.step(ParkBrakeInputs { standstill: true, ..stopping }), ParkBrakeState::Applied);
/// ```
#[derive(Debug, Clone, Copy)]
pub struct ParkBrake {
    stop_time_out: u32,
    period: Period,
    stopping_for: u32,
    state: ParkBrakeState,
}

impl ParkBrake {
    /// Shortest time-out.
    pub const SHORTEST_TIME_OUT: Millis = Millis::millis(100);
    /// Longest time-out.
    pub const LONGEST_TIME_OUT: Millis = Millis::millis(30_000);

    /// Applied. Refuses a time-out outside its range.
    pub const fn new(config: ParkBrakeConfig, period: Period) -> Result<Self, ParkBrakeConfigError> {
        let given = config.stop_time_out;
        if given.ticks() < Self::SHORTEST_TIME_OUT.ticks() || given.ticks() > Self::LONGEST_TIME_OUT.ticks() {
            return Err(ParkBrakeConfigError::StopTimeOut(given));
        }
        let stop_time_out = period.steps(given);
        Ok(Self { stop_time_out, period, stopping_for: 0, state: ParkBrakeState::Applied })
    }

    /// Another time-out, also for a stop that is under way.
    pub fn reconfigure(&mut self, config: ParkBrakeConfig) -> Result<(), ParkBrakeConfigError> {
        self.stop_time_out = Self::new(config, self.period)?.stop_time_out;
        Ok(())
    }

    /// Applied at once.
    pub fn reset(&mut self) {
        self.stopping_for = 0;
        self.state = ParkBrakeState::Applied;
    }

    /// One period.
    pub fn step(&mut self, inputs: ParkBrakeInputs) -> ParkBrakeState {
        if inputs.permitted && inputs.charge_pressure_good {
            self.stopping_for = 0;
            self.state = ParkBrakeState::Released;
        } else if self.state == ParkBrakeState::Applied
            || !inputs.charge_pressure_good
            || inputs.standstill
            || self.stopping_for >= self.stop_time_out
        {
            self.reset();
        } else {
            self.stopping_for = self.stopping_for.saturating_add(1);
            self.state = ParkBrakeState::Stopping;
        }
        self.state
    }

    /// What the brake does.
    pub const fn state(&self) -> ParkBrakeState {
        self.state
    }

    /// True when the valve is energised.
    pub const fn released(&self) -> bool {
        !matches!(self.state, ParkBrakeState::Applied)
    }
}
