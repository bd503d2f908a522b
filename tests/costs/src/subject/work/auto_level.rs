//! The bucket keeps its angle while the boom moves.

use trunnion::quantity::Ratio;
use trunnion::sense::Reading;
use trunnion::work::{AutoLevel, AutoLevelConfig, AutoLevelInputs, LevelPoint, LevelWay};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{measured, millis, permille, reading_words};

/// Three points of the level line, both ways.
pub struct Block(AutoLevel<3>);

impl Subject for Block {
    const NAME: &'static str = "work/auto_level";
    type Input = AutoLevelInputs;
    type Output = Ratio;

    fn new() -> Self {
        let point = |boom, bucket| LevelPoint { boom: permille(boom), bucket: permille(bucket) };
        Self(started!(AutoLevel::new(AutoLevelConfig {
            line: [point(0, 200), point(500, 400), point(1_000, 800)],
            raise: millis(4_000),
            lower: millis(3_000),
            dump: millis(2_000),
            curl: millis(2_500),
            settle: millis(500),
            largest: permille(600),
            neutral: permille(50),
            way: LevelWay::BothWays,
        })))
    }

    fn input(random: &mut Random, previous: Option<&AutoLevelInputs>) -> AutoLevelInputs {
        let lever = random.ratio(previous.map(|before| before.lever));
        let stroke = |random: &mut Random, before: Option<Reading<Ratio>>| {
            measured::reading(random, before, |random, before: Option<Ratio>| {
                let raw = before.map(Ratio::to_bits);
                Ratio::saturating(random.moved(raw, 0, Ratio::ONE.to_bits()).into())
            })
        };
        AutoLevelInputs {
            on: random.level(previous.map(|before| before.on), 100),
            boom: random.ratio(previous.map(|before| before.boom)),
            lever: if random.once_in(6) { lever } else { Ratio::ZERO },
            boom_position: stroke(random, previous.map(|before| before.boom_position)),
            bucket_position: stroke(random, previous.map(|before| before.bucket_position)),
        }
    }

    fn step(&mut self, inputs: &AutoLevelInputs) -> Ratio {
        self.0.step(*inputs)
    }

    fn input_words(inputs: &AutoLevelInputs, into: &mut Words) -> usize {
        into[0] = inputs.on.into();
        into[1] = inputs.boom.to_bits();
        into[2] = inputs.lever.to_bits();
        let place = reading_words::put(inputs.boom_position, Ratio::to_bits, into, 3);
        reading_words::put(inputs.bucket_position, Ratio::to_bits, into, place)
    }

    fn output_words(bucket: &Ratio, into: &mut Words) -> usize {
        into[0] = bucket.to_bits();
        1
    }
}
