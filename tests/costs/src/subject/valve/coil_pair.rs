//! Two opposite coils of a spool, never both.

use trunnion::quantity::Duty;
use trunnion::valve::{
    CoilConfig, CoilPair, CoilPairConfig, CurrentLoopConfig, DitherConfig, PairExclusionConfig,
};

use crate::coil_plant::SensedPair;
use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{COIL_TICK, centiohms, milliamps, millis, millivolts, permille};

/// Twice the coil of `valve/coil`; released below 50 mA, 5 ms of pause; coil loop.
pub struct Block(CoilPair);

impl Subject for Block {
    const NAME: &'static str = "valve/coil_pair";
    type Input = SensedPair;
    type Output = (Duty, Duty);

    fn new() -> Self {
        const COIL: CoilConfig = CoilConfig {
            control: CurrentLoopConfig {
                resistance: centiohms(720),
                time_constant: millis(3),
                proportional: centiohms(720),
                integral_time: millis(8),
                lowest_supply: millivolts(8_000),
                highest_supply: millivolts(16_000),
                largest: milliamps(1_200),
            },
            dither: DitherConfig { amplitude: milliamps(30), cycle: millis(10) },
            averaging: millis(10),
            tolerance: permille(100),
            offset: milliamps(40),
            stray: milliamps(60),
        };
        const EXCLUSION: PairExclusionConfig =
            PairExclusionConfig { released: milliamps(50), pause: millis(5) };
        Self(built!(CoilPair::new(CoilPairConfig { a: COIL, b: COIL, exclusion: EXCLUSION }, COIL_TICK)))
    }

    fn input(random: &mut Random, previous: Option<&SensedPair>) -> SensedPair {
        SensedPair::next(random, previous, (Duty::ZERO, Duty::ZERO))
    }

    fn input_after(random: &mut Random, previous: &SensedPair, output: &(Duty, Duty)) -> SensedPair {
        SensedPair::next(random, Some(previous), *output)
    }

    fn step(&mut self, input: &SensedPair) -> (Duty, Duty) {
        self.0.step(input.set, input.measured, input.supply)
    }
}
