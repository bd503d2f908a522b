//! Positions and what is made of them.

use trunnion::lever::{
    Axis, AxisCalibration, AxisCalibrationConfig, AxisConfig, Neutral, NeutralConfig, ResponseCurve,
    ResponsePoint,
};
use trunnion::quantity::Millivolts;

use super::permille;
use crate::chart::{
    Chart, curves, input, level, levels, moved, output, percent, quantity, ratio, read, story, sweep,
};

pub fn scenes() -> Vec<(&'static str, Chart)> {
    vec![
        ("Axis", axis()),
        ("AxisCalibration", calibration()),
        ("ResponseCurve", response_curve()),
        ("Neutral", neutral()),
    ]
}

fn axis() -> Chart {
    let config = AxisConfig { deadband: permille(80), saturation: permille(980), progression: permille(300) };
    let axis = Axis::new(config).expect("an axis");
    let [position, intent] = sweep(-100.0, 100.0, 400, |lever| [lever, percent(axis.step(ratio(lever)))]);
    Chart {
        tells: "Nothing within the deadband of 8 %, then a curve that is finer near the centre and full at 98 %; alike both ways.",
        along: "position in %",
        panels: vec![curves("%", [input("position", position), output("intent", intent)])],
    }
}

fn calibration() -> Chart {
    let millivolts = |raw| Millivolts::saturating(raw);
    let config = AxisCalibrationConfig {
        low: millivolts(480),
        centre: millivolts(2_530),
        high: millivolts(4_530),
        shortest_travel: millivolts(1_500),
        off_centre: permille(100),
        overtravel: millivolts(150),
    };
    let axis = AxisCalibration::new(config).expect("a calibration");
    let [position] = sweep(0.0, 5.0, 1_000, |volts| [read(axis.step(quantity(1_000.0 * volts)))]);
    Chart {
        tells: "From 0.48 V over the centre at 2.53 V to 4.53 V the position goes from −100 % to 100 % in two straight pieces; beyond the overtravel there is no reading.",
        along: "signal in V",
        panels: vec![curves("%", [output("position", position)])],
    }
}

fn response_curve() -> Chart {
    let point =
        |deflection, intent| ResponsePoint { deflection: permille(deflection), intent: permille(intent) };
    let curve = ResponseCurve::new([point(0, 0), point(600, 200), point(1_000, 1_000)]).expect("a curve");
    let [deflection, intent] = sweep(-100.0, 100.0, 400, |lever| [lever, percent(curve.step(ratio(lever)))]);
    Chart {
        tells: "A smooth monotone curve through the points 60 % to 20 % and 100 % to 100 %, alike both ways.",
        along: "deflection in %",
        panels: vec![curves("%", [input("deflection", deflection), output("intent", intent)])],
    }
}

fn neutral() -> Chart {
    let mut block =
        Neutral::new(NeutralConfig { inside: permille(50), outside: permille(80) }).expect("bands");
    let lever = |time| {
        moved(time, &[(0.0, 15.0), (0.5, 0.0), (0.9, 6.5), (1.3, 0.0), (1.8, 12.0), (2.2, 6.0), (2.6, 1.0)])
    };
    let [position, neutral] = story(3.0, 10, |time| [lever(time), level(block.step(ratio(lever(time))))]);
    Chart {
        tells: "The lever becomes neutral below 5 % and stays so up to 8 %, and the other way round.",
        along: "time in s",
        panels: vec![curves("%", [input("position", position)]), levels([output("neutral", neutral)])],
    }
}
