//! Which speed the engine is asked for, by hand throttle and pedal.

use trunnion::propel::{EngineSpeedInputs, EngineSpeedRequest, EngineSpeedRequestConfig};
use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis, reading_words};

/// 900 to 2400 rpm, 1 s up, 2 s down.
pub struct Block(EngineSpeedRequest);

impl Subject for Block {
    const NAME: &'static str = "propel/engine_speed_request";
    type Input = EngineSpeedInputs;
    type Output = Rpm;

    fn new() -> Self {
        Self(built!(EngineSpeedRequest::new(
            EngineSpeedRequestConfig {
                low_idle: Rpm::from_whole(900),
                high_idle: Rpm::from_whole(2_400),
                rise: millis(1_000),
                fall: millis(2_000),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&EngineSpeedInputs>) -> EngineSpeedInputs {
        let share = |random: &mut Random, before: Option<Ratio>| {
            Ratio::saturating(random.moved(before.map(Ratio::to_bits), 0, Ratio::ONE.to_bits()).into())
        };
        let read =
            |random: &mut Random, before: Option<Reading<Ratio>>| measured::reading(random, before, share);
        EngineSpeedInputs {
            hand: read(random, previous.map(|before| before.hand)),
            foot: read(random, previous.map(|before| before.foot)),
            least: share(random, previous.map(|before| before.least)),
            most: share(random, previous.map(|before| before.most)),
        }
    }

    fn step(&mut self, inputs: &EngineSpeedInputs) -> Rpm {
        self.0.step(*inputs)
    }

    fn input_words(inputs: &EngineSpeedInputs, into: &mut Words) -> usize {
        let place = reading_words::put(inputs.hand, Ratio::to_bits, into, 0);
        let place = reading_words::put(inputs.foot, Ratio::to_bits, into, place);
        for (word, share) in into.iter_mut().skip(place).zip([inputs.least, inputs.most]) {
            *word = share.to_bits();
        }
        place.wrapping_add(2)
    }

    fn output_words(speed: &Rpm, into: &mut Words) -> usize {
        into[0] = speed.raw();
        1
    }
}
