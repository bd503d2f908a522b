//! The lever pattern changes only at rest.

use trunnion::guard::{PatternLatch, PatternLatchConfig, PatternState};
use trunnion::lever::LeverPattern;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// At rest for 500 ms.
pub struct Block(PatternLatch<LeverPattern>);

/// What the rocker says, and whether the machine is at rest.
type Rocker = (Option<LeverPattern>, bool);

impl Subject for Block {
    const NAME: &'static str = "guard/pattern_latch";
    type Input = Rocker;
    type Output = PatternState<LeverPattern>;

    fn new() -> Self {
        Self(built!(PatternLatch::new(PatternLatchConfig { hold: millis(500) }, TICK)))
    }

    /// The rocker is moved now and then, seldom cannot be read; the machine rests and moves.
    fn input(random: &mut Random, previous: Option<&Rocker>) -> Rocker {
        let rocker = match (previous, random.below(400)) {
            (Some((Some(_), _)), 0) => None,
            (None, _) | (Some(_), 1..5) | (Some((None, _)), 5..40) => {
                Some(if random.once_in(2) { LeverPattern::H } else { LeverPattern::Iso })
            }
            (Some((rocker, _)), _) => *rocker,
        };
        (rocker, random.level(previous.map(|before| before.1), 120))
    }

    fn step(&mut self, (rocker, at_rest): &Rocker) -> Self::Output {
        self.0.step(*rocker, *at_rest)
    }

    fn input_words((rocker, at_rest): &Rocker, into: &mut Words) -> usize {
        put_pattern(*rocker, into);
        into[2] = i32::from(*at_rest);
        3
    }

    fn output_words(state: &Self::Output, into: &mut Words) -> usize {
        put_pattern(state.active, into);
        into[2] = state.mismatch.into();
        into[3] = state.changed.into();
        into[4] = state.dropped.into();
        5
    }
}

fn put_pattern(pattern: Option<LeverPattern>, into: &mut Words) {
    into[0] = pattern.is_some().into();
    into[1] = pattern.map_or(0, |pattern| pattern as i32);
}
