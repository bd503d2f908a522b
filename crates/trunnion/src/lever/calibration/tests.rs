use super::*;
use crate::quantity::Millivolts;
use proptest::prelude::*;
use std::string::ToString;

fn millivolts(raw: u16) -> Millivolts {
    Millivolts::new(raw).unwrap()
}

fn good() -> AxisCalibrationConfig<Millivolts> {
    AxisCalibrationConfig {
        low: millivolts(500),
        centre: millivolts(2_500),
        high: millivolts(4_500),
        shortest_travel: millivolts(1_500),
        off_centre: Permille::new(100).unwrap(),
        overtravel: millivolts(200),
    }
}

fn config() -> impl Strategy<Value = AxisCalibrationConfig<Millivolts>> {
    (0_u16..20_000, 1_u16..20_000, 1_u16..20_000, 0_u16..5_000)
        .prop_map(|(low, negative, positive, overtravel)| AxisCalibrationConfig {
            low: millivolts(low),
            centre: millivolts(low + negative),
            high: millivolts(low + negative + positive),
            shortest_travel: millivolts(1),
            off_centre: Permille::new(500).unwrap(),
            overtravel: millivolts(overtravel),
        })
        .prop_filter("plausible", |config| AxisCalibration::new(*config).is_ok())
}

#[test]
fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
    let again = "and measure again (steps of 1/1 mV)";
    let mut calibration = AxisCalibration::new(good()).unwrap();
    for (config, message) in [
        (
            AxisCalibrationConfig { shortest_travel: millivolts(0), ..good() },
            "shortest_travel is 0; it must be above zero (steps of 1/1 mV)".to_string(),
        ),
        (
            AxisCalibrationConfig { off_centre: Permille::new(501).unwrap(), ..good() },
            "off_centre is 501 ‰; it must be 0 to 500 ‰".to_string(),
        ),
        (
            AxisCalibrationConfig { low: millivolts(1_001), ..good() },
            std::format!(
                "low is 1001; it must be at least 1500 below centre, 2500: move the lever to its end {again}"
            ),
        ),
        (
            AxisCalibrationConfig { high: millivolts(2_500), ..good() },
            std::format!(
                "high is 2500; it must be at least 1500 above centre, 2500: move the lever to its end {again}"
            ),
        ),
        (
            AxisCalibrationConfig { centre: millivolts(2_701), ..good() },
            std::format!(
                "centre is 2701, too far from the middle of low, 500, and high, 4500: release the lever {again}"
            ),
        ),
    ] {
        assert_eq!(calibration.reconfigure(config).unwrap_err().to_string(), message);
        assert_eq!(calibration.config, good());
    }
    let at_the_limit = AxisCalibrationConfig { centre: millivolts(2_700), ..good() };
    assert!(calibration.reconfigure(at_the_limit).is_ok());
    let config = AxisCalibrationConfig {
        low: -5_i16,
        centre: 0,
        high: 5,
        shortest_travel: 1,
        off_centre: Permille::ZERO,
        overtravel: -1,
    };
    let error = AxisCalibration::new(config).unwrap_err();
    assert_eq!(error.to_string(), "overtravel is -1; it must be zero or more");
}

proptest! {
    #[test]
    fn ends_and_centre_are_exact_and_all_between_is_the_nearest(config in config(), signal: u16) {
        let calibration = AxisCalibration::new(config).unwrap();
        prop_assert_eq!(calibration.step(config.low), Reading::Valid(Ratio::MINUS_ONE));
        prop_assert_eq!(calibration.step(config.centre), Reading::Valid(Ratio::ZERO));
        prop_assert_eq!(calibration.step(config.high), Reading::Valid(Ratio::ONE));
        let raw = |quantity: Millivolts| i64::from(quantity.raw());
        if let Some(position) = calibration.step(millivolts(signal)).valid() {
            let deflection = i64::from(signal) - raw(config.centre);
            let travel = raw(if deflection < 0 { config.centre.minus(config.low) } else { config.high.minus(config.centre) });
            let exact = deflection.max(-travel).min(travel) << 30;
            prop_assert!(2 * (i64::from(position.to_bits()) * travel - exact).abs() <= travel);
        }
    }

    #[test]
    fn a_signal_is_faulted_exactly_beyond_the_overtravel(config in config(), signal: u16) {
        let reading = AxisCalibration::new(config).unwrap().step(millivolts(signal));
        let end = [config.low, config.high];
        for end in end {
            let beyond = i32::from(end.raw()) + if end == config.low { -1 } else { 1 } * i32::from(config.overtravel.raw());
            if let Ok(signal) = u16::try_from(beyond) {
                prop_assert!(AxisCalibration::new(config).unwrap().step(millivolts(signal)).is_valid());
            }
        }
        let (signal, over) = (i32::from(signal), i32::from(config.overtravel.raw()));
        let inside = signal >= i32::from(config.low.raw()) - over && signal <= i32::from(config.high.raw()) + over;
        prop_assert_eq!(reading.flaw(), (!inside).then_some(Flaw::OutOfRange));
    }

    #[test]
    fn more_signal_is_never_less_position(config in config(), a: u16, b: u16) {
        let at = |signal| AxisCalibration::new(config).unwrap().step(millivolts(signal)).valid();
        if let (Some(low), Some(high)) = (at(a.min(b)), at(a.max(b))) {
            prop_assert!(low <= high);
        }
    }
}
