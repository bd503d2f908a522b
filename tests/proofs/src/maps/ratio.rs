//! Ratio: what is accepted, thousandths, products and quotients.

use trunnion::quantity::{Divisor, Ratio};

use super::{ONE, RATIO, Seeded, bits, entry, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study, is_nearest};

const INTEGERS: (i64, i64) = (i32::MIN as i64, i32::MAX as i64);

fn rising(domain: (i64, i64), bounds: (i64, i64), largest_change: i64, breakpoints: Vec<i64>) -> Shape {
    Shape { domain, bounds, order: Order::Rises, odd: false, largest_change, breakpoints }
}

fn accepted(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "ratio_bits");
    let shape = rising(INTEGERS, RATIO, 1, vec![-ONE, ONE]);
    study.sweep(
        "all integers",
        &shape,
        |raw| Ratio::from_bits(raw as i32).map(bits),
        |raw, answer| answer == (RATIO.0..=RATIO.1).contains(&raw).then_some(raw),
    );
    study.conclude()
}

fn to_permille(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "ratio_to_permille");
    let shape = Shape { odd: true, ..rising(RATIO, (-1000, 1000), 1, vec![ONE / 2000, -ONE / 2000]) };
    study.sweep(
        "all ratios",
        &shape,
        |raw| Some(ratio(raw).to_permille().raw().into()),
        |raw, answer| answer.is_some_and(|permille| is_nearest(permille, i128::from(raw) * 1000, ONE.into())),
    );
    study.conclude()
}

fn from_permille(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "ratio_from_permille");
    let shape = rising(INTEGERS, RATIO, ONE / 1000 + 1, vec![-1000, 1000]);
    study.sweep(
        "all integers",
        &shape,
        |raw| Ratio::from_permille(raw as i32).map(bits),
        |raw, answer| match answer {
            None => raw.abs() > 1000,
            Some(output) => {
                raw.abs() <= 1000
                    && is_nearest(output, i128::from(raw) * i128::from(ONE), 1000)
                    && i64::from(ratio(output).to_permille().raw()) == raw
            }
        },
    );
    study.conclude()
}

fn times(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "ratio_times");
    let mut seeded = Seeded(1);
    let corners = [-ONE, ONE, 0, ONE / 2 + 1];
    let factors = corners.into_iter().chain([seeded.between(-ONE, ONE), seeded.between(1, 1 << 12)]);
    for factor in factors {
        let order = if factor < 0 { Order::Falls } else { Order::Rises };
        let shape = Shape { order, odd: true, ..rising(RATIO, RATIO, 1, vec![]) };
        study.sweep(
            &format!("times {factor}"),
            &shape,
            |raw| Some(bits(ratio(raw).times(ratio(factor)))),
            |raw, answer| {
                let product = i128::from(raw) * i128::from(factor);
                answer.is_some_and(|output| is_nearest(output, product, ONE.into()))
            },
        );
    }
    study.conclude()
}

/// Held in [-1, 1], nothing for a denominator of zero or below.
fn is_quotient(output: i64, numerator: i64, denominator: i64) -> bool {
    if denominator <= 0 {
        output == 0
    } else if numerator.abs() >= denominator {
        output == ONE * numerator.signum()
    } else {
        is_nearest(output, i128::from(numerator) * i128::from(ONE), denominator.into())
    }
}

fn divided_by(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "ratio_divided_by");
    for divisor in [-1, 0, 1, ONE, Seeded(2).between(ONE / 1000, ONE)] {
        let steepest = if divisor > 0 { ONE / divisor + 1 } else { 0 };
        let shape = Shape { odd: true, ..rising(RATIO, RATIO, steepest, vec![-divisor, divisor]) };
        study.sweep(
            &format!("divided by {divisor}"),
            &shape,
            |raw| Some(bits(ratio(raw).divided_by(ratio(divisor)))),
            |raw, answer| answer.is_some_and(|output| is_quotient(output, raw, divisor)),
        );
    }
    study.conclude()
}

