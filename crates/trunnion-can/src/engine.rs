//! Electronic Engine Controller 1: engine speed (SAE J1939-71, PGN 61444).

use trunnion::quantity::Rpm;

use crate::layout::engine::ENGINE_SPEED;

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
        let word = ENGINE_SPEED.read(u64::from_le_bytes(*data)) as u16;
        let [low, high] = word.to_le_bytes();
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
        (!ENGINE_SPEED.put(u64::MAX) | ENGINE_SPEED.put(word as u64)).to_le_bytes()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn speed(low: u8, high: u8) -> SpeedField {
        Eec1::parse(&[0, 0, 0, low, high, 0, 0, 0]).speed
    }

    #[test]
    fn published_frames_give_the_published_speeds() {
        // A public genset manual: 0x15E0 is 700 rpm.
        let frame = [0xFF, 0x7D, 0x7D, 0xE0, 0x15, 0xFF, 0xF0, 0xFF];
        assert_eq!(Eec1::parse(&frame).speed, SpeedField::Valid(Rpm::from_whole(700)));
        // The j1939-84 test suite (MIT).
        assert_eq!(speed(0x60, 0x09), SpeedField::Valid(Rpm::from_whole(300)));
        assert_eq!(speed(0xFF, 0xFA), SpeedField::Valid(Rpm::new(8 * 8031 + 7).unwrap()), "8031.875 rpm");
        assert_eq!(speed(0xFF, 0xFE), SpeedField::Error);
        assert_eq!(speed(0xFF, 0xFF), SpeedField::NotAvailable);
        assert_eq!(speed(0x00, 0xFB), SpeedField::Reserved);
    }

    #[test]
    fn every_word_is_what_its_range_says_and_values_read_back() {
        // SAE J1939-71: a word up to 0xFAFF is a value, 0xFExx error, 0xFFxx not available.
        for word in 0..=u16::MAX {
            let [low, high] = word.to_le_bytes();
            let field = speed(low, high);
            match word {
                0..=0xFAFF => {
                    assert_eq!(field, SpeedField::Valid(Rpm::new(i32::from(word)).unwrap()));
                    assert_eq!(Eec1::parse(&Eec1 { speed: field }.emit()).speed, field);
                }
                0xFB00..=0xFDFF => assert_eq!(field, SpeedField::Reserved),
                0xFE00..=0xFEFF => assert_eq!(field, SpeedField::Error),
                0xFF00..=0xFFFF => assert_eq!(field, SpeedField::NotAvailable),
            }
        }
    }

    #[test]
    fn what_is_no_value_reads_back_and_speeds_outside_the_field_are_held() {
        for field in [SpeedField::Error, SpeedField::NotAvailable, SpeedField::Reserved] {
            assert_eq!(Eec1::parse(&Eec1 { speed: field }.emit()).speed, field);
        }
        let held = |rpm| Eec1::parse(&Eec1 { speed: SpeedField::Valid(Rpm::from_whole(rpm)) }.emit()).speed;
        assert_eq!(held(-5), SpeedField::Valid(Rpm::ZERO));
        assert_eq!(held(9_000), SpeedField::Valid(Rpm::new(0xFAFF).unwrap()));
        assert_eq!(Eec1::default().emit(), [0xFF; 8]);
    }
}
