//! What can be wrong with a coil.

/// What is wrong with a coil; all false when nothing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilConditions {
    /// Far less current than the duty must drive: a broken wire, a pulled plug, a bad contact.
    pub open: bool,
    /// Far more current than the duty can drive: shorted turns, a wire chafed through to another one.
    pub short: bool,
    /// A current other than asked for, without any of the other reasons.
    pub deviation: bool,
    /// Less current than asked for at full duty: a hot coil or a low supply.
    pub unreachable: bool,
    /// Current at zero command.
    pub stray: bool,
}

impl CoilConditions {
    /// Nothing wrong.
    pub const NONE: Self =
        Self { open: false, short: false, deviation: false, unreachable: false, stray: false };

    /// True when anything is wrong.
    pub const fn any(self) -> bool {
        self.open || self.short || self.deviation || self.unreachable || self.stray
    }

    /// Both together.
    pub const fn union(self, other: Self) -> Self {
        Self {
            open: self.open || other.open,
            short: self.short || other.short,
            deviation: self.deviation || other.deviation,
            unreachable: self.unreachable || other.unreachable,
            stray: self.stray || other.stray,
        }
    }

    /// As bits from the lowest: open, short, deviation, unreachable, stray.
    pub const fn bits(self) -> u8 {
        (self.open as u8)
            | (self.short as u8) << 1
            | (self.deviation as u8) << 2
            | (self.unreachable as u8) << 3
            | (self.stray as u8) << 4
    }

    /// From [`bits`](Self::bits); higher bits are ignored.
    pub const fn from_bits(bits: u8) -> Self {
        Self {
            open: bits & 1 != 0,
            short: bits & 2 != 0,
            deviation: bits & 4 != 0,
            unreachable: bits & 8 != 0,
            stray: bits & 16 != 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_union_holds_what_either_holds_and_nothing_else() {
        for (one, other) in (0..32_u8).flat_map(|one| (0..32_u8).map(move |other| (one, other))) {
            let union = CoilConditions::from_bits(one).union(CoilConditions::from_bits(other));
            assert_eq!(union, CoilConditions::from_bits(one | other));
            assert_eq!((union.bits(), union.any()), (one | other, one | other != 0));
        }
    }
}