fn shares(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "divisor_share");
    let mut seeded = Seeded(25);
    // Where the reciprocal is coarsest and finest, a common travel, one of each size.
    let whole = [1, 3, ONE / 2 + 1, ONE - 1, ONE * 9 / 10];
    let random = (0..29).map(|shift| seeded.between(1 << shift, 2 << shift)).collect::<Vec<_>>();
    for (place, divisor) in whole.into_iter().chain(random).enumerate() {
        let kept = Divisor::new(ratio(divisor)).expect("a whole above zero");
        let shape = Shape { odd: true, ..rising(RATIO, RATIO, ONE / divisor + 1, vec![-divisor, divisor]) };
        let at = |raw| Some(bits(kept.share(ratio(raw))));
        let right = |raw, answer: Option<i64>| answer.is_some_and(|output| is_quotient(output, raw, divisor));
        let label = format!("of {divisor}");
        if place < whole.len() {
            study.sweep(&label, &shape, at, right);
        } else {
            study.sample(&label, &shape, at, right);
        }
    }
    study.conclude()
}

fn quotient(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "ratio_from_quotient");
    let mut seeded = Seeded(3);
    for denominator in [1000, INTEGERS.1, seeded.between(3, 1 << 20)] {
        let shape = rising(INTEGERS, RATIO, ONE / denominator + 1, vec![-denominator, denominator, -1, 1]);
        study.sweep(
            &format!("over {denominator}"),
            &shape,
            |raw| Some(bits(Ratio::from_quotient(raw, denominator))),
            |raw, answer| answer.is_some_and(|output| is_quotient(output, raw, denominator)),
        );
    }
    study.conclude()
}

pub(super) fn proofs() -> Vec<Proof> {
    const BLOCK: &str = "quantity/ratio";
    vec![
        entry(
            "ratio_bits",
            BLOCK,
            "all 2³² integers",
            &["exactly the integers from −2³⁰ to 2³⁰ are ratios, and each is kept"],
            accepted,
        ),
        entry(
            "ratio_to_permille",
            BLOCK,
            "all 2³¹ + 1 ratios",
            &["to nearest with ties away from zero", "rises by 1 ‰ at most", "symmetric about zero"],
            to_permille,
        ),
        entry(
            "ratio_from_permille",
            BLOCK,
            "all 2³² integers",
            &[
                "refused outside −1000 to 1000 ‰",
                "to nearest with ties away from zero",
                "thousandths come back as they were",
            ],
            from_permille,
        ),
        entry(
            "ratio_times",
            BLOCK,
            "all 2³¹ + 1 ratios times −1, 1, 0, ½ + 2⁻³⁰ and two seeded factors",
            &["to nearest with ties away from zero", "symmetric, monotone, at most 2⁻³⁰ for 2⁻³⁰"],
            times,
        ),
        entry(
            "ratio_divided_by",
            BLOCK,
            "all 2³¹ + 1 ratios divided by −2⁻³⁰, 0, 2⁻³⁰, 1 and a seeded divisor",
            &["to nearest with ties away from zero, held in −1 to 1", "zero for a divisor of zero or below"],
            divided_by,
        ),
        entry(
            "divisor_share",
            "quantity/divisor",
            "all 2³¹ + 1 parts of 2⁻³⁰, 3 · 2⁻³⁰, ½ + 2⁻³⁰, 1 − 2⁻³⁰ and 0.9; 29 seeded wholes by stride",
            &["to nearest with ties away from zero, held in −1 to 1, though it multiplies only"],
            shares,
        ),
        entry(
            "ratio_from_quotient",
            BLOCK,
            "all 2³² numerators over 1000, 2³¹ − 1 and a seeded denominator",
            &["to nearest with ties away from zero, held in −1 to 1", "monotone"],
            quotient,
        ),
    ]
}
