//! Two sensors of one lever, in `f32`.

use trunnion::sense::{Flaw, Reading};

use crate::float::number::{ONE, share};
use crate::float::sensed::{TICK, put, reading};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::redundant_pair::Block;

/// Shares of full scale, times in ms.
pub struct Twin {
    tolerance: f32,
    disagree_after: f32,
    agreed: bool,
    waited: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (Reading<f32>, Reading<f32>);
    type Output = Reading<f32>;

    // Half a step of 2⁻²⁴ for the readings, and half a one for their mean. A difference within a step of the tolerance may
    // fall on its other side, which counts a period more or less.
    const DISTANCE: &'static [f32] = &[0.0, 64.0];
    const APART_IN_A_MILLION: u32 = 5;

    fn new() -> Self {
        Self { tolerance: 0.05, disagree_after: 100.0, agreed: false, waited: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        (reading(words[0], share(words[1])), reading(words[2], share(words[3])))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (one, other) = match *input {
            (Reading::Valid(one), Reading::Valid(other)) => (one, other),
            (Reading::Faulted(flaw), _) | (_, Reading::Faulted(flaw)) => {
                self.agreed = false;
                self.waited = 0.0;
                return Reading::Faulted(flaw);
            }
        };
        if (one - other).abs() <= self.tolerance {
            self.agreed = true;
            self.waited = 0.0;
        } else if self.waited >= self.disagree_after {
            self.agreed = false;
        } else {
            self.waited += TICK;
        }
        if self.agreed { Reading::Valid((one + other) * 0.5) } else { Reading::Faulted(Flaw::Disagreement) }
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        put(*output, ONE, into)
    }
}
