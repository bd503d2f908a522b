//! Which way something turns, by two pulse trains a quarter apart.

use super::{Flaw, Reading};

crate::choices! {
    /// Which way something turns.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum TurnDirection {
        /// The first phase leads.
        Forward = "forward",
        /// The second phase leads.
        Reverse = "reverse",
    }
}

/// Numbers of edges of a [`TwoPhaseDirection`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TwoPhaseDirectionConfig {
    /// So many edges the same way make a direction, 2 to 32: a tooth that trembles before a sensor gives fewer.
    pub confirm: u8,
    /// After so many edges to and fro the direction is not known any more, 4 to 250: one phase is dead.
    pub stuck_after: u8,
}

/// Why a [`TwoPhaseDirectionConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TwoPhaseDirectionConfigError {
    /// `confirm` is outside its range.
    ConfirmOutOfRange {
        /// What was asked for.
        value: u8,
        /// The least that is allowed.
        least: u8,
        /// The most that is allowed.
        most: u8,
    },
    /// `stuck_after` is outside its range.
    StuckAfterOutOfRange {
        /// What was asked for.
        value: u8,
        /// The least that is allowed.
        least: u8,
        /// The most that is allowed.
        most: u8,
    },
}

impl core::fmt::Display for TwoPhaseDirectionConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (name, value, least, most) = match self {
            Self::ConfirmOutOfRange { value, least, most } => ("confirm", value, least, most),
            Self::StuckAfterOutOfRange { value, least, most } => ("stuck_after", value, least, most),
        };
        write!(formatter, "{name} is {value}; it must be {least} to {most}")
    }
}

impl core::error::Error for TwoPhaseDirectionConfigError {}

/// The direction and the position of a wheel with two pulse sensors, set a quarter of a tooth apart.
///
/// Counts every edge of both phases, four a tooth. Is to be stepped from the fast loop or an edge interrupt, at least once an edge: when
/// both phases have changed at once an edge was missed, and the direction is faulted as too fast until it is
/// confirmed anew. When one phase is dead, the other counts to and fro; that is a disagreement. A wheel that
/// trembles at standstill for as long looks the same, so the machine debounces this fault. Before the first
/// direction the reading is silent. A direction stays while the wheel stands, and turns only once `confirm`
/// edges came the other way.
///
#[doc = include_str!("../../docs/sense-two_phase_direction.svg")]
///
/// ```
/// use trunnion::sense::{Flaw, Reading, TurnDirection, TwoPhaseDirection, TwoPhaseDirectionConfig};
///
/// let mut motor =
///     TwoPhaseDirection::new(TwoPhaseDirectionConfig { confirm: 3, stuck_after: 8 }).unwrap();
/// let (low, high) = (false, true);
/// motor.step(low, low);
/// motor.step(high, low);
/// assert_eq!(motor.step(high, high), Reading::Faulted(Flaw::Silent));
/// assert_eq!(motor.step(low, high), Reading::Valid(TurnDirection::Forward));
/// assert_eq!(motor.edges(), 3);
/// assert_eq!(motor.step(high, low), Reading::Faulted(Flaw::TooFast));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TwoPhaseDirection {
    config: TwoPhaseDirectionConfig,
    /// The phases of the last step; nothing before the first.
    before: Option<(bool, bool)>,
    direction: Reading<TurnDirection>,
    /// Which way the last edge went, and how many before it went the same way.
    way: TurnDirection,
    same_way: u8,
    /// Edges that went the other way than the one before, since a direction was confirmed.
    to_and_fro: u8,
    edges: i32,
}

impl TwoPhaseDirection {
    /// Fewest and most edges that make a direction.
    pub const CONFIRM: (u8, u8) = (2, 32);
    /// Fewest and most edges to and fro.
    pub const STUCK_AFTER: (u8, u8) = (4, 250);

    /// Nothing seen. Refuses numbers outside their range.
    ///
    /// # Errors
    ///
    /// [`TwoPhaseDirectionConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: TwoPhaseDirectionConfig) -> Result<Self, TwoPhaseDirectionConfigError> {
        use TwoPhaseDirectionConfigError::*;
        let (least, most) = Self::CONFIRM;
        if config.confirm < least || config.confirm > most {
            return Err(ConfirmOutOfRange { value: config.confirm, least, most });
        }
        let (least, most) = Self::STUCK_AFTER;
        if config.stuck_after < least || config.stuck_after > most {
            return Err(StuckAfterOutOfRange { value: config.stuck_after, least, most });
        }
        Ok(Self {
            config,
            before: None,
            direction: Reading::Faulted(Flaw::Silent),
            way: TurnDirection::Forward,
            same_way: 0,
            to_and_fro: 0,
            edges: 0,
        })
    }

    /// Takes new numbers as a whole or refuses them as a whole; direction and position are kept.
    ///
    /// # Errors
    ///
    /// [`TwoPhaseDirectionConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(
        &mut self,
        config: TwoPhaseDirectionConfig,
    ) -> Result<(), TwoPhaseDirectionConfigError> {
        self.config = Self::new(config)?.config;
        Ok(())
    }

    /// Nothing seen, position zero.
    pub fn reset(&mut self) {
        self.before = None;
        self.direction = Reading::Faulted(Flaw::Silent);
        self.same_way = 0;
        self.to_and_fro = 0;
        self.edges = 0;
    }

    /// One step: the levels of both phases.
    pub fn step(&mut self, first: bool, second: bool) -> Reading<TurnDirection> {
        let (first_before, second_before) = self.before.unwrap_or((first, second));
        self.before = Some((first, second));
        match (first != first_before, second != second_before) {
            (false, false) => {}
            (true, true) => {
                self.direction = Reading::Faulted(Flaw::TooFast);
                self.same_way = 0;
            }
            // Forward, the first phase changes to what the second is not, and the second to what the first is.
            (true, false) => self.count(first != second),
            (false, true) => self.count(first == second),
        }
        self.direction
    }

    /// The direction of the last step.
    pub const fn direction(&self) -> Reading<TurnDirection> {
        self.direction
    }

    /// Position in edges, forward positive; wraps at the ends of 32 bits, so that differences stay right.
    pub const fn edges(&self) -> i32 {
        self.edges
    }

    fn count(&mut self, forward: bool) {
        let way = if forward { TurnDirection::Forward } else { TurnDirection::Reverse };
        self.edges = self.edges.wrapping_add(if forward { 1 } else { -1 });
        if way == self.way && self.same_way > 0 {
            self.same_way = self.same_way.saturating_add(1);
        } else {
            self.to_and_fro = self.to_and_fro.saturating_add(u8::from(self.same_way > 0));
            self.same_way = 1;
            self.way = way;
        }
        if self.same_way >= self.config.confirm {
            self.direction = Reading::Valid(way);
            self.to_and_fro = 0;
        } else if self.to_and_fro >= self.config.stuck_after {
            self.direction = Reading::Faulted(Flaw::Disagreement);
        }
    }
}

#[cfg(test)]
mod tests;
