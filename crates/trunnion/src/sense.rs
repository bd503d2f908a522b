//! From the wire to a quantity and its health.

/// What is wrong with a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Flaw {
    /// Below every level that the sensor can give.
    WireBreak,
    /// Above every level that the sensor can give.
    ShortCircuit,
    /// Outside the range that makes sense.
    OutOfRange,
    /// Nothing arrives.
    Silent,
    /// More than the machine can do.
    TooFast,
    /// Two sources differ.
    Disagreement,
    /// The supply of the sensor is out of range.
    SensorSupply,
}

/// A quantity, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reading<T> {
    /// To be trusted.
    Valid(T),
    /// Not to be used.
    Faulted(Flaw),
}

impl<T: Copy> Reading<T> {
    /// The quantity, if it is to be trusted.
    pub const fn valid(self) -> Option<T> {
        match self {
            Self::Valid(value) => Some(value),
            Self::Faulted(_) => None,
        }
    }

    /// The quantity, or `fallback` where there is none.
    pub const fn or(self, fallback: T) -> T {
        match self {
            Self::Valid(value) => value,
            Self::Faulted(_) => fallback,
        }
    }

    /// True when the quantity is to be trusted.
    pub const fn is_valid(self) -> bool {
        matches!(self, Self::Valid(_))
    }
}
