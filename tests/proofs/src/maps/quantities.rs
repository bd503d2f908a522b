//! Quantities: what is accepted, scaling, shares, and speed from whole revolutions.

use trunnion::declare::Field;
use trunnion::quantity::{
    Celsius, Centiohms, Duty, Kilopascals, Microamps, Milliamps, Millivolts, Permille, Rpm,
};

use super::{ONE, RATIO, Seeded, bits, entry, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study, is_nearest};

/// One line a quantity: its own functions are no trait.
macro_rules! each_quantity {
    ($study:ident, $do:ident) => {
        $do!($study, Permille);
        $do!($study, Rpm);
        $do!($study, Milliamps);
        $do!($study, Microamps);
        $do!($study, Millivolts);
        $do!($study, Kilopascals);
        $do!($study, Celsius);
        $do!($study, Duty);
        $do!($study, Centiohms);
    };
}

fn range<Q: Field>() -> (i64, i64) {
    (Q::MIN_RAW, Q::MAX_RAW)
}

fn free(domain: (i64, i64), bounds: (i64, i64), largest_change: i64) -> Shape {
    Shape { domain, bounds, order: Order::Free, odd: false, largest_change, breakpoints: vec![] }
}

macro_rules! accepted {
    ($study:ident, $quantity:ident) => {
        let (low, high) = range::<$quantity>();
        let domain = (low - 70_000, high + 70_000);
        let shape = Shape { order: Order::Rises, ..free(domain, (low, high), 1) };
        $study.sweep(
            concat!(stringify!($quantity), " held in range"),
            &shape,
            |raw| Some($quantity::saturating(raw).raw().into()),
            |raw, answer| answer == Some(raw.max(low).min(high)),
        );
        $study.sweep(
            concat!(stringify!($quantity), " from raw"),
            &Shape { breakpoints: vec![low, high], ..shape },
            |raw| $quantity::from_raw(raw).map(|value| value.to_raw()),
            |raw, answer| answer == (low..=high).contains(&raw).then_some(raw),
        );
    };
}

macro_rules! scaled {
    ($study:ident, $quantity:ident) => {
        let (low, high) = range::<$quantity>();
        let mut seeded = Seeded(4);
        let factors = [-ONE, -1, 0, 1, ONE / 2, ONE].into_iter();
        for factor in factors.chain((0..4).map(|_| seeded.between(-ONE, ONE))) {
            let order = if factor < 0 { Order::Falls } else { Order::Rises };
            $study.sweep(
                &format!("{} times {factor}", stringify!($quantity)),
                &Shape { order, ..free((low, high), (low, high), 1) },
                |raw| Some($quantity::saturating(raw).scaled(ratio(factor)).raw().into()),
                |raw, answer| {
                    let product = i128::from(raw) * i128::from(factor);
                    let held = |output| {
                        (output == low && product < i128::from(low) * i128::from(ONE))
                            || (output == high && product > i128::from(high) * i128::from(ONE))
                    };
                    answer.is_some_and(|output| held(output) || is_nearest(output, product, ONE.into()))
                },
            );
        }
    };
}

macro_rules! shares {
    ($study:ident, $quantity:ident) => {
        let (low, high) = range::<$quantity>();
        let mut seeded = Seeded(5);
        let wholes = [low.min(0), 0, 1, high].into_iter();
        for whole in wholes.chain((0..4).map(|_| seeded.between(1, high))) {
            let steepest = if whole > 0 { ONE / whole + 1 } else { 0 };
            $study.sweep(
                &format!("{} of {whole}", stringify!($quantity)),
                &Shape { order: Order::Rises, ..free((low, high), RATIO, steepest) },
                |raw| Some(bits($quantity::saturating(raw).share_of($quantity::saturating(whole)))),
                |raw, answer| {
                    answer.is_some_and(|output| {
                        if whole <= 0 {
                            output == 0
                        } else if raw.abs() >= whole {
                            output == ONE * raw.signum()
                        } else {
                            is_nearest(output, i128::from(raw) * i128::from(ONE), whole.into())
                        }
                    })
                },
            );
        }
    };
}

fn accepted(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "quantity_range");
    each_quantity!(study, accepted);
    study.conclude()
}

fn scaled(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "quantity_scaled");
    each_quantity!(study, scaled);
    study.conclude()
}

fn share_of(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "quantity_share");
    each_quantity!(study, shares);
    study.conclude()
}

fn whole_rpm(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "rpm_from_whole");
    let (low, high) = range::<Rpm>();
    let shape = Shape {
        order: Order::Rises,
        breakpoints: vec![low / 8, high / 8],
        ..free((i32::MIN.into(), i32::MAX.into()), (low, high), 8)
    };
    study.sweep(
        "all integers",
        &shape,
        |raw| Some(Rpm::from_whole(raw as i32).raw().into()),
        |raw, answer| answer == Some((8 * raw).max(low).min(high)),
    );
    study.conclude()
}

pub(super) fn proofs() -> Vec<Proof> {
    const BLOCK: &str = "quantity/newtypes";
    vec![
        entry(
            "quantity_range",
            BLOCK,
            "nine quantities, all of each and 70 000 raw values beyond either end",
            &["outside its range a raw value is refused, or held at the nearer end"],
            accepted,
        ),
        entry(
            "quantity_scaled",
            BLOCK,
            "nine quantities, all of each, times −1, ±2⁻³⁰, 0, ½, 1 and four seeded factors",
            &["to nearest with ties away from zero, held in range", "monotone, at most one step for a step"],
            scaled,
        ),
        entry(
            "quantity_share",
            BLOCK,
            "nine quantities, all of each, of their least, 0, 1, their largest and four seeded wholes",
            &["to nearest with ties away from zero, held in −1 to 1", "zero of a whole of zero or below"],
            share_of,
        ),
        entry(
            "rpm_from_whole",
            BLOCK,
            "all 2³² integers",
            &["eight eighths a revolution, held in range"],
            whole_rpm,
        ),
    ]
}
