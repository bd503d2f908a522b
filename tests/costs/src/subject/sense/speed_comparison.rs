//! Two speeds that should be one.

use trunnion::quantity::Rpm;
use trunnion::sense::{Reading, SpeedComparison, SpeedComparisonConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis, rpm};

/// 80 rpm apart for 100 ms.
pub struct Block(SpeedComparison);

impl Subject for Block {
    const NAME: &'static str = "sense/speed_comparison";
    type Input = (Reading<Rpm>, Reading<Rpm>);
    type Output = bool;

    fn new() -> Self {
        Self(built!(SpeedComparison::new(
            SpeedComparisonConfig { tolerance: rpm(80), disagree_after: millis(100) },
            TICK
        )))
    }

    fn input(
        random: &mut Random,
        previous: Option<&(Reading<Rpm>, Reading<Rpm>)>,
    ) -> (Reading<Rpm>, Reading<Rpm>) {
        let one = random.reading(previous.map(|before| before.0), 0, 28_000);
        let other = match (one, previous) {
            (Reading::Valid(speed), Some((Reading::Valid(one), Reading::Valid(other)))) => {
                let apart = random.moved(Some(one.raw().saturating_sub(other.raw())), -1_200, 1_200);
                Reading::Valid(Rpm::saturating(i64::from(speed.raw().saturating_sub(apart))))
            }
            _ => random.reading(previous.map(|before| before.1), 0, 28_000),
        };
        (one, other)
    }

    fn step(&mut self, input: &(Reading<Rpm>, Reading<Rpm>)) -> bool {
        self.0.step(input.0, input.1)
    }
}
