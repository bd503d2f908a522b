//! One coil: current loop, dither and watch.

use trunnion::quantity::Duty;
use trunnion::valve::{Coil, CoilConfig, CurrentLoopConfig, DitherConfig};

use crate::coil_plant::Sensed;
use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{COIL_TICK, centiohms, milliamps, millis, millivolts, permille};

/// 7.2 Ω, 3 ms; 8 V to 16 V; 30 mA of dither; coil loop.
pub struct Block(Coil);

impl Subject for Block {
    const NAME: &'static str = "valve/coil";
    type Input = Sensed;
    type Output = Duty;

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
        Self(built!(Coil::new(COIL, COIL_TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Sensed>) -> Sensed {
        Sensed::next(random, previous, Duty::ZERO)
    }

    fn input_after(random: &mut Random, previous: &Sensed, output: &Duty) -> Sensed {
        Sensed::next(random, Some(previous), *output)
    }

    fn step(&mut self, input: &Sensed) -> Duty {
        self.0.step(input.set, input.measured, input.supply)
    }
}
