//! One axis: three flags and a position in two bytes.

use trunnion::quantity::{Permille, Ratio};

use crate::layout::axis;

/// What one axis of a lever says.
///
/// On the wire: neutral, negative and positive flag of two bits each, then ten bits of magnitude in
/// thousandths, the low ones first. 0 to 1000 is a position, 1022 error, 1023 not available, the rest is
/// reserved (SAE J1939-71).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AxisField {
    /// Number and flags agree.
    Position {
        /// Right or forward positive. Zero while the neutral flag is set: the wire then has no sign.
        position: Ratio,
        /// The neutral flag is set, both direction flags are clear, and the magnitude is inside the band.
        neutral: bool,
    },
    /// The number or a flag says "error".
    Error,
    /// The number or a flag says "not available".
    #[default]
    NotAvailable,
    /// The number is one that the standard keeps free.
    Reserved,
    /// Not exactly one of the three flags is set, or it is the neutral flag with a magnitude outside the
    /// band.
    Inconsistent,
}

const LARGEST_POSITION: u16 = axis::LARGEST as u16;
const ERROR: u16 = 1022;
const NOT_AVAILABLE: u16 = 1023;
const NEUTRAL: u16 = 1 << axis::NEUTRAL;
const NEGATIVE: u16 = 1 << axis::NEGATIVE;
const POSITIVE: u16 = 1 << axis::POSITIVE;
const ALL_FLAGS: u16 = NEUTRAL | NEGATIVE | POSITIVE;

impl AxisField {
    /// Reads the axis whose lowest bit is at `first` of a message as one number, the first byte lowest.
    pub(crate) fn at(word: u64, first: u8, neutral_band: Permille) -> Self {
        let [low, high, ..] = word.wrapping_shr(u32::from(first)).to_le_bytes();
        Self::parse(low, high, neutral_band)
    }

    /// Reads two bytes. Of several complaints the first in this order is told: error, not available,
    /// reserved, inconsistent.
    pub(crate) fn parse(low: u8, high: u8, neutral_band: Permille) -> Self {
        let word = u16::from_le_bytes([low, high]);
        let number = word >> axis::NUMBER;
        // The three flags at once, by their lower and upper bits: 10 is "error", 11 "not available".
        let (lower, upper) = (word & ALL_FLAGS, (word >> 1) & ALL_FLAGS);
        if number == ERROR || upper & !lower != 0 {
            return Self::Error;
        }
        if number == NOT_AVAILABLE || upper != 0 {
            return Self::NotAvailable;
        }
        if number > LARGEST_POSITION {
            return Self::Reserved;
        }
        let magnitude = || Ratio::from(Permille::saturating(i64::from(number)));
        match lower {
            NEUTRAL if i32::from(number) <= i32::from(neutral_band.raw()) => {
                Self::Position { position: Ratio::ZERO, neutral: true }
            }
            NEGATIVE => Self::Position { position: magnitude().reversed(), neutral: false },
            POSITIVE => Self::Position { position: magnitude(), neutral: false },
            _ => Self::Inconsistent,
        }
    }

    /// The axis with its lowest bit at `first`, all other bits 0.
    pub(super) fn put(self, first: u8) -> u64 {
        u64::from(u16::from_le_bytes(self.emit())).wrapping_shl(u32::from(first))
    }

    /// Two bytes. A position is rounded to thousandths; the other kinds give a typical frame of that kind:
    /// "reserved" the number 1001, "inconsistent" all three flags at half deflection.
    const fn emit(self) -> [u8; 2] {
        let (flags, number) = match self {
            Self::Position { position, neutral } => {
                let flag = if neutral {
                    NEUTRAL
                } else if position.to_bits() < 0 {
                    NEGATIVE
                } else {
                    POSITIVE
                };
                (flag, position.to_permille().raw().unsigned_abs())
            }
            Self::Error => (0b10_10_10, ERROR),
            Self::NotAvailable => (0b11_11_11, NOT_AVAILABLE),
            Self::Reserved => (NEUTRAL, LARGEST_POSITION.saturating_add(1)),
            Self::Inconsistent => (ALL_FLAGS, LARGEST_POSITION / 2),
        };
        (flags | (number << axis::NUMBER)).to_le_bytes()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BAND: Permille = Permille::new(50).unwrap();

    fn parse(word: u16) -> AxisField {
        let [low, high] = word.to_le_bytes();
        AxisField::parse(low, high, BAND)
    }

    /// All 65 536 words against the rules by their words.
    #[test]
    fn every_word_is_a_position_only_when_number_and_flags_agree() {
        let mut positions = 0;
        for word in 0..=u16::MAX {
            let number = word >> 6;
            let (neutral, negative, positive) = (word & 3, (word >> 2) & 3, (word >> 4) & 3);
            let flags = [neutral, negative, positive];
            let expected = if number == 1022 || flags.contains(&0b10) {
                AxisField::Error
            } else if number == 1023 || flags.contains(&0b11) {
                AxisField::NotAvailable
            } else if number > 1000 {
                AxisField::Reserved
            } else if flags.iter().sum::<u16>() != 1 || (neutral == 1 && number > 50) {
                AxisField::Inconsistent
            } else {
                positions += 1;
                let sign = i32::from(positive) - i32::from(negative);
                let position = Ratio::from_permille(sign * i32::from(number)).unwrap();
                AxisField::Position { position, neutral: neutral == 1 }
            };
            assert_eq!(parse(word), expected, "{word:#06X}");
        }
        assert_eq!(positions, 51 + 1001 + 1001, "neutral inside the band, and each direction in full");
    }

    #[test]
    fn every_position_and_every_complaint_reads_back() {
        for permille in -1000_i32..=1000 {
            let field =
                AxisField::Position { position: Ratio::from_permille(permille).unwrap(), neutral: false };
            let [low, high] = field.emit();
            assert_eq!(AxisField::parse(low, high, BAND), field);
        }
        let neutral = AxisField::Position { position: Ratio::ZERO, neutral: true };
        for field in
            [neutral, AxisField::Error, AxisField::NotAvailable, AxisField::Reserved, AxisField::Inconsistent]
        {
            let [low, high] = field.emit();
            assert_eq!(AxisField::parse(low, high, BAND), field);
        }
    }

    #[test]
    fn the_numbers_above_full_deflection_are_no_positions() {
        // SAE J1939-71: ten bits, 1022 error, 1023 not available, 1001 to 1021 reserved.
        let positive = 0b01_00_00;
        assert_eq!(
            parse(positive | (1000 << 6)),
            AxisField::Position { position: Ratio::ONE, neutral: false }
        );
        for number in 1001..=1021 {
            assert_eq!(parse(positive | (number << 6)), AxisField::Reserved);
        }
        assert_eq!(parse(positive | (1022 << 6)), AxisField::Error);
        assert_eq!(parse(positive | (1023 << 6)), AxisField::NotAvailable);
    }
}
