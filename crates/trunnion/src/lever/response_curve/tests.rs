use super::*;
use proptest::prelude::*;
use std::string::ToString;

fn point(deflection: i16, intent: i16) -> ResponsePoint {
    ResponsePoint { deflection: Permille::new(deflection).unwrap(), intent: Permille::new(intent).unwrap() }
}

fn ratio() -> impl Strategy<Value = Ratio> {
    (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
}

/// Five points, with steep and level spans among them.
fn points() -> impl Strategy<Value = [ResponsePoint; 5]> {
    let intents = proptest::array::uniform4(prop_oneof![Just(0_i16), Just(1000), 0_i16..=1000]);
    (proptest::sample::subsequence((1_i16..1000).collect::<std::vec::Vec<_>>(), 3), intents).prop_map(
        |(inner, mut intents)| {
            intents.sort_unstable();
            [
                point(0, 0),
                point(inner[0], intents[0]),
                point(inner[1], intents[1]),
                point(inner[2], intents[2]),
                point(1000, intents[3]),
            ]
        },
    )
}

fn curve(points: [ResponsePoint; 5]) -> ResponseCurve<5> {
    ResponseCurve::new(points).unwrap()
}

/// scipy 1.17.1: `PchipInterpolator([0, 250, 500, 750, 1000], [0, 100, 280, 560, 1000])`, which uses the same slopes. No
/// slope of these points exceeds 1.5 chords, so that nothing is held.
#[test]
fn the_curve_is_that_of_scipy_where_no_slope_is_held() {
    let curve = curve([point(0, 0), point(250, 100), point(500, 280), point(750, 560), point(1000, 1000)]);
    for (deflection, expected) in [
        (50, 13.965714285714288),
        (125, 41.42857142857144),
        (300, 128.16496894409937),
        (400, 197.42807453416148),
        (600, 377.26144927536234),
        (700, 494.0877294685991),
        (900, 803.0933333333332),
        (990, 979.3006933333332),
    ] {
        let given = curve.step(Ratio::from_permille(deflection).unwrap());
        let given = f64::from(given.to_bits()) * 1000.0 / f64::from(Ratio::ONE_BITS);
        // Twelve roundings of 2⁻³⁰ are 1.1e-5 ‰.
        assert!((given - expected).abs() < 1.1e-5, "{given} instead of {expected} at {deflection} ‰");
    }
}

#[test]
fn two_points_are_a_straight_line() {
    let line = ResponseCurve::new([point(0, 0), point(1000, 600)]).unwrap();
    for permille in [-1000, -333, 0, 1, 500, 999, 1000] {
        let position = Ratio::from_permille(permille).unwrap();
        let error =
            line.step(position).to_bits() - position.times(Ratio::from_permille(600).unwrap()).to_bits();
        assert!(error.abs() <= 4, "{error} at {permille} ‰");
    }
}

#[test]
fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
    let good = [point(0, 0), point(400, 100), point(1000, 900)];
    let mut curve = ResponseCurve::new(good).unwrap();
    for (points, message) in [
        ([point(0, 1), good[1], good[2]], "the first point is 1 ‰ at 0 ‰; set 0 ‰ at 0 ‰"),
        ([point(-1, 0), good[1], good[2]], "the first point is 0 ‰ at -1 ‰; set 0 ‰ at 0 ‰"),
        (
            [good[0], good[1], point(400, 900)],
            "point 3: its deflection must be above that of the point before",
        ),
        (
            [good[0], good[1], point(1000, 99)],
            "point 3: its intent must not be below that of the point before",
        ),
        ([good[0], good[1], point(999, 900)], "the last point is at 999 ‰ of deflection; set 1000 ‰"),
    ] {
        assert_eq!(curve.reconfigure(points).unwrap_err().to_string(), message);
        assert_eq!(curve.step(Ratio::ONE), Ratio::from_permille(900).unwrap());
    }
}

