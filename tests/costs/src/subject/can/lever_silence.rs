//! A period in which a lever sends nothing: the typical one of those is counted here, since frames come in one of three.

use crate::subject::lever_frames::{self, Pace};

/// Mailbox and lever.
pub type Block = lever_frames::Block<Seldom>;

/// In one of three periods, so that the median period has none.
pub struct Seldom;

impl Pace for Seldom {
    const NAME: &'static str = "can/lever_silence";
    const ONCE_IN: u32 = 3;
}
