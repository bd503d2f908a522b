//! Two opposite coils of one spool, never both, with currents in `f32`.

use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::pair_exclusion::Block;

#[derive(Clone, Copy)]
struct Release {
    steps: u32,
    lasting: bool,
    driven: bool,
}

const NOT_YET: Release = Release { steps: 0, lasting: false, driven: false };
const DRIVEN: Release = Release { driven: true, ..NOT_YET };

impl Release {
    fn measure(&mut self, released: bool, pause: u32) {
        let released = released && !self.driven;
        self.driven = false;
        if released == self.lasting {
            self.steps = 0;
            return;
        }
        self.steps += 1;
        if self.steps >= pause {
            *self = Release { lasting: released, ..NOT_YET };
        }
    }
}

/// The configuration, resolved to a step, and the state.
pub struct PairExclusion {
    released: f32,
    pause: u32,
    a: Release,
    b: Release,
}

impl PairExclusion {
    /// The released current in mA, the pause in steps.
    pub(crate) fn with(released: f32, pause: u32) -> Self {
        Self { released, pause, a: NOT_YET, b: NOT_YET }
    }

    pub(crate) fn step(&mut self, set: (f32, f32), measured: (f32, f32)) -> (f32, f32) {
        self.a.measure(measured.0 <= self.released, self.pause);
        self.b.measure(measured.1 <= self.released, self.pause);
        if set.0 != 0.0 && set.1 == 0.0 && self.b.lasting {
            self.a = DRIVEN;
            (set.0, 0.0)
        } else if set.1 != 0.0 && set.0 == 0.0 && self.a.lasting {
            self.b = DRIVEN;
            (0.0, set.1)
        } else {
            (0.0, 0.0)
        }
    }
}

/// The block with the configuration of its subject.
pub struct Twin(PairExclusion);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = [(f32, f32); 2];
    type Output = (f32, f32);

    // Whole mA are exact.
    const DISTANCE: &'static [f32] = &[0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(PairExclusion::with(80.0, 20))
    }

    fn input(words: &Words) -> Self::Input {
        [(words[0] as f32, words[1] as f32), (words[2] as f32, words[3] as f32)]
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let [set, measured] = *input;
        self.0.step(set, measured)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0;
        into[1] = output.1;
        2
    }
}
