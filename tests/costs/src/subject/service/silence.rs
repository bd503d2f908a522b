//! A period of the station in which nothing comes.

use crate::subject::station::{self, Traffic};
use crate::tester::Talk;

/// The station.
pub type Block = station::Block<Nothing>;

/// None.
pub struct Nothing;

impl Traffic for Nothing {
    const NAME: &'static str = "service/silence";
    const TALK: Talk = Talk::Silence;
}
