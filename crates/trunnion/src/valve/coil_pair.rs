//! The two opposite coils of one spool in the fast loop.

use core::fmt;

use super::{
    Coil, CoilConfig, CoilConfigError, PairExclusion, PairExclusionConfig, PairExclusionConfigError,
};
use crate::quantity::{Duty, Milliamps, Millivolts, Period};

/// Two opposite coils.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilPairConfig {
    /// One coil.
    pub a: CoilConfig,
    /// The opposite one.
    pub b: CoilConfig,
    /// When one may follow the other.
    pub exclusion: PairExclusionConfig,
}

/// Why a [`CoilPairConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CoilPairConfigError {
    /// The first coil.
    A(CoilConfigError),
    /// The opposite one.
    B(CoilConfigError),
    /// Their exclusion.
    Exclusion(PairExclusionConfigError),
}

impl fmt::Display for CoilPairConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::A(error) => write!(f, "coil a: {error}"),
            Self::B(error) => write!(f, "coil b: {error}"),
            Self::Exclusion(error) => error.fmt(f),
        }
    }
}

impl core::error::Error for CoilPairConfigError {}

/// Two opposite coils, never both driven.
///
/// The watch of each coil compares with what the exclusion let pass, not with what was asked for: a coil that
/// has to wait for the opposite one is not at fault.
///
/// ```
/// use trunnion::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period, Permille};
/// use trunnion::valve::{
///     CoilConfig, CoilPair, CoilPairConfig, CurrentLoopConfig, DitherConfig, PairExclusionConfig,
/// };
///
/// let ma = |raw| Milliamps::new(raw).unwrap();
/// let coil = CoilConfig {
///     control: CurrentLoopConfig {
///         resistance: Centiohms::new(530).unwrap(),
///         time_constant: Millis::millis(4),
///         proportional: Centiohms::new(530).unwrap(),
///         integral_time: Millis::millis(8),
///         lowest_supply: Millivolts::new(8_000).unwrap(),
///         highest_supply: Millivolts::new(16_000).unwrap(),
///         largest: ma(1_500),
///     },
///     dither: DitherConfig { amplitude: Milliamps::ZERO, cycle: Millis::millis(10) },
///     averaging: Millis::millis(10),
///     tolerance: Permille::new(100).unwrap(),
///     offset: ma(40),
///     stray: ma(60),
/// };
/// let exclusion = PairExclusionConfig { released: ma(50), pause: Millis::millis(5) };
/// let config = CoilPairConfig { a: coil, b: coil, exclusion };
/// let mut boom = CoilPair::new(config, Period::from_micros(1_000).unwrap())?;
///
/// let supply = Some(Millivolts::new(12_600).unwrap());
/// let (raise, lower) = boom.step((ma(400), ma(400)), (Milliamps::ZERO, Milliamps::ZERO), supply);
/// assert_eq!((raise, lower), (Duty::ZERO, Duty::ZERO)); // both at once is a contradiction
/// # Ok::<(), trunnion::valve::CoilPairConfigError>(())
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilPair {
    a: Coil,
    b: Coil,
    exclusion: PairExclusion,
}

impl CoilPair {
    /// Checks the config and resolves it to one period of the fast loop.
    pub const fn new(config: CoilPairConfig, period: Period) -> Result<Self, CoilPairConfigError> {
        let a = match Coil::new(config.a, period) {
            Ok(coil) => coil,
            Err(error) => return Err(CoilPairConfigError::A(error)),
        };
        let b = match Coil::new(config.b, period) {
            Ok(coil) => coil,
            Err(error) => return Err(CoilPairConfigError::B(error)),
        };
        let exclusion = match PairExclusion::new(config.exclusion, period) {
            Ok(exclusion) => exclusion,
            Err(error) => return Err(CoilPairConfigError::Exclusion(error)),
        };
        Ok(Self { a, b, exclusion })
    }

    /// Takes another config, or refuses it as a whole and keeps the present one. Loops keep their state; both
    /// coils have to be released before either is driven again.
    pub const fn reconfigure(&mut self, config: CoilPairConfig) -> Result<(), CoilPairConfigError> {
        let mut changed = *self;
        if let Err(error) = changed.a.reconfigure(config.a) {
            return Err(CoilPairConfigError::A(error));
        }
        if let Err(error) = changed.b.reconfigure(config.b) {
            return Err(CoilPairConfigError::B(error));
        }
        if let Err(error) = changed.exclusion.reconfigure(config.exclusion) {
            return Err(CoilPairConfigError::Exclusion(error));
        }
        *self = changed;
        Ok(())
    }

    /// Back to the state of a new pair.
    pub const fn reset(&mut self) {
        self.a.reset();
        self.b.reset();
        self.exclusion.reset();
    }

    /// The duties for the coming step; set-points and measured currents are those of coil a, then coil b.
    pub fn step(
        &mut self,
        set: (Milliamps, Milliamps),
        measured: (Milliamps, Milliamps),
        supply: Option<Millivolts>,
    ) -> (Duty, Duty) {
        let (set_a, set_b) = self.exclusion.step(set.0, set.1, measured.0, measured.1);
        (self.a.step(set_a, measured.0, supply), self.b.step(set_b, measured.1, supply))
    }

    /// One coil, to look at.
    pub const fn a(&self) -> &Coil {
        &self.a
    }

    /// The opposite coil, to look at.
    pub const fn b(&self) -> &Coil {
        &self.b
    }

    /// What both coils did since the last report, coil a first; then starts a new one.
    pub fn take_reports(&mut self) -> (super::CoilReport, super::CoilReport) {
        (self.a.take_report(), self.b.take_report())
    }
}
