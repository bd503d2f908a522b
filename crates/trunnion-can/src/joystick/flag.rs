//! Fields of two bits.

/// A two-bit status (SAE J1939-71).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FlagField {
    /// 00
    No,
    /// 01
    Yes,
    /// 10
    Error,
    /// 11
    #[default]
    NotAvailable,
}

impl FlagField {
    /// From the two lowest bits.
    const fn parse(bits: u32) -> Self {
        match bits & 0b11 {
            0b00 => Self::No,
            0b01 => Self::Yes,
            0b10 => Self::Error,
            _ => Self::NotAvailable,
        }
    }

    /// From the two bits of a message at `first`.
    pub(super) const fn at(word: u64, first: u8) -> Self {
        Self::parse(word.wrapping_shr(first as u32) as u32)
    }

    /// The two bits at `first`, all others 0.
    pub(super) const fn put(self, first: u8) -> u64 {
        (self as u64).wrapping_shl(first as u32)
    }
}

/// State of a button (two bits, SAE J1939-71).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ButtonField {
    /// 00
    Released,
    /// 01
    Pressed,
    /// 10
    Error,
    /// 11: as a rule a button that the lever does not have.
    #[default]
    NotAvailable,
}

impl ButtonField {
    /// From the two lowest bits.
    const fn parse(bits: u32) -> Self {
        match bits & 0b11 {
            0b00 => Self::Released,
            0b01 => Self::Pressed,
            0b10 => Self::Error,
            _ => Self::NotAvailable,
        }
    }

    /// From the two bits of a message at `first`.
    pub(super) const fn at(word: u64, first: u8) -> Self {
        Self::parse(word.wrapping_shr(first as u32) as u32)
    }

    /// The two bits at `first`, all others 0.
    pub(super) const fn put(self, first: u8) -> u64 {
        (self as u64).wrapping_shl(first as u32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_bits_mean_what_the_standard_says_and_read_back() {
        // SAE J1939-71: 00 off, 01 on, 10 error, 11 not available; higher bits belong to others.
        let flags = [FlagField::No, FlagField::Yes, FlagField::Error, FlagField::NotAvailable];
        let buttons =
            [ButtonField::Released, ButtonField::Pressed, ButtonField::Error, ButtonField::NotAvailable];
        for (bits, (flag, button)) in (0..4).zip(flags.into_iter().zip(buttons)) {
            assert_eq!((FlagField::parse(bits), FlagField::parse(bits | 0xFC)), (flag, flag));
            assert_eq!((ButtonField::parse(bits), ButtonField::parse(bits | 0xFC)), (button, button));
            assert_eq!((flag.put(0), button.put(0)), (u64::from(bits), u64::from(bits)));
        }
    }
}
