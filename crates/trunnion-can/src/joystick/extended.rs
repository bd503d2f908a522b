//! Extended Joystick Message: the axes on the grip.

use trunnion::quantity::Permille;

use super::{AxisField, FlagField};
use crate::layout::{EXTENDED_JOYSTICK_1, extended, free_bits};

/// Bits of the message that no field of it has.
const FREE: u64 = free_bits(&EXTENDED_JOYSTICK_1);

/// An Extended Joystick Message (SAE J1939-71: PGN 64983, 64985 and 64987): rockers, thumb-wheels, twist.
///
/// Bytes 1–2 grip X, 3–4 grip Y, 5–6 twist (theta), byte 7 detents (bits 5–6 Y, 7–8 X). The place of the
/// twist is from memory of the standard.
///
/// ```
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion_can::joystick::{AxisField, ExtendedJoystick};
///
/// let wheel_up = AxisField::Position { position: Ratio::from_permille(250).unwrap(), neutral: false };
/// let grip = ExtendedJoystick { grip_y: wheel_up, ..ExtendedJoystick::default() };
/// let band = Permille::new(50).unwrap();
/// assert_eq!(ExtendedJoystick::parse(&grip.emit(), band), grip);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ExtendedJoystick {
    /// Left negative, right positive.
    pub grip_x: AxisField,
    /// Back negative, forward positive.
    pub grip_y: AxisField,
    /// Anticlockwise negative, clockwise positive.
    pub theta: AxisField,
    /// Held by a detent in X.
    pub x_detent: FlagField,
    /// Held by a detent in Y.
    pub y_detent: FlagField,
}

impl ExtendedJoystick {
    /// Reads eight bytes; `neutral_band` is the largest magnitude that the neutral flag may come with.
    pub fn parse(data: &[u8; 8], neutral_band: Permille) -> Self {
        let word = u64::from_le_bytes(*data);
        Self {
            grip_x: AxisField::at(word, extended::GRIP_X, neutral_band),
            grip_y: AxisField::at(word, extended::GRIP_Y, neutral_band),
            theta: AxisField::at(word, extended::THETA, neutral_band),
            x_detent: FlagField::at(word, extended::X_DETENT),
            y_detent: FlagField::at(word, extended::Y_DETENT),
        }
    }

    /// Eight bytes; free bits are set.
    pub fn emit(&self) -> [u8; 8] {
        let word = FREE
            | self.grip_x.put(extended::GRIP_X)
            | self.grip_y.put(extended::GRIP_Y)
            | self.theta.put(extended::THETA)
            | self.x_detent.put(extended::X_DETENT)
            | self.y_detent.put(extended::Y_DETENT);
        word.to_le_bytes()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::joystick::BasicJoystick;
    use proptest::prelude::*;

    const BAND: Permille = Permille::new(50).unwrap();

    proptest! {
        #[test]
        fn what_any_eight_bytes_mean_survives_writing_and_reading(frame: [u8; 8]) {
            let grip = ExtendedJoystick::parse(&frame, BAND);
            prop_assert_eq!(ExtendedJoystick::parse(&grip.emit(), BAND), grip);
        }

        #[test]
        fn grip_axes_stand_where_the_basic_message_has_its_own(frame: [u8; 8]) {
            // SAE J1939-71: grip X and Y in bytes 1–4 as X and Y of the basic message.
            let (grip, basic) = (ExtendedJoystick::parse(&frame, BAND), BasicJoystick::parse(&frame, BAND));
            prop_assert_eq!((grip.grip_x, grip.grip_y), (basic.x, basic.y));
        }
    }

    #[test]
    fn twist_and_detents_stand_behind_the_grip_axes() {
        let right = AxisField::Position { position: trunnion::quantity::Ratio::ONE, neutral: false };
        // Twist in bytes 5–6: from memory of the standard. Detents: byte 7 bits 5–6 Y, 7–8 X.
        let grip = ExtendedJoystick::parse(&[0xFF, 0xFF, 0xFF, 0xFF, 0x10, 0xFA, 0b0100_1111, 0xFF], BAND);
        assert_eq!(
            (grip.grip_x, grip.grip_y, grip.theta),
            (AxisField::NotAvailable, AxisField::NotAvailable, right)
        );
        assert_eq!((grip.x_detent, grip.y_detent), (FlagField::Yes, FlagField::No));
        assert_eq!(ExtendedJoystick::default().emit(), [0xFF; 8]);
    }
}
