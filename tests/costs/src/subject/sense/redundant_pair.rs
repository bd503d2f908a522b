//! Two readings of one quantity.

use trunnion::quantity::Ratio;
use trunnion::sense::{PairValue, Reading, RedundantPair, RedundantPairConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis, permille};

/// 50 ‰ apart for 100 ms, the mean of both.
pub struct Block(RedundantPair<Ratio>);

impl Subject for Block {
    const NAME: &'static str = "sense/redundant_pair";
    type Input = (Reading<Ratio>, Reading<Ratio>);
    type Output = Reading<Ratio>;

    fn new() -> Self {
        Self(assembled!(RedundantPair::new(
            RedundantPairConfig {
                tolerance: Ratio::from(permille(50)),
                disagree_after: millis(100),
                value: PairValue::Mean
            },
            TICK
        )))
    }

    fn input(
        random: &mut Random,
        previous: Option<&(Reading<Ratio>, Reading<Ratio>)>,
    ) -> (Reading<Ratio>, Reading<Ratio>) {
        let one = random.share(previous.map(|before| before.0));
        let other = match one {
            Reading::Valid(share) if !random.once_in(8) => {
                Reading::Valid(share.plus(Ratio::saturating(i64::from(random.between(-1 << 26, 1 << 26)))))
            }
            _ => random.share(previous.map(|before| before.1)),
        };
        (one, other)
    }

    fn step(&mut self, input: &(Reading<Ratio>, Reading<Ratio>)) -> Reading<Ratio> {
        self.0.step(input.0, input.1)
    }
}
