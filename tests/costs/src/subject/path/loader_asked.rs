//! The loader at rest, and a tester who has unlocked a level and asks in one frame for anything: reads, writes, commits, fault lists,
//! the frozen black box. The largest is the dearest that one frame can cause, the machine's own part included: a part of that
//! box, which the machine gives in the period behind the request, and only at rest in neutral.

use loader::declaration::{Outputs, SetPoints};

use crate::loader_bench::Bench;
use crate::random::Random;
use crate::subject::loader_on_bus::{self, Traffic};
use crate::tester::Talk;

/// With the black box.
pub type Block = loader_on_bus::Block<AtRest>;

/// Nobody touches the levers.
pub struct AtRest;

impl Traffic for AtRest {
    const NAME: &'static str = "path/loader_asked";
    const TALK: Talk = Talk::Anything;

    fn after(bench: &Bench, random: &mut Random, outputs: &Outputs, set_points: &SetPoints) -> Bench {
        bench.at_rest_after(random, outputs, set_points)
    }
}
