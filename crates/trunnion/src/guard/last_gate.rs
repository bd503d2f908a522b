//! The gate after the valve room.

use core::fmt;

use crate::quantity::{Milliamps, Millis, Period};

/// Rules of a [`LastGate`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct LastGateConfig {
    /// How long current may take to die away, 10 ms to 1 s.
    pub decay: Millis,
    /// Current above this is no leftover, 1 mA to 500 mA.
    pub stray: Milliamps,
}

/// Why a [`LastGateConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LastGateConfigError {
    /// The time to decay is outside 10 ms to 1 s.
    Decay(Millis),
    /// The stray current is outside 1 mA to 500 mA.
    Stray(Milliamps),
}

impl fmt::Display for LastGateConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Decay(given) => write!(
                formatter,
                "decay time of {given}: set {} to {}",
                LastGate::SHORTEST_DECAY,
                LastGate::LONGEST_DECAY
            ),
            Self::Stray(given) => write!(
                formatter,
                "stray current of {} mA: set 1 mA to {} mA",
                given.raw(),
                LastGate::LARGEST_STRAY.raw()
            ),
        }
    }
}

impl core::error::Error for LastGateConfigError {}

crate::choices! {
    /// What the last gate lets through.
    pub enum GateState {
        /// Nothing may flow, and nothing does.
        Closed = "closed",
        /// Currents pass.
        Open = "open",
        /// Closed, yet current flows: cut the coil supply.
        Disagrees = "disagrees",
    }
}

/// Closes a group of coils at once and checks that their current has gone.
///
/// The caller sets every duty of the group to zero while the gate is not open, and resets ramps, current loops and
/// latches of motion with it. `Disagrees` comes when the gate was closed for longer than `decay` and the largest
/// measured current of the group is above `stray`; it goes with the current. Latching is the fault table's.
///
#[doc = include_str!("../../docs/guard-last_gate.svg")]
///
/// ```
/// use trunnion::guard::{GateState, LastGate, LastGateConfig};
/// use trunnion::quantity::{Milliamps, Millis, Period};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = LastGateConfig { decay: Millis::millis(50), stray: Milliamps::new(40).unwrap() };
/// let mut gate = LastGate::new(config, TICK).unwrap();
/// let flowing = Milliamps::new(350).unwrap();
///
/// assert_eq!(gate.step(true, flowing), GateState::Open);
/// for _ in 0..6 {
///     assert_eq!(gate.step(false, flowing), GateState::Closed);
/// }
/// assert_eq!(gate.step(false, flowing), GateState::Disagrees);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct LastGate {
    decay: u32,
    stray: Milliamps,
    period: Period,
    closed_for: u32,
    state: GateState,
}

impl LastGate {
    /// Shortest time to decay.
    pub const SHORTEST_DECAY: Millis = Millis::millis(10);
    /// Longest time to decay.
    pub const LONGEST_DECAY: Millis = Millis::millis(1_000);
    /// Largest current that may pass for a leftover.
    pub const LARGEST_STRAY: Milliamps = Milliamps::new(500).unwrap();

