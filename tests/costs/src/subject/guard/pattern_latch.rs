//! Which lever pattern is in force.

use trunnion::guard::{PatternLatch, PatternLatchConfig, PatternState};
use trunnion::lever::LeverPattern;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::{Spelled, put};
use crate::subject::{TICK, millis};

/// At rest for 100 ms.
pub struct Block(PatternLatch<LeverPattern>);

impl Subject for Block {
    const NAME: &'static str = "guard/pattern_latch";
    type Input = Rocker;
    type Output = PatternState<LeverPattern>;

    fn new() -> Self {
        Self(built!(PatternLatch::new(PatternLatchConfig { hold: millis(100) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Rocker>) -> Rocker {
        Rocker {
            pattern: match previous {
                Some(before) if !random.once_in(40) => before.pattern,
                _ => match random.below(4) {
                    0 => None,
                    1 => Some(LeverPattern::H),
                    _ => Some(LeverPattern::Iso),
                },
            },
            at_rest: random.level(previous.map(|before| before.at_rest), 40),
        }
    }

    fn step(&mut self, input: &Rocker) -> PatternState<LeverPattern> {
        self.0.step(input.pattern, input.at_rest)
    }
}

/// The pattern that the rocker asks for, and whether it may be changed.
#[derive(Clone, Copy)]
pub struct Rocker {
    pattern: Option<LeverPattern>,
    at_rest: bool,
}

impl Spelled for LeverPattern {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        put(into, at, *self as i32)
    }
}

impl Spelled for Rocker {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.pattern.spell(into, at);
        self.at_rest.spell(into, at)
    }
}

impl Spelled for PatternState<LeverPattern> {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.active.spell(into, at);
        let at = self.mismatch.spell(into, at);
        let at = self.changed.spell(into, at);
        self.dropped.spell(into, at)
    }
}
