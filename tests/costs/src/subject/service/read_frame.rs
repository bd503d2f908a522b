//! A period in which one frame comes that asks for a declared value.

use crate::subject::station::{self, Traffic};
use crate::tester::Talk;

/// The station.
pub type Block = station::Block<Reads>;

/// A tester who reads.
pub struct Reads;

impl Traffic for Reads {
    const NAME: &'static str = "service/read_frame";
    const TALK: Talk = Talk::Read;
}