proptest! {
    #[test]
    fn the_curve_meets_every_point(points in points()) {
        let curve = curve(points);
        for ResponsePoint { deflection, intent } in points {
            prop_assert_eq!(curve.step(deflection.into()), intent.into());
        }
    }

    /// Both one-sided slopes over 2⁻¹² of the travel: a cubic's slope changes by at most 6 · its steepest chord / its width times that.
    #[test]
    fn the_curve_has_no_corner_at_its_points(points in points()) {
        let curve = curve(points);
        for place in 1..4 {
            let chord = |place: usize| {
                let width = f64::from(points[place + 1].deflection.raw() - points[place].deflection.raw());
                (width / 1000.0, f64::from(points[place + 1].intent.raw() - points[place].intent.raw()) / width)
            };
            let ((before, steep_before), (after, steep_after)) = (chord(place - 1), chord(place));
            let h = (before.min(after) / 4096.0 * f64::from(Ratio::ONE_BITS)) as i64;
            let here = Ratio::from(points[place].deflection).to_bits();
            let at = |bits: i64| f64::from(curve.step(Ratio::saturating(bits)).to_bits());
            let (x, h_bits) = (i64::from(here), h as f64);
            let (left, right) = ((at(x) - at(x - h)) / h_bits, (at(x + h) - at(x)) / h_bits);
            let bound = 6.0 * (steep_before / before + steep_after / after) * h_bits / f64::from(Ratio::ONE_BITS);
            prop_assert!((left - right).abs() <= bound + 24.0 / h_bits, "{} and {} at point {}", left, right, place + 1);
        }
    }

    #[test]
    fn left_is_the_mirror_of_right(points in points(), position in ratio()) {
        let curve = curve(points);
        prop_assert_eq!(curve.step(position.reversed()), curve.step(position).reversed());
    }

    #[test]
    fn more_lever_is_never_less_intent_to_the_last_bit(points in points(), a in ratio(), step in 0..2_000_i64) {
        let curve = curve(points);
        let b = Ratio::saturating(i64::from(a.to_bits()) + step);
        prop_assert!(curve.step(a) <= curve.step(b));
        prop_assert!(curve.step(a.at_most(b.reversed())) <= curve.step(a.at_least(b.reversed())));
    }

    #[test]
    fn between_two_points_the_intent_stays_between_theirs(points in points(), position in ratio()) {
        let (position, given) = (position.magnitude(), curve(points).step(position.magnitude()));
        let high = points.iter().find(|point| Ratio::from(point.deflection) >= position).unwrap();
        let low = points.iter().rfind(|point| Ratio::from(point.deflection) <= position).unwrap();
        prop_assert!(given >= low.intent.into() && given <= high.intent.into());
    }

    #[test]
    fn the_slope_is_at_most_three_times_that_of_the_steepest_chord(points in points(), a in ratio(), b in ratio()) {
        let curve = curve(points);
        let steepest = points
            .windows(2)
            .map(|pair| {
                f64::from(pair[1].intent.raw() - pair[0].intent.raw())
                    / f64::from(pair[1].deflection.raw() - pair[0].deflection.raw())
            })
            .fold(0.0, f64::max);
        let change = f64::from(curve.step(a.at_least(b)).to_bits()) - f64::from(curve.step(a.at_most(b)).to_bits());
        let travel = f64::from(a.at_least(b).to_bits()) - f64::from(a.at_most(b).to_bits());
        // The bits beside it are the roundings of both ends, the share of a narrow span among them.
        prop_assert!(change <= 3.0 * steepest * (travel + 4.0) + 14.0);
    }
}

proptest! {
    #[test]
    fn a_curve_that_was_exchanged_answers_as_one_built_so(one in points(), other in points(), position in ratio()) {
        let mut exchanged = curve(one);
        exchanged.reconfigure(other).unwrap();
        prop_assert_eq!(exchanged.step(position), curve(other).step(position));
        let flat = [point(0, 0); 5];
        prop_assert!(exchanged.reconfigure(flat).is_err());
        prop_assert_eq!(exchanged.step(position), curve(other).step(position));
    }
}
