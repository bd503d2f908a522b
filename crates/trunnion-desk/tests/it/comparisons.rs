use trunnion_desk::comparison::{ComparisonError, Overlay, overlay};

use crate::barrow::BarrowBench;

const OVERLAY: Overlay<'_> = Overlay {
    title: "A slow and a quick ramp",
    caption: "",
    scenario: "errand",
    variants: &[("quick", &[("ramp_time", "500 ms")]), ("slow", &[("ramp_time", "2 s")])],
    lanes: &[("Left track", "left_ramped"), ("Speed", "true_left_speed")],
    between: (0.5, 1.5),
};

#[test]
fn each_variant_is_a_curve_in_each_lane_and_shows_what_its_parameter_does() {
    let comparison = overlay::<BarrowBench>(&OVERLAY).unwrap();
    let [track, speed] = &comparison.lanes[..] else { panic!("{}", comparison.lanes.len()) };
    assert_eq!((track.unit.as_str(), speed.unit.as_str()), ("%", "m/s"));
    let [quick, slow] = &track.curves[..] else { panic!("{}", track.curves.len()) };
    assert_eq!((quick.label.as_str(), slow.label.as_str()), ("quick", "slow"));
    assert_eq!((quick.x.first(), quick.x.last(), quick.x.len()), (Some(&0.5), Some(&1.5), 101));
    let half_a_second_later = |curve: &trunnion_desk::report::Curve| curve.y[60];
    assert!(half_a_second_later(quick) > 79.0, "{}", half_a_second_later(quick));
    assert!(half_a_second_later(slow) < 31.0, "{}", half_a_second_later(slow));
}

#[test]
fn names_that_do_not_exist_are_refused_with_what_there_is() {
    let refused = |changed: Overlay<'_>| overlay::<BarrowBench>(&changed).unwrap_err();
    let scenario = refused(Overlay { scenario: "erand", ..OVERLAY });
    assert_eq!(scenario.to_string(), "there is no scenario `erand` to be compared; did you mean `errand`?");
    let column = refused(Overlay { lanes: &[("Left", "left_rampd")], ..OVERLAY });
    assert!(column.to_string().contains("'left_rampd'"), "{column}");
    let parameter = refused(Overlay { variants: &[("a", &[("ramp_tme", "1 s")])], ..OVERLAY });
    assert!(matches!(parameter, ComparisonError::Scenario(_)), "{parameter}");
    assert!(parameter.to_string().contains("did you mean `ramp_time`?"), "{parameter}");
}
