//! A switch with a make and a break contact.

use trunnion::sense::{DualContact, DualContactConfig, Reading};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis, reading_words};

/// 100 ms to disagree.
pub struct Block(DualContact);

impl Subject for Block {
    const NAME: &'static str = "sense/dual_contact";
    /// Normally open, normally closed.
    type Input = (bool, bool);
    type Output = Reading<bool>;

    fn new() -> Self {
        Self(built!(DualContact::new(DualContactConfig { disagree_after: millis(100) }, TICK)))
    }

    /// Moves as one switch does, a contact after the other; now and then one of them sticks.
    fn input(random: &mut Random, previous: Option<&(bool, bool)>) -> (bool, bool) {
        let Some((one, other)) = previous.copied() else { return (random.once_in(2), random.once_in(2)) };
        match (one == other, random.below(40)) {
            (false, 0) => (!one, other),
            (false, 1) => (one, !other),
            (true, 0..8) => (one, !other),
            (true, 8..16) => (!one, other),
            _ => (one, other),
        }
    }

    fn step(&mut self, (one, other): &(bool, bool)) -> Reading<bool> {
        self.0.step(*one, *other)
    }

    fn input_words((one, other): &(bool, bool), into: &mut Words) -> usize {
        into[0] = i32::from(*one);
        into[1] = i32::from(*other);
        2
    }

    fn output_words(output: &Reading<bool>, into: &mut Words) -> usize {
        reading_words::put(*output, i32::from, into, 0)
    }
}
