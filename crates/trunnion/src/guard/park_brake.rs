//! The spring-applied park brake.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Rules of a [`ParkBrake`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ParkBrakeConfig {
    /// How long a stop may take before the brake comes on without standstill, 100 ms to 30 s: longer than the
    /// controlled stop of the drive.
    pub stop_time_out: Millis,
}

/// Why a [`ParkBrakeConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
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
#[doc = include_str!("../../docs/guard-park_brake.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
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
    ///
    /// # Errors
    ///
    /// [`ParkBrakeConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: ParkBrakeConfig, period: Period) -> Result<Self, ParkBrakeConfigError> {
        let given = config.stop_time_out;
        if given.ticks() < Self::SHORTEST_TIME_OUT.ticks() || given.ticks() > Self::LONGEST_TIME_OUT.ticks() {
            return Err(ParkBrakeConfigError::StopTimeOut(given));
        }
        let stop_time_out = period.steps(given);
        Ok(Self { stop_time_out, period, stopping_for: 0, state: ParkBrakeState::Applied })
    }

    /// Another time-out, also for a stop that is under way.
    ///
    /// # Errors
    ///
    /// [`ParkBrakeConfigError`], as for `new`; everything then stays as it was.
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: ParkBrakeConfig = ParkBrakeConfig { stop_time_out: Millis::millis(500) };
    const TIME_OUT: u32 = 50;

    fn stream() -> impl Strategy<Value = Vec<(ParkBrakeInputs, usize)>> {
        let inputs = (any::<bool>(), prop::bool::weighted(0.9), prop::bool::weighted(0.2)).prop_map(
            |(permitted, charge_pressure_good, standstill)| ParkBrakeInputs {
                permitted,
                charge_pressure_good,
                standstill,
            },
        );
        proptest::collection::vec((inputs, 1usize..70), 1..20)
    }

    proptest! {
        #[test]
        fn it_is_released_only_with_permission_and_charge_pressure(stream in stream()) {
            let mut brake = ParkBrake::new(CONFIG, TICK).unwrap();
            for (inputs, steps) in stream {
                for _ in 0..steps {
                    let before = brake.released();
                    let state = brake.step(inputs);
                    let may = inputs.permitted && inputs.charge_pressure_good;
                    prop_assert_eq!(state == ParkBrakeState::Released, may);
                    prop_assert!(before || !brake.released() || may, "released without permission");
                }
            }
        }

        #[test]
        fn without_charge_pressure_it_is_applied_at_once(stream in stream()) {
            let mut brake = ParkBrake::new(CONFIG, TICK).unwrap();
            for (inputs, steps) in stream {
                for _ in 0..steps {
                    brake.step(inputs);
                    prop_assert!(inputs.charge_pressure_good || !brake.released());
                }
            }
        }

        #[test]
        fn after_a_loss_of_permission_it_waits_for_standstill_but_not_beyond_the_time_out(stream in stream()) {
            let mut brake = ParkBrake::new(CONFIG, TICK).unwrap();
            let mut without_permission = u32::MAX;
            for (inputs, steps) in stream {
                for _ in 0..steps {
                    let may = inputs.permitted && inputs.charge_pressure_good;
                    without_permission = if may { 0 } else { without_permission.saturating_add(1) };
                    let before = brake.released();
                    let state = brake.step(inputs);
                    let stops = inputs.charge_pressure_good && !inputs.standstill && without_permission <= TIME_OUT;
                    prop_assert_eq!(state == ParkBrakeState::Stopping, before && !may && stops);
                }
            }
        }
    }

    #[test]
    fn a_time_out_outside_its_range_is_refused_with_the_range() {
        let stop_time_out = Millis::millis(50);
        let error = ParkBrake::new(ParkBrakeConfig { stop_time_out }, TICK).unwrap_err();
        assert_eq!(
            std::format!("{error}"),
            "time-out of the stop of 50 ms: set 100 ms to 30000 ms, longer than the controlled stop"
        );
    }

    four_verbs! {
        new: |config| ParkBrake::new(config, TICK),
        configs: (ParkBrakeConfig { stop_time_out: Millis::millis(150) }, ParkBrakeConfig { stop_time_out: Millis::millis(300) }),
        accepted: [
            ParkBrakeConfig { stop_time_out: Millis::millis(100) },
            ParkBrakeConfig { stop_time_out: Millis::millis(30000) },
        ],
        refused: [
            ParkBrakeConfig { stop_time_out: Millis::millis(99) } => "time-out of the stop of 99 ms: set 100 ms to 30000 ms, longer than the controlled stop",
            ParkBrakeConfig { stop_time_out: Millis::millis(30001) } => "time-out of the stop of 30001 ms: set 100 ms to 30000 ms, longer than the controlled stop",
        ],
        inputs: (any::<bool>(), prop::bool::weighted(0.9), prop::bool::weighted(0.2)).prop_map(
            |(permitted, charge_pressure_good, standstill)| ParkBrakeInputs { permitted, charge_pressure_good, standstill }
        ),
        step: |block, inputs| (block.step(inputs), block.state(), block.released()),
        reset: |block| block.reset(),
    }
}
