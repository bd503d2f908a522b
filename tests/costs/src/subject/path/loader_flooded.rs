//! The loader at work with a full mailbox: all messages of its levers and its engine come in one period, every other one, and
//! in every period as many other frames as its inputs hold, eight: those of `service/full_mailbox`. Its tester, who has unlocked
//! a level, lets the black box record anew now and then. The largest is a period in which a segment of the box begins.

use loader::declaration::{Outputs, SetPoints};

use crate::loader_bench::Bench;
use crate::random::Random;
use crate::subject::loader_on_bus::{self, Traffic};
use crate::tester::Talk;

/// With the black box.
pub type Block = loader_on_bus::Block<AtWork>;

/// The operator drives meanwhile.
pub struct AtWork;

impl Traffic for AtWork {
    const NAME: &'static str = "path/loader_flooded";
    const TALK: Talk = Talk::Flood;

    fn after(bench: &Bench, random: &mut Random, outputs: &Outputs, set_points: &SetPoints) -> Bench {
        bench.after(random, outputs, set_points).with_engine_beside_levers(bench)
    }
}
