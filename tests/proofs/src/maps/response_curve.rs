//! A lever response drawn by points.

use trunnion::lever::{ResponseCurve, ResponsePoint};

use super::{ONE, RATIO, Seeded, bits, edge, entry, permille, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study};

/// Deflection and intent in thousandths.
type Point = (i64, i64);

/// Six blends of half a step each, doubled by later blends, and the rounding of control values and of the place.
const ROUNDING: f64 = 8.0;

/// The curve in double precision, from the paper's formulas: harmonic slopes, held to 1.5 times the flatter chord.
///
/// Deflections of the points are taken as the block keeps them, to the nearest 2⁻³⁰: a steep chord makes much of it.
struct Exact {
    points: Vec<(f64, f64)>,
    kept: Vec<f64>,
    slopes: Vec<f64>,
}

impl Exact {
    fn new(points: &[Point]) -> Self {
        let kept = points.iter().map(|(x, _)| bits(permille(*x).into()) as f64).collect();
        let points: Vec<(f64, f64)> =
            points.iter().map(|(x, y)| (*x as f64 / 1000.0, *y as f64 / 1000.0)).collect();
        let widths: Vec<f64> = points.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
        let chords: Vec<f64> =
            points.windows(2).zip(&widths).map(|(pair, width)| (pair[1].1 - pair[0].1) / width).collect();
        let last = chords.len() - 1;
        let end = |near: usize, far: usize| {
            let (h, k) = (widths[near], widths[far]);
            let slope = ((2.0 * h + k) * chords[near] - h * chords[far]) / (h + k);
            slope.max(0.0).min(1.5 * chords[near])
        };
        let slopes = (0..points.len()).map(|place| match place {
            _ if last == 0 => chords[0],
            0 => end(0, 1),
            _ if place > last => end(last, last - 1),
            _ => {
                let (before, after) = (chords[place - 1], chords[place]);
                if before <= 0.0 || after <= 0.0 {
                    return 0.0;
                }
                let (h, k) = (widths[place - 1], widths[place]);
                let mean = 3.0 * (h + k) / ((2.0 * k + h) / before + (k + 2.0 * h) / after);
                mean.min(1.5 * before.min(after))
            }
        });
        let slopes = slopes.collect();
        Self { points, kept, slopes }
    }

    /// At a magnitude in steps of 2⁻³⁰.
    fn at(&self, magnitude: f64) -> f64 {
        let place = self.kept.partition_point(|kept| *kept <= magnitude).max(1) - 1;
        let place = place.min(self.points.len() - 2);
        let ((x0, y0), (x1, y1)) = (self.points[place], self.points[place + 1]);
        let width = x1 - x0;
        let (from, to) = (self.kept[place], self.kept[place + 1]);
        let along = ((magnitude - from) / (to - from)).min(1.0);
        let inner = [y0 + self.slopes[place] * width / 3.0, y1 - self.slopes[place + 1] * width / 3.0];
        let back = 1.0 - along;
        back.powi(3) * y0
            + 3.0 * back * back * along * inner[0]
            + 3.0 * back * along * along * inner[1]
            + along.powi(3) * y1
    }
}

fn curve<const POINTS: usize>(study: &mut Study<'_>, points: [Point; POINTS], whole: bool) {
    let curve = ResponseCurve::new(points.map(|(deflection, intent)| ResponsePoint {
        deflection: permille(deflection),
        intent: permille(intent),
    }))
    .expect("points in order");
    let exact = Exact::new(&points);
    let steepest = points.windows(2).map(|pair| {
        let (rise, width) = (pair[1].1 - pair[0].1, pair[1].0 - pair[0].0);
        3 * rise / width + 1
    });
    let shape = Shape {
        domain: RATIO,
        bounds: RATIO,
        order: Order::Rises,
        odd: true,
        // Three times the steepest chord, and what the blends round.
        largest_change: steepest.max().unwrap_or(0) + 6,
        breakpoints: points.iter().flat_map(|(x, _)| [edge(*x), -edge(*x)]).collect(),
    };
    let at = |raw| Some(bits(curve.step(ratio(raw))));
    let right = |raw: i64, answer: Option<i64>| {
        let expected = exact.at(raw.abs() as f64) * ONE as f64;
        answer.is_some_and(|output| (output.abs() as f64 - expected).abs() <= ROUNDING)
    };
    let label = format!("{points:?}");
    if whole {
        study.sweep(&label, &shape, at, right);
    } else {
        study.sample(&label, &shape, at, right);
    }
    for (deflection, intent) in points {
        let met = curve.step(permille(deflection).into()) == permille(intent).into();
        study.demand(met, &format!("{label}: does not meet {intent} ‰ at {deflection} ‰"));
    }
}

/// Ascending deflections and rising intents.
fn random<const POINTS: usize>(seeded: &mut Seeded) -> [Point; POINTS] {
    loop {
        let mut deflections: Vec<i64> = (2..POINTS).map(|_| seeded.between(1, 999)).collect();
        let mut intents: Vec<i64> = (1..POINTS).map(|_| seeded.between(0, 1000)).collect();
        deflections.extend([0, 1000]);
        intents.push(0);
        deflections.sort_unstable();
        intents.sort_unstable();
        deflections.dedup();
        let points: Vec<Point> = deflections.into_iter().zip(intents).collect();
        if let Ok(points) = points.try_into() {
            return points;
        }
    }
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "response_curve");
    curve(&mut study, [(0, 0), (600, 200), (1000, 1000)], true);
    curve(&mut study, [(0, 0), (1, 0), (300, 300), (301, 900), (999, 900), (1000, 1000)], true);
    let mut seeded = Seeded(7);
    for _ in 0..10 {
        curve(&mut study, random::<2>(&mut seeded), false);
        curve(&mut study, random::<3>(&mut seeded), false);
        curve(&mut study, random::<5>(&mut seeded), false);
        curve(&mut study, random::<16>(&mut seeded), false);
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "response_curve",
        "lever/response_curve",
        "all 2³¹ + 1 deflections of a fine and of a steep curve; 40 seeded ones of 2, 3, 5 and 16 points by stride",
        &[
            "meets its points exactly",
            "monotone to the last bit, the same to both sides bit for bit, never outside −1 to 1",
            "the cubics of Fritsch and Butland to 8 · 2⁻³⁰",
            "continuous: at most 3 times the steepest chord and 6 steps for one step",
        ],
        study,
    )
}
