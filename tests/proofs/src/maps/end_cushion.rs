//! Slower before the end of the stroke.

use trunnion::quantity::Ratio;
use trunnion::sense::{Flaw, Reading};
use trunnion::work::{Cushion, EndCushion, EndCushionConfig};

use super::{ONE, RATIO, Seeded, bits, edge, entry, permille, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study};

/// In thousandths, the same at both ends.
#[derive(Debug, Clone, Copy)]
struct Rules {
    zone: i64,
    end_speed: i64,
}

const WHOLE: [Rules; 1] = [Rules { zone: 200, end_speed: 100 }];

/// The limit at a distance from the end, to two steps and what one step of the place is worth.
fn is_right(rules: Rules, distance: i64, limit: i64) -> bool {
    let (zone, end) = (i128::from(rules.zone), i128::from(rules.end_speed));
    let along = (i128::from(distance.max(0)) * 1000).min(zone * i128::from(ONE));
    let exact = i128::from(ONE) * end * zone + (1000 - end) * along;
    (i128::from(limit) * 1000 * zone - exact).abs() <= 3 * 1000 * zone + 1_000_000
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "end_cushion");
    let mut seeded = Seeded(20);
    let random =
        (0..40).map(|_| Rules { zone: seeded.between(10, 500), end_speed: seeded.between(10, 1000) });
    for (place, rules) in WHOLE.into_iter().chain(random.collect::<Vec<_>>()).enumerate() {
        let cushion = Cushion { zone: permille(rules.zone), end_speed: permille(rules.end_speed) };
        let config = EndCushionConfig { positive: cushion, negative: cushion };
        let cushion = EndCushion::new(config).expect("zones in range");
        for command in [ONE, -ONE] {
            let shape = Shape {
                domain: RATIO,
                bounds: (-ONE, ONE),
                order: Order::Falls,
                odd: false,
                largest_change: (1000 - rules.end_speed) / rules.zone + 3,
                breakpoints: vec![0, edge(rules.zone), edge(1000 - rules.zone)],
            };
            let at = |raw| Some(bits(cushion.step(ratio(command), Reading::Valid(ratio(raw)))));
            let right = |raw: i64, answer: Option<i64>| {
                let distance = if command < 0 { raw } else { ONE - raw.max(0) };
                answer.is_some_and(|output| is_right(rules, distance, output * command.signum()))
            };
            let label = format!("{rules:?} towards {}", command.signum());
            if place < WHOLE.len() {
                study.sweep(&label, &shape, at, right);
            } else {
                study.sample(&label, &shape, at, right);
            }
            let blind = cushion.step(ratio(command), Reading::Faulted(Flaw::WireBreak));
            let slow = blind.magnitude() == Ratio::from(permille(rules.end_speed));
            study.demand(slow, &format!("{label}: without a position it is not at the end speed"));
        }
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "end_cushion",
        "work/end_cushion",
        "all 2³¹ + 1 positions, both directions, of a common cushion; 40 seeded ones by stride; full command",
        &[
            "within the zone the command is held below the line to the speed at the end",
            "slower towards the end all the way; positions beyond it count as the end",
            "without a valid position the speed of the end",
            "continuous: at most 3 steps more than its slope for one step",
        ],
        study,
    )
}
