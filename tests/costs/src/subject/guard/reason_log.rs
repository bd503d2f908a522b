//! Why not, in the time before a stop.

use trunnion::guard::{ReasonLog, ReasonLogConfig, Reasons};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{TICK, millis};

/// Three groups of reasons, eight entries, 30 s.
pub struct Block(ReasonLog<3, 8>);

impl Subject for Block {
    const NAME: &'static str = "guard/reason_log";
    type Input = WhyNot;
    type Output = bool;

    fn new() -> Self {
        Self(assembled!(ReasonLog::new(ReasonLogConfig { look_back: millis(30_000) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&WhyNot>) -> WhyNot {
        let mut why_not = previous.map_or([Reasons::none(); 3], |before| before.why_not);
        for reasons in &mut why_not {
            if random.once_in(12) {
                *reasons = Reasons::from_bits(reasons.bits() ^ 1_u32.wrapping_shl(random.below(8)));
            }
        }
        WhyNot { why_not, permitted: random.level(previous.map(|before| before.permitted), 40) }
    }

    fn step(&mut self, input: &WhyNot) -> bool {
        self.0.step(input.why_not, input.permitted);
        self.0.is_frozen()
    }
}

/// The reasons of all groups, and whether motion is permitted.
#[derive(Clone, Copy)]
pub struct WhyNot {
    why_not: [Reasons; 3],
    permitted: bool,
}

impl Spelled for WhyNot {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.why_not.map(Reasons::bits).spell(into, at);
        self.permitted.spell(into, at)
    }
}
