//! The pair ramp beside two ramps that know nothing of each other.

use trunnion::propel::Sides;
use trunnion::quantity::{Period, Ratio};
use trunnion::ramp::{IndependentRamps, MotionRampConfig, PairRamp, PairRampConfig, StopRequest};

use super::ComparisonError;
use crate::report::{Comparison, Curve, CurveLane, Stroke};

/// The shape of a turn means nothing while the machine hardly moves: the sum of both sides must be a tenth of full scale.
const LEAST_SUM: f64 = 0.1;

/// Left and right over time on a pair ramp and on two independent ramps, and the shape of the turn that they make.
///
/// `asked` says what is asked from which second on, in order of time; nothing before the first. `length` seconds are
/// shown. The caption says how far the shape moves while the levers are released, for each kind.
pub fn ramps(
    pair: PairRampConfig,
    independent: MotionRampConfig,
    period: Period,
    asked_from: &[(f64, Sides)],
    length: f64,
) -> Result<Comparison, ComparisonError> {
    let mut pair = PairRamp::new(pair, period)?;
    let mut independent = IndependentRamps::new(independent, period)?;
    let seconds = f64::from(period.micros()) / 1e6;
    let steps = (length / seconds).max(0.0) as u32;
    let mut asked = Followed::default();
    let mut paired = Followed::default();
    let mut single = Followed::default();
    let mut time = Vec::new();
    for step in 0..steps {
        let at = f64::from(step) * seconds;
        let target = asked_at(asked_from, at);
        time.push(at);
        asked.push(target);
        paired.push(pair.step(target, StopRequest::None));
        single.push(independent.step(target));
    }
    let caption = format!(
        "The same levers on both. {} A machine on independent ramps leaves its path although nobody steers: the slower \
         side is at rest first and the other goes round it.",
        said_of_stops(&asked, &paired, &single),
    );
    let curve = |label: &str, values: Vec<f64>| Curve::new(label, time.clone(), values);
    let sides = CurveLane {
        title: "Sides".into(),
        unit: "%".into(),
        curves: vec![
            curve("left, pair", paired.percent(|sides| sides.left)).styled(0, Stroke::Solid),
            curve("right, pair", paired.percent(|sides| sides.right)).styled(1, Stroke::Solid),
            curve("left, independent", single.percent(|sides| sides.left)).styled(0, Stroke::Dashed),
            curve("right, independent", single.percent(|sides| sides.right)).styled(1, Stroke::Dashed),
        ],
        limits: Vec::new(),
    };
    let shape = CurveLane {
        title: "Turn shape (left − right)/(left + right)".into(),
        unit: String::new(),
        curves: vec![
            curve("asked", asked.shapes()).styled(7, Stroke::Dotted),
            curve("pair", paired.shapes()).styled(2, Stroke::Solid),
            curve("independent", single.shapes()).styled(3, Stroke::Dashed),
        ],
        limits: Vec::new(),
    };
    Ok(Comparison {
        title: "Pair ramp beside independent ramps".into(),
        caption,
        x_label: "time".into(),
        x_unit: "s".into(),
        lanes: vec![sides, shape],
    })
}

fn asked_at(asked: &[(f64, Sides)], at: f64) -> Sides {
    asked.iter().rev().find(|(from, _)| *from <= at + 1e-9).map_or(Sides::ZERO, |(_, sides)| *sides)
}

fn said_of_stops(asked: &Followed, paired: &Followed, single: &Followed) -> String {
    match (paired.bent_in_stops(asked), single.bent_in_stops(asked)) {
        (Some(pair), Some(independent)) => format!(
            "While the levers are released the shape of the turn moves by {pair:.4} with the pair ramp and by {independent:.2} \
             with independent ramps."
        ),
        _ => String::new(),
    }
}

/// What both sides did, step by step.
#[derive(Default)]
struct Followed(Vec<Sides>);

impl Followed {
    fn push(&mut self, sides: Sides) {
        self.0.push(sides);
    }

