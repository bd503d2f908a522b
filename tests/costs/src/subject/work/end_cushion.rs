//! Slows a cylinder before its end.

use trunnion::quantity::Ratio;
use trunnion::sense::Reading;
use trunnion::work::{Cushion, EndCushion, EndCushionConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// The last 150 and 100 ‰, down to 200 ‰.
pub struct Block(EndCushion);

impl Subject for Block {
    const NAME: &'static str = "work/end_cushion";
    type Input = (Ratio, Reading<Ratio>);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(EndCushion::new(EndCushionConfig {
            positive: Cushion { zone: permille(150), end_speed: permille(200) },
            negative: Cushion { zone: permille(100), end_speed: permille(200) }
        })))
    }

    fn input(random: &mut Random, previous: Option<&(Ratio, Reading<Ratio>)>) -> (Ratio, Reading<Ratio>) {
        (random.ratio(previous.map(|before| before.0)), random.share(previous.map(|before| before.1)))
    }

    fn step(&mut self, input: &(Ratio, Reading<Ratio>)) -> Ratio {
        self.0.step(input.0, input.1)
    }
}
