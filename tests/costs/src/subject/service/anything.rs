//! A period in which one frame comes, from a tester who has unlocked a level and asks for anything that fits a frame. The
//! largest is the dearest of them that was found: a list of faults, of all that were logged (service 19) or of those that are no
//! longer active (DM2).

use crate::subject::station::{self, Traffic};
use crate::tester::Talk;

/// The station.
pub type Block = station::Block<Requests>;

/// All requests.
pub struct Requests;

impl Traffic for Requests {
    const NAME: &'static str = "service/anything";
    const TALK: Talk = Talk::Anything;
}
