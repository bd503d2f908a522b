//! A thermistor by the points of its characteristic, in `f32`.

use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::lookup_table::Block;

/// mV and °C.
const POINTS: [(f32, f32); 8] = [
    (300.0, 130.0),
    (600.0, 100.0),
    (1_100.0, 75.0),
    (1_800.0, 53.0),
    (2_600.0, 33.0),
    (3_400.0, 13.0),
    (4_100.0, -8.0),
    (4_600.0, -30.0),
];

/// Eight points.
pub struct Twin {
    points: [(f32, f32); 8],
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // The block rounds to a tenth of a degree.
    const DISTANCE: &'static [f32] = &[0.51];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { points: POINTS }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let mut low: Option<(f32, f32)> = None;
        for high in self.points {
            if *input <= high.0 {
                return match low {
                    Some(low) => low.1 + (high.1 - low.1) * (*input - low.0) / (high.0 - low.0),
                    None => high.1,
                };
            }
            low = Some(high);
        }
        low.map_or(0.0, |last| last.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * 10.0;
        1
    }
}
