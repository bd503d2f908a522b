//! A period in which one frame comes that is none of the station's business.

use crate::subject::station::{self, Traffic};
use crate::tester::Talk;

/// The station.
pub type Block = station::Block<OfOthers>;

/// Other people's frames.
pub struct OfOthers;

impl Traffic for OfOthers {
    const NAME: &'static str = "service/foreign_frame";
    const TALK: Talk = Talk::Foreign;
}
