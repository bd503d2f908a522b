//! What kept two groups from moving, remembered for the time before a stop.

use trunnion::guard::{ReasonEntry, ReasonLog, ReasonLogConfig, Reasons};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// Two groups, eight changes, 3 s.
pub struct Block(ReasonLog<2, 8>);

/// Why not for each group, and whether any is permitted.
type WhyNot = ([Reasons; 2], bool);

impl Subject for Block {
    const NAME: &'static str = "guard/reason_log";
    type Input = WhyNot;
    /// Whether it is frozen, its oldest and its newest entry.
    type Output = (bool, Option<ReasonEntry<2>>, Option<ReasonEntry<2>>);

    fn new() -> Self {
        Self(started!(ReasonLog::new(ReasonLogConfig { look_back: millis(3_000) }, TICK)))
    }

    /// Seldom a reason comes or goes in one of the groups; they are permitted for a while.
    fn input(random: &mut Random, previous: Option<&WhyNot>) -> WhyNot {
        let Some((mut why_not, permitted)) = previous.copied() else {
            return ([Reasons::none(); 2], false);
        };
        for reasons in &mut why_not {
            if random.once_in(40) {
                let turned = 1_u32.wrapping_shl(random.below(8));
                *reasons = Reasons::from_bits(reasons.bits() ^ turned);
            }
        }
        (why_not, random.level(Some(permitted), 200))
    }

    fn step(&mut self, (why_not, permitted): &WhyNot) -> Self::Output {
        self.0.step(*why_not, *permitted);
        let mut entries = self.0.entries().copied();
        let oldest = entries.next();
        (self.0.is_frozen(), oldest, entries.next_back().or(oldest))
    }

    fn input_words((why_not, permitted): &WhyNot, into: &mut Words) -> usize {
        into[0] = why_not[0].bits().cast_signed();
        into[1] = why_not[1].bits().cast_signed();
        into[2] = i32::from(*permitted);
        3
    }

    fn output_words((frozen, oldest, newest): &Self::Output, into: &mut Words) -> usize {
        into[0] = i32::from(*frozen);
        put_entry(*oldest, into, 1);
        put_entry(*newest, into, 5);
        9
    }
}

/// A flag, the period, why not for each group.
fn put_entry(entry: Option<ReasonEntry<2>>, into: &mut Words, place: usize) {
    let words = entry.map_or([0; 4], |entry| {
        let [one, other] = entry.why_not.map(|reasons| reasons.bits().cast_signed());
        [1, entry.period.cast_signed(), one, other]
    });
    for (word, of_entry) in into.iter_mut().skip(place).zip(words) {
        *word = of_entry;
    }
}
