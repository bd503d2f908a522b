//! Extended Joystick Message: the axes on the grip.

use trunnion::quantity::Permille;

use super::{AxisField, FlagField};

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
        let [x_low, x_high, y_low, y_high, theta_low, theta_high, detents, _] = *data;
        Self {
            grip_x: AxisField::parse(x_low, x_high, neutral_band),
            grip_y: AxisField::parse(y_low, y_high, neutral_band),
            theta: AxisField::parse(theta_low, theta_high, neutral_band),
            x_detent: FlagField::parse(u32::from(detents) >> 6),
            y_detent: FlagField::parse(u32::from(detents) >> 4),
        }
    }

    /// Eight bytes; free bits are set.
    pub fn emit(&self) -> [u8; 8] {
        let [x_low, x_high] = self.grip_x.emit();
        let [y_low, y_high] = self.grip_y.emit();
        let [theta_low, theta_high] = self.theta.emit();
        let detents = (self.x_detent.emit() << 6) | (self.y_detent.emit() << 4) | 0b1111;
        [x_low, x_high, y_low, y_high, theta_low, theta_high, detents, 0xFF]
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
