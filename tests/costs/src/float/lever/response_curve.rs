//! A lever response drawn by points, in `f32`.

use crate::float::number::{ONE, directed_as, larger, share, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::lever::response_curve::Block;

/// Deflection and intent.
const POINTS: [(f32, f32); 5] = [(0.0, 0.0), (0.08, 0.0), (0.4, 0.15), (0.8, 0.65), (1.0, 1.0)];

/// A cubic by its coefficients, in the share of its width.
#[derive(Clone, Copy)]
struct Piece {
    from: f32,
    width: f32,
    coefficients: [f32; 4],
}

/// A piece between each two points.
pub struct Twin {
    pieces: [Piece; 4],
}

/// Weighted harmonic mean of the slopes of two chords, of zero where one is flat; at most one and a half of either.
fn inner((h0, s0): (f32, f32), (h1, s1): (f32, f32)) -> f32 {
    if s0 <= 0.0 || s1 <= 0.0 {
        return 0.0;
    }
    let mean = 3.0 * (h0 + h1) / ((2.0 * h1 + h0) / s0 + (h1 + 2.0 * h0) / s1);
    smaller(mean, 1.5 * smaller(s0, s1))
}

/// The slope at an end of the curve, by its chord and the next.
fn outer((h0, s0): (f32, f32), (h1, s1): (f32, f32)) -> f32 {
    let slope = ((2.0 * h0 + h1) * s0 - h0 * s1) / (h0 + h1);
    smaller(larger(slope, 0.0), 1.5 * s0)
}

impl Piece {
    fn at(&self, magnitude: f32) -> f32 {
        let x = (magnitude - self.from) / self.width;
        let [a, b, c, d] = self.coefficients;
        a + x * (b + x * (c + x * d))
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // A few steps of 2⁻²⁴.
    const DISTANCE: &'static [f32] = &[256.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        let [p0, p1, p2, p3, p4] = POINTS;
        let chord = |low: (f32, f32), high: (f32, f32)| (high.0 - low.0, (high.1 - low.1) / (high.0 - low.0));
        let (c0, c1, c2, c3) = (chord(p0, p1), chord(p1, p2), chord(p2, p3), chord(p3, p4));
        let slopes = [outer(c0, c1), inner(c0, c1), inner(c1, c2), inner(c2, c3), outer(c3, c2)];
        let [m0, m1, m2, m3, m4] = slopes;
        let piece = |from: (f32, f32), (width, slope): (f32, f32), m_from: f32, m_to: f32| {
            let (rise, leaving, arriving) = (slope * width, m_from * width, m_to * width);
            let coefficients =
                [from.1, leaving, 3.0 * rise - 2.0 * leaving - arriving, leaving + arriving - 2.0 * rise];
            Piece { from: from.0, width, coefficients }
        };
        Self {
            pieces: [
                piece(p0, c0, m0, m1),
                piece(p1, c1, m1, m2),
                piece(p2, c2, m2, m3),
                piece(p3, c3, m3, m4),
            ],
        }
    }

    fn input(words: &Words) -> Self::Input {
        share(words[0])
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let magnitude = input.abs();
        let mut within = &self.pieces[0];
        for piece in &self.pieces {
            if piece.from <= magnitude {
                within = piece;
            }
        }
        directed_as(within.at(magnitude), *input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
