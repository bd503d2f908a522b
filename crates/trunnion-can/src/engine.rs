//! Electronic Engine Controller 1: engine speed (SAE J1939-71, PGN 61444).

use trunnion::quantity::Rpm;

/// What the engine's speed field says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SpeedField {
    /// 0 to 8031.875 rpm in eighths.
    Valid(Rpm),
    /// 0xFE in the high byte.
    Error,
    /// 0xFF in the high byte.
    #[default]
    NotAvailable,
    /// 0xFB to 0xFD in the high byte: kept free by the standard.
    Reserved,
}

/// Engine speed from Electronic Engine Controller 1: bytes 4 and 5, low byte first, 0.125 rpm a bit.
///
/// ```
/// use trunnion::quantity::Rpm;
/// use trunnion_can::engine::{Eec1, SpeedField};
///
/// let eec1 = Eec1::parse(&[0xFF, 0x7D, 0x7D, 0xE0, 0x15, 0xFF, 0xF0, 0xFF]);
/// assert_eq!(eec1.speed, SpeedField::Valid(Rpm::from_whole(700)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Eec1 {
    /// Engine speed.
    pub speed: SpeedField,
}

/// Largest word that is a value (SAE J1939-71).
const LARGEST_WORD: u16 = 0xFAFF;

impl Eec1 {
    /// Reads eight bytes.
    pub const fn parse(data: &[u8; 8]) -> Self {
        let [_, _, _, low, high, _, _, _] = *data;
        let speed = match high {
            0xFF => SpeedField::NotAvailable,
            0xFE => SpeedField::Error,
            0xFB..=0xFD => SpeedField::Reserved,
            _ => SpeedField::Valid(Rpm::saturating(u16::from_le_bytes([low, high]) as i64)),
        };
        Self { speed }
    }

    /// Eight bytes, all other fields "not available". A speed outside 0 to 8031.875 rpm is held at the
    /// nearer end.
    pub const fn emit(&self) -> [u8; 8] {
        let word = match self.speed {
            SpeedField::Valid(speed) => {
                let largest = Rpm::saturating(LARGEST_WORD as i64);
                speed.at_least(Rpm::ZERO).at_most(largest).raw() as u16
            }
            SpeedField::Error => 0xFEFF,
            SpeedField::NotAvailable => 0xFFFF,
            SpeedField::Reserved => 0xFBFF,
        };
        let [low, high] = word.to_le_bytes();
        [0xFF, 0xFF, 0xFF, low, high, 0xFF, 0xFF, 0xFF]
    }
}
