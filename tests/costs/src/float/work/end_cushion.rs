//! Slows a cylinder before it meets its end, in `f32`.

use crate::float::number::{ONE, Reading, held, larger, reading, share, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::work::end_cushion::Block;

/// Shares of the stroke and of full command.
pub struct Cushion {
    pub(crate) zone: f32,
    pub(crate) end_speed: f32,
}

/// The configuration, resolved to a step, and the state.
pub struct EndCushion {
    positive: Cushion,
    negative: Cushion,
}

impl EndCushion {
    pub(crate) fn with(positive: Cushion, negative: Cushion) -> Self {
        Self { positive, negative }
    }

    pub(crate) fn step(&self, command: f32, position: Reading) -> f32 {
        let (cushion, distance) = match position {
            None if command < 0.0 => (&self.negative, 0.0),
            None => (&self.positive, 0.0),
            Some(position) if command < 0.0 => (&self.negative, larger(position, 0.0)),
            Some(position) => (&self.positive, 1.0 - larger(position, 0.0)),
        };
        let along = smaller(distance / cushion.zone, 1.0);
        let limit = cushion.end_speed + (1.0 - cushion.end_speed) * along;
        held(command, -limit, limit)
    }
}

/// The block with the configuration of its subject.
pub struct Twin(EndCushion);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, Reading);
    type Output = f32;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(EndCushion::with(Cushion { zone: 0.1, end_speed: 0.2 }, Cushion { zone: 0.2, end_speed: 0.1 }))
    }

    fn input(words: &Words) -> Self::Input {
        (share(words[0]), reading(words[1], share(words[2])))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
