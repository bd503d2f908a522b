//! A period in which as many frames come as the loader's inputs hold, eight: a request that fits a frame, one for DM1 or DM2, and
//! six that the station has to look into: parts of long messages, claims of its own address, clears, other people's frames.

use crate::subject::station::{self, Traffic};
use crate::tester::Talk;

/// The station.
pub type Block = station::Block<Flood>;

/// All places taken.
pub struct Flood;

impl Traffic for Flood {
    const NAME: &'static str = "service/full_mailbox";
    const TALK: Talk = Talk::Flood;
}
