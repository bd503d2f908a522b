//! Levers: Basic and Extended Joystick Messages (SAE J1939-71).

use super::{FieldLayout, Meaning, MessageLayout, STATUS};
use crate::id::pgn;

/// Places inside the sixteen bits of an axis.
pub(crate) mod axis {
    /// Neutral flag.
    pub const NEUTRAL: u8 = 0;
    /// Left, back or anticlockwise flag.
    pub const NEGATIVE: u8 = 2;
    /// Right, forward or clockwise flag.
    pub const POSITIVE: u8 = 4;
    /// Magnitude in thousandths.
    pub const NUMBER: u8 = 6;
    /// Bits of the magnitude.
    pub const NUMBER_BITS: u8 = 10;
    /// Largest magnitude that is one.
    pub const LARGEST: u32 = 1000;
}

/// Places in a basic message.
pub(crate) mod basic {
    /// Lowest bit of axis X.
    pub const X: u8 = 0;
    /// Lowest bit of axis Y.
    pub const Y: u8 = 16;
    /// Detent of Y.
    pub const Y_DETENT: u8 = 36;
    /// Detent of X.
    pub const X_DETENT: u8 = 38;
    /// Buttons 1 to 12: four a byte, the first in the highest bits.
    pub const BUTTONS: [u8; 12] = [46, 44, 42, 40, 54, 52, 50, 48, 62, 60, 58, 56];
}

/// Places in an extended message.
pub(crate) mod extended {
    /// Lowest bit of the grip's axis X.
    pub const GRIP_X: u8 = 0;
    /// Lowest bit of the grip's axis Y.
    pub const GRIP_Y: u8 = 16;
    /// Lowest bit of the twist (from memory of the standard).
    pub const THETA: u8 = 32;
    /// Detent of the grip's Y.
    pub const Y_DETENT: u8 = 52;
    /// Detent of the grip's X.
    pub const X_DETENT: u8 = 54;
}

const POSITION: Meaning =
    Meaning::Number { numerator: 1, denominator: 10, offset: 0, highest: axis::LARGEST, unit: "%" };

const fn flag(name: &'static str, first: u8, spn: Option<u32>) -> FieldLayout {
    FieldLayout::new(name, first, 2, STATUS, spn)
}

const fn position(name: &'static str, axis: u8, spn: Option<u32>) -> FieldLayout {
    FieldLayout::new(name, axis.saturating_add(axis::NUMBER), axis::NUMBER_BITS, POSITION, spn)
}

/// The rows of a basic message; `spn` keeps numbers for the lever that they belong to.
macro_rules! basic_fields {
    ($spn:expr) => {
        &[
            flag("XNeutral", basic::X + axis::NEUTRAL, $spn(2675)),
            flag("XLeft", basic::X + axis::NEGATIVE, $spn(2670)),
            flag("XRight", basic::X + axis::POSITIVE, $spn(2665)),
            position("XPosition", basic::X, $spn(2660)),
            flag("YNeutral", basic::Y + axis::NEUTRAL, $spn(2676)),
            flag("YBack", basic::Y + axis::NEGATIVE, $spn(2671)),
            flag("YForward", basic::Y + axis::POSITIVE, $spn(2666)),
            position("YPosition", basic::Y, $spn(2661)),
            flag("YDetent", basic::Y_DETENT, $spn(2681)),
            flag("XDetent", basic::X_DETENT, $spn(2680)),
            flag("Button4", basic::BUTTONS[3], $spn(2688)),
            flag("Button3", basic::BUTTONS[2], $spn(2687)),
            flag("Button2", basic::BUTTONS[1], $spn(2686)),
            flag("Button1", basic::BUTTONS[0], $spn(2685)),
            flag("Button8", basic::BUTTONS[7], None),
            flag("Button7", basic::BUTTONS[6], None),
            flag("Button6", basic::BUTTONS[5], None),
            flag("Button5", basic::BUTTONS[4], None),
            flag("Button12", basic::BUTTONS[11], None),
            flag("Button11", basic::BUTTONS[10], None),
            flag("Button10", basic::BUTTONS[9], None),
            flag("Button9", basic::BUTTONS[8], None),
        ]
    };
}

