//! A value together with its health.

/// Why a reading cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Flaw {
    /// The signal lies where only a broken wire or a short to ground puts it.
    WireBreak,
    /// The signal lies where only a short to supply puts it.
    ShortCircuit,
    /// The value is outside the range that the standard or the maker gives it.
    OutOfRange,
    /// Nothing is heard any more, or never was.
    Silent,
    /// Faster than the machine can turn: disturbed edges or a wrong number of teeth.
    TooFast,
    /// Two sources of the same thing contradict each other.
    Disagreement,
    /// The supply of the sensor is outside its range, so the signal says nothing.
    SensorSupply,
}

crate::choices! {
    /// The health of a reading, as a diagnostic signal shows it.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum Health {
        /// Not read yet.
        Unknown = "unknown",
        /// There is a value.
        Good = "good",
        /// [`Flaw::WireBreak`]
        WireBreak = "wire_break",
        /// [`Flaw::ShortCircuit`]
        ShortCircuit = "short_circuit",
        /// [`Flaw::OutOfRange`]
        OutOfRange = "out_of_range",
        /// [`Flaw::Silent`]
        Silent = "silent",
        /// [`Flaw::TooFast`]
        TooFast = "too_fast",
        /// [`Flaw::Disagreement`]
        Disagreement = "disagreement",
        /// [`Flaw::SensorSupply`]
        SensorSupply = "sensor_supply",
    }
}

/// A value that was measured, or the reason why there is none.
///
/// What to do without a value is the machine's decision, made where the reading is used:
///
/// ```
/// use trunnion::quantity::Rpm;
/// use trunnion::sense::{Flaw, Reading};
///
/// let engine_speed: Reading<Rpm> = Reading::Faulted(Flaw::TooFast);
/// assert_eq!(engine_speed.or(Rpm::from_whole(800)), Rpm::from_whole(800));
/// assert_eq!(engine_speed.flaw(), Some(Flaw::TooFast));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reading<T> {
    /// Measured and plausible.
    Valid(T),
    /// Not to be used.
    Faulted(Flaw),
}

impl<T: Copy> Reading<T> {
    /// The value when there is one.
    pub const fn valid(self) -> Option<T> {
        match self {
            Self::Valid(value) => Some(value),
            Self::Faulted(_) => None,
        }
    }

    /// The value, or `fallback` when there is none.
    pub const fn or(self, fallback: T) -> T {
        match self {
            Self::Valid(value) => value,
            Self::Faulted(_) => fallback,
        }
    }

    /// True when there is a value.
    pub const fn is_valid(self) -> bool {
        matches!(self, Self::Valid(_))
    }

    /// Why there is no value; `None` when there is one.
    pub const fn flaw(self) -> Option<Flaw> {
        match self {
            Self::Valid(_) => None,
            Self::Faulted(flaw) => Some(flaw),
        }
    }

    /// Its health, for a diagnostic signal.
    pub const fn health(self) -> Health {
        match self {
            Self::Valid(_) => Health::Good,
            Self::Faulted(Flaw::WireBreak) => Health::WireBreak,
            Self::Faulted(Flaw::ShortCircuit) => Health::ShortCircuit,
            Self::Faulted(Flaw::OutOfRange) => Health::OutOfRange,
            Self::Faulted(Flaw::Silent) => Health::Silent,
            Self::Faulted(Flaw::TooFast) => Health::TooFast,
            Self::Faulted(Flaw::Disagreement) => Health::Disagreement,
            Self::Faulted(Flaw::SensorSupply) => Health::SensorSupply,
        }
    }

    /// The same health with the value turned into another quantity.
    pub fn map<U>(self, turn: impl FnOnce(T) -> U) -> Reading<U> {
        match self {
            Self::Valid(value) => Reading::Valid(turn(value)),
            Self::Faulted(flaw) => Reading::Faulted(flaw),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_faulted_reading_gives_the_fallback_and_keeps_its_flaw_through_a_map() {
        let faulted: Reading<u8> = Reading::Faulted(Flaw::WireBreak);
        assert_eq!((faulted.or(7), faulted.valid(), faulted.is_valid()), (7, None, false));
        assert_eq!(faulted.map(u16::from), Reading::Faulted(Flaw::WireBreak));
    }

    #[test]
    fn a_valid_reading_ignores_the_fallback() {
        let valid = Reading::Valid(3_u8);
        assert_eq!((valid.or(7), valid.valid(), valid.flaw()), (3, Some(3), None));
        assert_eq!(valid.map(|value| u16::from(value) * 2), Reading::Valid(6));
    }

    #[test]
    fn the_health_of_a_reading_is_named_as_its_flaw() {
        use Flaw::*;
        assert_eq!(Reading::Valid(1).health(), Health::Good);
        for flaw in [WireBreak, ShortCircuit, OutOfRange, Silent, TooFast, Disagreement, SensorSupply] {
            let health = Reading::<u8>::Faulted(flaw).health();
            assert_eq!(std::format!("{health:?}"), std::format!("{flaw:?}"));
        }
    }
}
