//! Who may do what, and when.

use trunnion::declare::Access;

/// What a tester has unlocked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Level {
    /// Nothing: reading only.
    #[default]
    Locked,
    /// Commissioning.
    Tune,
    /// Also what keeps people safe.
    Safety,
}

impl Level {
    /// Whether a parameter of this access may be written.
    pub const fn may_write(self, access: Access) -> bool {
        match access {
            Access::Operator | Access::Tune => matches!(self, Self::Tune | Self::Safety),
            Access::Safety => matches!(self, Self::Safety),
            Access::Constant => false,
        }
    }

    /// The sub-function that brings this level's code (ISO 14229-1: even, one above its seed request).
    pub(crate) const fn key_request(self) -> u8 {
        match self {
            Self::Safety => 0x04,
            Self::Locked | Self::Tune => 0x02,
        }
    }

    /// The level of a seed request (ISO 14229-1: odd), if it is one of ours.
    pub(crate) const fn of_seed(sub_function: u8) -> Option<Self> {
        match sub_function {
            0x01 => Some(Self::Tune),
            0x03 => Some(Self::Safety),
            _ => None,
        }
    }
}

/// What the machine is doing, as far as a tester must wait for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Standing {
    /// Nothing moves: travel, drum, boom.
    pub at_rest: bool,
    /// All levers are released.
    pub neutral: bool,
    /// Motion is permitted: the operator enabled it and no interlock objects.
    pub permitted: bool,
    /// Nothing is permitted, and every last gate is closed.
    pub withheld: bool,
}

impl Standing {
    /// What writing, clearing and resetting need.
    pub const fn is_quiet(self) -> bool {
        self.at_rest && self.neutral
    }
}
