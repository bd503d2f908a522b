//! A period in which a lever sends one of its messages: the mailbox takes it, the lever is read.

use crate::subject::lever_frames::{self, Pace};

/// Mailbox and lever.
pub type Block = lever_frames::Block<Always>;

/// In every period.
pub struct Always;

impl Pace for Always {
    const NAME: &'static str = "can/lever_frame";
    const ONCE_IN: u32 = 1;
}
