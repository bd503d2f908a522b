//! Two opposite coils of one spool: never both.

use core::fmt;

use crate::quantity::{Milliamps, Millis, Period};

/// When the opposite coil may be driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PairExclusionConfig {
    /// A coil counts as released at or below this measured current: below the threshold current of its valve
    /// and above the noise of its measurement. 1 mA to 1 A.
    pub released: Milliamps,
    /// How long a coil must be released before the opposite one may be driven, up to 1 s.
    pub pause: Millis,
}

/// Why a [`PairExclusionConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PairExclusionConfigError {
    /// The released current is zero or above 1 A.
    Released(Milliamps),
    /// The pause is above 1 s.
    Pause(Millis),
}

impl fmt::Display for PairExclusionConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Released(given) => write!(f, "released current {} mA is outside 1 to 1000 mA", given.raw()),
            Self::Pause(given) => write!(f, "pause between opposite coils {given} is above 1000 ms"),
        }
    }
}

impl core::error::Error for PairExclusionConfigError {}

/// Lets a set-point pass to one coil of a pair only when the other is neither driven nor carrying current.
///
/// When both are asked for, neither is driven. After one was driven the other has to wait until the measured
/// current of the first has been at or below the released current for the pause, and stays away as long as it
/// never is: a coil that does not let go is for [`CoilMonitor`](super::CoilMonitor) to tell. A running coil is
/// stopped when the opposite one carries current for the pause.
///
/// ```
/// use trunnion::quantity::{Milliamps, Millis, Period};
/// use trunnion::valve::{PairExclusion, PairExclusionConfig};
///
/// let config = PairExclusionConfig { released: Milliamps::new(50).unwrap(), pause: Millis::millis(2) };
/// let mut spool = PairExclusion::new(config, Period::from_micros(1_000).unwrap())?;
/// let (none, some) = (Milliamps::ZERO, Milliamps::new(500).unwrap());
/// for _ in 0..3 {
///     spool.step(some, none, some, none); // raising
/// }
/// assert_eq!(spool.step(none, some, some, none), (none, none)); // lower asked, raise still carries current
/// assert_eq!(spool.step(none, some, none, none), (none, none)); // released, pause
/// assert_eq!(spool.step(none, some, none, none), (none, some)); // lowering
/// # Ok::<(), trunnion::valve::PairExclusionConfigError>(())
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PairExclusion {
    released: Milliamps,
    pause: u32,
    period: Period,
    a: Release,
    b: Release,
}

/// For how long one coil has been released.
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Release {
    steps: u32,
    lasting: bool,
}

impl PairExclusion {
    const LARGEST_RELEASED: u16 = 1_000;
    const LONGEST_PAUSE: u32 = 1_000;

    /// Checks the config; both coils start as not yet released.
    pub const fn new(config: PairExclusionConfig, period: Period) -> Result<Self, PairExclusionConfigError> {
        if config.released.raw() == 0 || config.released.raw() > Self::LARGEST_RELEASED {
            return Err(PairExclusionConfigError::Released(config.released));
        }
        if config.pause.ticks() > Self::LONGEST_PAUSE {
            return Err(PairExclusionConfigError::Pause(config.pause));
        }
        let steps = period.steps(config.pause);
        let pause = if steps == 0 { 1 } else { steps };
        Ok(Self { released: config.released, pause, period, a: Release::NOT_YET, b: Release::NOT_YET })
    }

    /// Takes another config, or refuses it and keeps the present one. Both coils have to be released anew.
    pub const fn reconfigure(&mut self, config: PairExclusionConfig) -> Result<(), PairExclusionConfigError> {
        match Self::new(config, self.period) {
            Ok(exclusion) => {
                *self = exclusion;
                Ok(())
            }
            Err(error) => Err(error),
        }
    }

    /// Both coils have to be released anew.
    pub const fn reset(&mut self) {
        self.a = Release::NOT_YET;
        self.b = Release::NOT_YET;
    }

    /// The set-points that may pass: at most one of them is not zero.
    pub fn step(
        &mut self,
        set_a: Milliamps,
        set_b: Milliamps,
        measured_a: Milliamps,
        measured_b: Milliamps,
    ) -> (Milliamps, Milliamps) {
        self.a.measure(measured_a <= self.released, self.pause);
        self.b.measure(measured_b <= self.released, self.pause);
        let both_asked = set_a != Milliamps::ZERO && set_b != Milliamps::ZERO;
        if both_asked {
            return (Milliamps::ZERO, Milliamps::ZERO);
        }
        if set_a != Milliamps::ZERO && self.b.lasting {
            self.a = Release::NOT_YET;
            return (set_a, Milliamps::ZERO);
        }
        if set_b != Milliamps::ZERO && self.a.lasting {
            self.b = Release::NOT_YET;
            return (Milliamps::ZERO, set_b);
        }
        (Milliamps::ZERO, Milliamps::ZERO)
    }
}

impl Release {
    const NOT_YET: Self = Self { steps: 0, lasting: false };

    /// Both ways the change has to last for the pause.
    fn measure(&mut self, released: bool, pause: u32) {
        if released == self.lasting {
            self.steps = 0;
            return;
        }
        self.steps = self.steps.saturating_add(1);
        if self.steps >= pause {
            *self = Self { steps: 0, lasting: released };
        }
    }
}
