//! A characteristic given by points.

use trunnion::declare::Field;
use trunnion::quantity::{Celsius, Centiohms, Millivolts, Ratio, Rpm};
use trunnion::sense::LookupTable;

use super::{ONE, Seeded, entry};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study, is_nearest};

fn is_right(points: &[(i64, i64)], raw: i64, output: i64) -> bool {
    let last = points[points.len() - 1];
    if raw <= points[0].0 {
        return output == points[0].1;
    }
    if raw >= last.0 {
        return output == last.1;
    }
    let place = points.partition_point(|point| point.0 <= raw);
    let ((x0, y0), (x1, y1)) = (points[place - 1], points[place]);
    // The rise above the lower point is rounded, so a tie goes away from that point.
    let rise = i128::from(raw - x0) * i128::from(y1 - y0);
    is_nearest(output - y0, rise, (x1 - x0).into())
}

fn table<X: Field + Sync, Y: Field + Sync, const POINTS: usize>(
    study: &mut Study<'_>,
    points: [(i64, i64); POINTS],
) {
    let table = LookupTable::new(points.map(|(x, y)| (X::held(x), Y::held(y))))
        .unwrap_or_else(|error| panic!("{points:?}: {error}"));
    let steepest = points.windows(2).map(|pair| (pair[1].1 - pair[0].1).abs() / (pair[1].0 - pair[0].0) + 1);
    let falls = points[0].1 > points[POINTS - 1].1;
    let shape = Shape {
        domain: (X::MIN_RAW, X::MAX_RAW),
        bounds: (points[0].1.min(points[POINTS - 1].1), points[0].1.max(points[POINTS - 1].1)),
        order: if falls { Order::Falls } else { Order::Rises },
        odd: false,
        largest_change: steepest.max().unwrap_or(0),
        breakpoints: points.iter().map(|(x, _)| *x).collect(),
    };
    study.sweep(
        &format!("{points:?}"),
        &shape,
        |raw| Some(table.step(X::held(raw)).to_raw()),
        |raw, answer| answer.is_some_and(|output| is_right(&points, raw, output)),
    );
}

fn random<const POINTS: usize>(seeded: &mut Seeded) -> [(i64, i64); POINTS] {
    loop {
        let mut inputs: Vec<i64> = (0..POINTS).map(|_| seeded.between(0, 65_535)).collect();
        let mut outputs: Vec<i64> = (0..POINTS).map(|_| seeded.between(-2_732, 10_000)).collect();
        inputs.sort_unstable();
        inputs.dedup();
        outputs.sort_unstable();
        if seeded.between(0, 1) == 1 {
            outputs.reverse();
        }
        let points: Vec<(i64, i64)> = inputs.into_iter().zip(outputs).collect();
        if let Ok(points) = points.try_into() {
            return points;
        }
    }
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "lookup_table");
    // Pt100 to IEC 60751, and a falling thermistor.
    table::<Centiohms, Celsius, 5>(
        &mut study,
        [(8_031, -500), (10_000, 0), (11_940, 500), (13_851, 1_000), (15_733, 1_500)],
    );
    table::<Centiohms, Celsius, 4>(&mut study, [(500, 1_000), (2_000, 500), (9_000, 100), (33_000, -200)]);
    table::<Ratio, Rpm, 3>(&mut study, [(-ONE, 524_287), (-1, 1), (ONE, -524_288)]);
    let mut seeded = Seeded(11);
    for _ in 0..50 {
        table::<Millivolts, Celsius, 2>(&mut study, random(&mut seeded));
        table::<Millivolts, Celsius, 7>(&mut study, random(&mut seeded));
        table::<Millivolts, Celsius, 64>(&mut study, random(&mut seeded));
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "lookup_table",
        "sense/lookup_table",
        "all inputs: Pt100, a thermistor, a table of all 2³¹ + 1 ratios, 150 seeded ones of 2, 7 and 64 points",
        &[
            "meets every point, rests at the first and the last output beyond the ends",
            "straight in between, to nearest with ties away from the lower point",
            "rises or falls all the way, at most one step more than its steepest chord for one step",
        ],
        study,
    )
}