    fn percent(&self, side: fn(&Sides) -> Ratio) -> Vec<f64> {
        self.0.iter().map(|sides| 100.0 * share(side(sides))).collect()
    }

    fn shapes(&self) -> Vec<f64> {
        self.0.iter().map(|sides| shape(*sides).unwrap_or(f64::NAN)).collect()
    }

    /// How far the shape moves from what it was when nothing was asked any more; nothing when there was no such
    /// moment on the way of a turn.
    fn bent_in_stops(&self, asked: &Self) -> Option<f64> {
        let mut before = None;
        let mut most: Option<f64> = None;
        for (sides, asked) in self.0.iter().zip(&asked.0) {
            let now = shape(*sides);
            if !asked.is_zero() {
                before = now;
            } else if let (Some(before), Some(now)) = (before, now) {
                let bent = (now - before).abs();
                most = Some(most.map_or(bent, |most| most.max(bent)));
            }
        }
        most
    }
}

fn share(ratio: Ratio) -> f64 {
    f64::from(ratio.to_bits()) / f64::from(Ratio::ONE_BITS)
}

fn shape(sides: Sides) -> Option<f64> {
    let (left, right) = (share(sides.left), share(sides.right));
    ((left + right).abs() >= LEAST_SUM).then(|| (left - right) / (left + right))
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::quantity::Millis;
    use trunnion::ramp::MotionRates;

    const RATES: MotionRates = MotionRates {
        accelerate: Millis::millis(1_000),
        decelerate: Millis::millis(800),
        reverse: Millis::millis(800),
    };

    fn sides(left: i32, right: i32) -> Sides {
        Sides { left: Ratio::from_permille(left).unwrap(), right: Ratio::from_permille(right).unwrap() }
    }

    const PAIR: PairRampConfig = PairRampConfig {
        forward: RATES,
        reverse: RATES,
        rotation: RATES,
        stop: Millis::millis(600),
        dwell: Millis::millis(0),
    };

    fn compared(pair: PairRampConfig, asked: &[(f64, Sides)]) -> Result<Comparison, ComparisonError> {
        let independent = MotionRampConfig { positive: RATES, negative: RATES, dwell: Millis::millis(0) };
        ramps(pair, independent, Period::from_micros(10_000).unwrap(), asked, 4.0)
    }

    #[test]
    fn a_released_turn_keeps_its_shape_on_the_pair_ramp_and_loses_it_on_independent_ones() {
        let asked = [(0.2, sides(1000, 400)), (2.0, Sides::ZERO)];
        let comparison = compared(PAIR, &asked).unwrap();
        assert_eq!(comparison.lanes[0].curves[0].x.len(), 400);
        let [asked_shape, pair, independent] = &comparison.lanes[1].curves[..] else { panic!() };
        let shape_of = |curve: &Curve, at: f64| {
            let place = curve.x.iter().position(|x| (*x - at).abs() < 1e-9).unwrap();
            curve.y[place]
        };
        let asked = shape_of(asked_shape, 1.9);
        assert!((asked - 600.0 / 1400.0).abs() < 1e-6);
        assert!((shape_of(pair, 2.3) - asked).abs() < 0.001);
        assert!((shape_of(independent, 2.3) - asked).abs() > 0.3, "{}", shape_of(independent, 2.3));
        assert!(comparison.caption.contains("moves by 0.0000 with the pair ramp"), "{}", comparison.caption);
    }

    #[test]
    fn without_a_stop_the_caption_claims_nothing_of_one() {
        let asked = [(0.2, sides(1000, 400))];
        assert!(!compared(PAIR, &asked).unwrap().caption.contains("moves by"));
    }

    #[test]
    fn ramp_times_that_cannot_be_are_refused_with_their_range() {
        let pair = PairRampConfig { stop: Millis::millis(0), ..PAIR };
        let error = compared(pair, &[]).unwrap_err().to_string();
        assert!(error.contains("stop time of 0 ms: set 10 ms to 120000 ms"), "{error}");
    }
}
