//! Two sensors of one lever.

use trunnion::quantity::Ratio;
use trunnion::sense::{PairValue, Reading, RedundantPair, RedundantPairConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis, permille, reading_words};

/// 50 ‰ apart for 100 ms at most; the mean.
pub struct Block(RedundantPair<Ratio>);

/// Both sensors.
type Pair = (Reading<Ratio>, Reading<Ratio>);

impl Subject for Block {
    const NAME: &'static str = "sense/redundant_pair";
    type Input = Pair;
    type Output = Reading<Ratio>;

    fn new() -> Self {
        Self(started!(RedundantPair::new(
            RedundantPairConfig {
                tolerance: permille(50).into(),
                disagree_after: millis(100),
                value: PairValue::Mean,
            },
            TICK
        )))
    }

    /// The second follows the first within about 55 ‰; now and then it stays behind for a while.
    fn input(random: &mut Random, previous: Option<&Pair>) -> Pair {
        let one = measured::reading(random, previous.map(|pair| pair.0), Random::ratio);
        let other =
            measured::reading(random, previous.map(|pair| pair.1), |random, before| match (one, before) {
                (Reading::Valid(one), _) if random.once_in(6) => {
                    let apart = random.between(-59_000_000, 59_000_000);
                    Ratio::saturating(i64::from(one.to_bits()).wrapping_add(apart.into()))
                }
                (Reading::Valid(one), None) => one,
                (_, before) => before.unwrap_or(Ratio::ZERO),
            });
        (one, other)
    }

    fn step(&mut self, (one, other): &Pair) -> Reading<Ratio> {
        self.0.step(*one, *other)
    }

    fn input_words((one, other): &Pair, into: &mut Words) -> usize {
        let next = reading_words::put(*one, Ratio::to_bits, into, 0);
        reading_words::put(*other, Ratio::to_bits, into, next)
    }

    fn output_words(value: &Reading<Ratio>, into: &mut Words) -> usize {
        reading_words::put(*value, Ratio::to_bits, into, 0)
    }
}
