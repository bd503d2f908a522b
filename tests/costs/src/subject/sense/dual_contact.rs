//! Make and break contact of one switch.

use trunnion::sense::{DualContact, DualContactConfig, Reading};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// They disagree after 200 ms.
pub struct Block(DualContact);

impl Subject for Block {
    const NAME: &'static str = "sense/dual_contact";
    type Input = (bool, bool);
    type Output = Reading<bool>;

    fn new() -> Self {
        Self(built!(DualContact::new(DualContactConfig { disagree_after: millis(200) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&(bool, bool)>) -> (bool, bool) {
        let one = random.level(previous.map(|before| before.0), 12);
        let other = if random.once_in(8) { random.level(previous.map(|before| before.1), 4) } else { !one };
        (one, other)
    }

    fn step(&mut self, input: &(bool, bool)) -> Reading<bool> {
        self.0.step(input.0, input.1)
    }
}