    /// Closed. Refuses a time or a current outside its range.
    ///
    /// # Errors
    ///
    /// [`LastGateConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: LastGateConfig, period: Period) -> Result<Self, LastGateConfigError> {
        if config.decay.ticks() < Self::SHORTEST_DECAY.ticks()
            || config.decay.ticks() > Self::LONGEST_DECAY.ticks()
        {
            return Err(LastGateConfigError::Decay(config.decay));
        }
        if config.stray.raw() == 0 || config.stray.raw() > Self::LARGEST_STRAY.raw() {
            return Err(LastGateConfigError::Stray(config.stray));
        }
        let decay = period.steps(config.decay);
        Ok(Self { decay, stray: config.stray, period, closed_for: 0, state: GateState::Closed })
    }

    /// Other rules; the gate stays as it is.
    ///
    /// # Errors
    ///
    /// [`LastGateConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: LastGateConfig) -> Result<(), LastGateConfigError> {
        let Self { decay, stray, .. } = Self::new(config, self.period)?;
        *self = Self { decay, stray, ..*self };
        Ok(())
    }

    /// Closed, with the whole time to decay ahead.
    pub fn reset(&mut self) {
        self.closed_for = 0;
        self.state = GateState::Closed;
    }

    /// One period; `measured` is the largest current of the group.
    pub fn step(&mut self, open: bool, measured: Milliamps) -> GateState {
        self.state = if open {
            self.closed_for = 0;
            GateState::Open
        } else {
            let decayed = self.closed_for > self.decay;
            self.closed_for = self.closed_for.saturating_add(1);
            if decayed && measured > self.stray { GateState::Disagrees } else { GateState::Closed }
        };
        self.state
    }

    /// The state after the last step.
    pub const fn state(&self) -> GateState {
        self.state
    }

    /// True when currents may pass.
    pub const fn is_open(&self) -> bool {
        matches!(self.state, GateState::Open)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: LastGateConfig =
        LastGateConfig { decay: Millis::millis(50), stray: Milliamps::new(40).unwrap() };
    const DECAY: u32 = 5;

    proptest! {
        #[test]
        fn it_disagrees_exactly_when_closed_for_longer_than_the_decay_with_more_than_stray_current(
            stream in proptest::collection::vec((any::<bool>(), 1usize..20, 0u16..=80), 1..20)
        ) {
            let mut gate = LastGate::new(CONFIG, TICK).unwrap();
            let mut periods_closed: Option<u32> = None;
            for (open, steps, current) in stream {
                for _ in 0..steps {
                    periods_closed = if open { None } else { Some(periods_closed.map_or(0, |periods| periods + 1)) };
                    let expected = match periods_closed {
                        None => GateState::Open,
                        Some(periods) if periods > DECAY && current > 40 => GateState::Disagrees,
                        Some(_) => GateState::Closed,
                    };
                    prop_assert_eq!(gate.step(open, Milliamps::new(current).unwrap()), expected);
                    prop_assert_eq!(gate.is_open(), open);
                }
            }
        }
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let decay = Millis::millis(1_001);
        let error = LastGate::new(LastGateConfig { decay, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(std::format!("{error}"), "decay time of 1001 ms: set 10 ms to 1000 ms");
        for stray in [Milliamps::ZERO, Milliamps::new(501).unwrap()] {
            let error = LastGate::new(LastGateConfig { stray, ..CONFIG }, TICK).unwrap_err();
            assert_eq!(error, LastGateConfigError::Stray(stray));
        }
    }

    four_verbs! {
        new: |config| LastGate::new(config, TICK),
        configs: (CONFIG, LastGateConfig { decay: Millis::millis(90), stray: Milliamps::new(200).unwrap() }),
        accepted: [
            LastGateConfig { decay: Millis::millis(10), ..CONFIG },
            LastGateConfig { decay: Millis::millis(1000), ..CONFIG },
            LastGateConfig { stray: Milliamps::new(1).unwrap(), ..CONFIG },
            LastGateConfig { stray: Milliamps::new(500).unwrap(), ..CONFIG },
        ],
        refused: [
            LastGateConfig { decay: Millis::millis(9), ..CONFIG } => "decay time of 9 ms: set 10 ms to 1000 ms",
            LastGateConfig { decay: Millis::millis(1001), ..CONFIG } => "decay time of 1001 ms: set 10 ms to 1000 ms",
            LastGateConfig { stray: Milliamps::new(0).unwrap(), ..CONFIG } => "stray current of 0 mA: set 1 mA to 500 mA",
            LastGateConfig { stray: Milliamps::new(501).unwrap(), ..CONFIG } => "stray current of 501 mA: set 1 mA to 500 mA",
        ],
        inputs: (any::<bool>(), 0u16..300),
        step: |block, (open, measured)| (block.step(open, Milliamps::new(measured).unwrap()), block.state(), block.is_open()),
        reset: |block| block.reset(),
    }
}
