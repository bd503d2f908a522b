//! Which messages a machine's bus carries: the rows of its declaration.

use super::MessageLayout;

/// Whose address a message comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum From {
    /// An address that the parameter with this identifier holds.
    Parameter(u16),
    /// This address.
    Address(u8),
}

/// Which way a message goes, seen from the controller.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// It comes in.
    Received,
    /// It goes out.
    Sent,
}

/// A message that a machine's bus carries.
///
/// ```
/// use trunnion_can::layout::{BASIC_JOYSTICK_1, BusRow, Direction, From};
///
/// const LEFT_LEVER: BusRow = BusRow {
///     unit: "LeftLever",
///     layout: &BASIC_JOYSTICK_1,
///     direction: Direction::Received,
///     from: From::Parameter(0x0101),
///     to: None,
///     slot: "left_lever_basic",
/// };
/// assert_eq!(LEFT_LEVER.layout.fields[3].name, "XPosition");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BusRow {
    /// Who sends it, one word.
    pub unit: &'static str,
    /// Its group and fields.
    pub layout: &'static MessageLayout,
    /// Which way it goes.
    pub direction: Direction,
    /// Whose address it comes from.
    pub from: From,
    /// The address that it goes to; `None` for a group that is sent to all.
    pub to: Option<From>,
    /// The input that holds its latest data; empty when it has no slot of its own.
    pub slot: &'static str,
}