macro_rules! extended_fields {
    ($spn:expr) => {
        &[
            flag("GripXNeutral", extended::GRIP_X + axis::NEUTRAL, None),
            flag("GripXLeft", extended::GRIP_X + axis::NEGATIVE, None),
            flag("GripXRight", extended::GRIP_X + axis::POSITIVE, None),
            position("GripXPosition", extended::GRIP_X, $spn(2662)),
            flag("GripYNeutral", extended::GRIP_Y + axis::NEUTRAL, None),
            flag("GripYBack", extended::GRIP_Y + axis::NEGATIVE, None),
            flag("GripYForward", extended::GRIP_Y + axis::POSITIVE, None),
            position("GripYPosition", extended::GRIP_Y, $spn(2663)),
            flag("ThetaNeutral", extended::THETA + axis::NEUTRAL, None),
            flag("ThetaAnticlockwise", extended::THETA + axis::NEGATIVE, None),
            flag("ThetaClockwise", extended::THETA + axis::POSITIVE, None),
            position("ThetaPosition", extended::THETA, $spn(2664)),
            flag("GripYDetent", extended::Y_DETENT, None),
            flag("GripXDetent", extended::X_DETENT, None),
        ]
    };
}

const fn known(spn: u32) -> Option<u32> {
    Some(spn)
}

/// The second and third lever have numbers of their own, which are not known here.
const fn unknown(_: u32) -> Option<u32> {
    None
}

const FIRST_BASIC: &[FieldLayout] = basic_fields!(known);
const OTHER_BASIC: &[FieldLayout] = basic_fields!(unknown);
const FIRST_EXTENDED: &[FieldLayout] = extended_fields!(known);
const OTHER_EXTENDED: &[FieldLayout] = extended_fields!(unknown);

const fn lever(
    name: &'static str,
    title: &'static str,
    pgn: u32,
    fields: &'static [FieldLayout],
) -> MessageLayout {
    MessageLayout { name, title, pgn, priority: 3, bytes: 8, fields }
}

/// Basic Joystick Message 1.
pub const BASIC_JOYSTICK_1: MessageLayout =
    lever("BJM1", "Basic Joystick Message 1 (SAE J1939-71)", pgn::BASIC_JOYSTICK_1, FIRST_BASIC);
/// Basic Joystick Message 2.
pub const BASIC_JOYSTICK_2: MessageLayout =
    lever("BJM2", "Basic Joystick Message 2 (SAE J1939-71)", pgn::BASIC_JOYSTICK_2, OTHER_BASIC);
/// Basic Joystick Message 3.
pub const BASIC_JOYSTICK_3: MessageLayout =
    lever("BJM3", "Basic Joystick Message 3 (SAE J1939-71)", pgn::BASIC_JOYSTICK_3, OTHER_BASIC);
/// Extended Joystick Message 1.
pub const EXTENDED_JOYSTICK_1: MessageLayout = lever(
    "EJM1",
    "Extended Joystick Message 1 (SAE J1939-71; the twist axis from memory of it)",
    pgn::EXTENDED_JOYSTICK_1,
    FIRST_EXTENDED,
);
/// Extended Joystick Message 2.
pub const EXTENDED_JOYSTICK_2: MessageLayout = lever(
    "EJM2",
    "Extended Joystick Message 2 (SAE J1939-71; the twist axis from memory of it)",
    pgn::EXTENDED_JOYSTICK_2,
    OTHER_EXTENDED,
);
/// Extended Joystick Message 3.
pub const EXTENDED_JOYSTICK_3: MessageLayout = lever(
    "EJM3",
    "Extended Joystick Message 3 (SAE J1939-71; the twist axis from memory of it)",
    pgn::EXTENDED_JOYSTICK_3,
    OTHER_EXTENDED,
);
