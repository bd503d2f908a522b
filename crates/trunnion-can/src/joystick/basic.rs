//! Basic Joystick Message: axes X and Y, detents, twelve buttons.

use trunnion::quantity::Permille;

use super::{AxisField, ButtonField, FlagField};
use crate::layout::{BASIC_JOYSTICK_1, basic, free_bits};

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
        let word = u64::from_le_bytes(*data);
        let mut buttons = [ButtonField::NotAvailable; 12];
        for (button, place) in buttons.iter_mut().zip(basic::BUTTONS) {
            *button = ButtonField::at(word, place);
        }
        Self {
            x: AxisField::at(word, basic::X, neutral_band),
            y: AxisField::at(word, basic::Y, neutral_band),
            x_detent: FlagField::at(word, basic::X_DETENT),
            y_detent: FlagField::at(word, basic::Y_DETENT),
            buttons,
        }
    }

    /// Eight bytes; free bits are set.
    pub fn emit(&self) -> [u8; 8] {
        let mut word = FREE
            | self.x.put(basic::X)
            | self.y.put(basic::Y)
            | self.x_detent.put(basic::X_DETENT)
            | self.y_detent.put(basic::Y_DETENT);
        for (button, place) in self.buttons.iter().zip(basic::BUTTONS) {
            word |= button.put(place);
        }
        word.to_le_bytes()
    }
}

/// Bits of the message that no field of it has.
const FREE: u64 = free_bits(&BASIC_JOYSTICK_1);

/// Lowest bit of each button in bytes 6–8 read as one number, byte 6 highest.
#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
pub(crate) const BUTTON_PLACES: [u32; 12] = {
    let mut places = [0; 12];
    let mut number = 0;
    while number < places.len() {
        let first = basic::BUTTONS[number] as u32;
        places[number] = (7 - first / 8) * 8 + first % 8;
        number += 1;
    }
    places
};

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
