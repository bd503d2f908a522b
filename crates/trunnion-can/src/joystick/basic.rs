//! Basic Joystick Message: axes X and Y, detents, twelve buttons.

use trunnion::quantity::Permille;

use super::{AxisField, ButtonField, FlagField};

/// A Basic Joystick Message (SAE J1939-71: PGN 64982, 64984 and 64986).
///
/// Bytes 1–2 axis X, 3–4 axis Y, byte 5 detents (bits 5–6 Y, 7–8 X), bytes 6–8 buttons 1–12, four a byte,
/// the first in the highest bits. Reads any eight bytes; what it wrote it reads back.
///
/// ```
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion_can::joystick::{AxisField, BasicJoystick, ButtonField};
///
/// let band = Permille::new(50).unwrap();
/// let lever = BasicJoystick::parse(&[0x10, 0x7D, 0x01, 0x00, 0xFF, 0x40, 0x00, 0x00], band);
/// let half_right = Ratio::from_permille(500).unwrap();
/// assert_eq!(lever.x, AxisField::Position { position: half_right, neutral: false });
/// assert_eq!(lever.y, AxisField::Position { position: Ratio::ZERO, neutral: true });
/// assert_eq!(lever.buttons[0], ButtonField::Pressed);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct BasicJoystick {
    /// Left negative, right positive.
    pub x: AxisField,
    /// Back negative, forward positive.
    pub y: AxisField,
    /// Held by a detent in X.
    pub x_detent: FlagField,
    /// Held by a detent in Y.
    pub y_detent: FlagField,
    /// Buttons 1 to 12.
    pub buttons: [ButtonField; 12],
}

impl BasicJoystick {
    /// Reads eight bytes; `neutral_band` is the largest magnitude that the neutral flag may come with.
    pub fn parse(data: &[u8; 8], neutral_band: Permille) -> Self {
        let [x_low, x_high, y_low, y_high, detents, first, second, third] = *data;
        let word = u32::from_be_bytes([0, first, second, third]);
        let mut buttons = [ButtonField::NotAvailable; 12];
        for (button, place) in buttons.iter_mut().zip(BUTTON_PLACES) {
            *button = ButtonField::parse(word.wrapping_shr(place));
        }
        Self {
            x: AxisField::parse(x_low, x_high, neutral_band),
            y: AxisField::parse(y_low, y_high, neutral_band),
            x_detent: FlagField::parse(u32::from(detents) >> 6),
            y_detent: FlagField::parse(u32::from(detents) >> 4),
            buttons,
        }
    }

    /// Eight bytes; free bits are set.
    pub fn emit(&self) -> [u8; 8] {
        let [x_low, x_high] = self.x.emit();
        let [y_low, y_high] = self.y.emit();
        let detents = (self.x_detent.emit() << 6) | (self.y_detent.emit() << 4) | 0b1111;
        let mut word = 0_u32;
        for (button, place) in self.buttons.iter().zip(BUTTON_PLACES) {
            word |= u32::from(button.emit()).wrapping_shl(place);
        }
        let [_, first, second, third] = word.to_be_bytes();
        [x_low, x_high, y_low, y_high, detents, first, second, third]
    }
}

/// Lowest bit of each button in bytes 6–8 read as one number, byte 6 highest.
pub(crate) const BUTTON_PLACES: [u32; 12] = [22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0];

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use trunnion::quantity::Ratio;

    const BAND: Permille = Permille::new(50).unwrap();

    fn position(permille: i32) -> AxisField {
        AxisField::Position { position: Ratio::from_permille(permille).unwrap(), neutral: false }
    }

    const NEUTRAL: AxisField = AxisField::Position { position: Ratio::ZERO, neutral: true };

    /// Frames computed from the layout of SAE J1939-71, which two device makers' public data sheets confirm;
    /// the second one was decoded by cantools too.
    #[test]
    fn frames_of_the_published_layout_read_as_meant_and_write_back() {
        let none = ButtonField::NotAvailable;
        let released = ButtonField::Released;
        let mut first_pressed = [released; 12];
        first_pressed[0] = ButtonField::Pressed;
        for (frame, x, y, buttons) in [
            ([0x01, 0x00, 0x01, 0x00, 0xFF, 0xFF, 0xFF, 0xFF], NEUTRAL, NEUTRAL, [none; 12]),
            ([0x10, 0x7D, 0x01, 0x00, 0xFF, 0x40, 0x00, 0x00], position(500), NEUTRAL, first_pressed),
            (
                [0x04, 0xFA, 0x50, 0x53, 0xFF, 0x00, 0x00, 0x00],
                position(-1000),
                position(333),
                [released; 12],
            ),
            (
                [0xAA, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF],
                AxisField::Error,
                AxisField::NotAvailable,
                [none; 12],
            ),
        ] {
            let lever = BasicJoystick::parse(&frame, BAND);
            assert_eq!((lever.x, lever.y, lever.buttons), (x, y, buttons));
            assert_eq!((lever.x_detent, lever.y_detent), (FlagField::NotAvailable, FlagField::NotAvailable));
            assert_eq!(lever.emit(), frame);
        }
    }

    #[test]
    fn each_button_and_detent_has_its_own_two_bits() {
        // Byte 6 bits 7–8 button 1, 5–6 button 2, 3–4 button 3, 1–2 button 4; bytes 7 and 8 likewise.
        for number in 0..12_usize {
            let mut frame = [0x01, 0x00, 0x01, 0x00, 0x0F, 0x00, 0x00, 0x00];
            frame[5 + number / 4] = 0b0100_0000 >> (2 * (number % 4));
            let lever = BasicJoystick::parse(&frame, BAND);
            for (place, button) in lever.buttons.iter().enumerate() {
                assert_eq!(*button == ButtonField::Pressed, place == number, "button {}", place + 1);
            }
            assert_eq!(lever.emit(), frame);
        }
        // Byte 5 bits 5–6 Y, 7–8 X.
        let held = |byte| BasicJoystick::parse(&[1, 0, 1, 0, byte, 0, 0, 0], BAND);
        assert_eq!((held(0b0001_0000).x_detent, held(0b0001_0000).y_detent), (FlagField::No, FlagField::Yes));
        assert_eq!(
            (held(0b0110_0000).x_detent, held(0b0110_0000).y_detent),
            (FlagField::Yes, FlagField::Error)
        );
    }

    proptest! {
        #[test]
        fn what_any_eight_bytes_mean_survives_writing_and_reading(frame: [u8; 8]) {
            let lever = BasicJoystick::parse(&frame, BAND);
            prop_assert_eq!(BasicJoystick::parse(&lever.emit(), BAND), lever);
        }
    }
}
