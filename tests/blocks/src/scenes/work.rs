//! Cylinders, pumps and fans.

use trunnion::quantity::{Celsius, Permille, Ratio};
use trunnion::sense::Reading;
use trunnion::work::{
    AutoLevel, AutoLevelConfig, AutoLevelInputs, ContinuousFlow, ContinuousFlowConfig, ContinuousFlowInputs,
    CooledMedium, Cushion, EndCushion, EndCushionConfig, FanDrive, FanDriveConfig, Float, FloatConfig,
    FloatInputs, FlowConsumer, FlowPriority, FlowSharing, LevelPoint, LevelWay, ReturnInputs,
    ReturnToPosition, ReturnToPositionConfig, Spool, SpoolConfig,
};

use super::{TICK, millis, permille};
use crate::chart::{
    Chart, curves, input, level, levels, moved, on, other_input, other_output, output, percent, quantity,
    ratio, story, sweep,
};

pub fn scenes() -> Vec<(&'static str, Chart)> {
    vec![
        ("Spool", spool()),
        ("FlowSharing", flow_sharing()),
        ("AutoLevel", auto_level()),
        ("EndCushion", end_cushion()),
        ("ReturnToPosition", return_to_position()),
        ("Float", float()),
        ("ContinuousFlow", continuous_flow()),
        ("FanDrive", fan_drive()),
    ]
}

fn spool() -> Chart {
    let block =
        Spool::new(SpoolConfig { positive: Permille::MAX, negative: permille(700) }).expect("openings");
    let [whole, derated] = sweep(-100.0, 100.0, 200, |intent| {
        [percent(block.step(ratio(intent), Ratio::ONE)), percent(block.step(ratio(intent), ratio(60.0)))]
    });
    Chart {
        tells: "The whole lever serves the allowed opening: all of it one way, 70 % the other; a derate takes its share of both.",
        along: "intent in %",
        panels: vec![curves("%", [output("command", whole), other_output("at 60 %", derated)])],
    }
}

fn flow_sharing() -> Chart {
    let consumer = |full_flow, priority| FlowConsumer { full_flow: permille(full_flow), priority };
    let block = FlowSharing::new([
        consumer(200, FlowPriority::First),
        consumer(900, FlowPriority::Shared),
        consumer(700, FlowPriority::Shared),
    ])
    .expect("consumers");
    let [steering, boom, bucket] = sweep(0.0, 180.0, 360, |available| {
        let [steering, boom, bucket] =
            block.step([Ratio::ONE, Ratio::ONE, ratio(60.0)], ratio(available.min(100.0)));
        [percent(steering), percent(boom), percent(bucket)]
    });
    let whole = |points: Vec<(f64, f64)>| points.into_iter().filter(|point| point.0 <= 100.0).collect();
    Chart {
        tells: "Steering is served first; boom and bucket give way in proportion when the pump cannot serve all.",
        along: "available flow in %",
        panels: vec![curves(
            "%",
            [
                input("steering", whole(steering)),
                output("boom, asked 100", whole(boom)),
                other_output("bucket, asked 60", whole(bucket)),
            ],
        )],
    }
}

fn auto_level() -> Chart {
    let point = |boom, bucket| LevelPoint { boom: permille(boom), bucket: permille(bucket) };
    let config = AutoLevelConfig {
        line: [point(0, 200), point(500, 400), point(1_000, 800)],
        raise: millis(4_000),
        lower: millis(3_000),
        dump: millis(2_000),
        curl: millis(2_500),
        settle: millis(500),
        largest: permille(600),
        neutral: permille(50),
        way: LevelWay::Raising,
    };
    let mut block = AutoLevel::new(config).expect("a linkage");
    let (mut boom, mut bucket) = (0.0_f64, 25.0_f64);
    let lift = |time| moved(time, &[(0.0, 0.0), (0.3, 0.0), (0.6, 100.0), (4.1, 100.0), (4.5, 0.0)]);
    let [command, position, bucket_command, bucket_position] = story(5.5, 10, |time| {
        let given = block.step(AutoLevelInputs {
            on: true,
            boom: ratio(lift(time)),
            lever: Ratio::ZERO,
            boom_position: Reading::Valid(ratio(boom)),
            bucket_position: Reading::Valid(ratio(bucket)),
        });
        boom = (boom + lift(time) * 0.01 / 4.0).min(100.0);
        bucket += percent(given) * 0.01 / 2.0;
        [lift(time), boom, percent(given), bucket]
    });
    Chart {
        tells: "While the boom rises the bucket dumps along the level line, slower at first and faster above the middle; when the boom stops, so does the bucket.",
        along: "time in s",
        panels: vec![
            curves("%", [input("boom command", command), output("bucket command", bucket_command)]),
            curves("% stroke", [input("boom", position), other_input("bucket", bucket_position)]),
        ],
    }
}

fn end_cushion() -> Chart {
    let cushion = Cushion { zone: permille(200), end_speed: permille(100) };
    let block = EndCushion::new(EndCushionConfig { positive: cushion, negative: cushion }).expect("cushions");
    let [extending, retracting] = sweep(0.0, 100.0, 400, |position| {
        let position = Reading::Valid(ratio(position));
        [percent(block.step(Ratio::ONE, position)), percent(block.step(Ratio::MINUS_ONE, position))]
    });
    Chart {
        tells: "Full command either way: within 20 % of the end that it leads to it is slowed, to 10 % at the end.",
        along: "position in % of the stroke",
        panels: vec![curves("%", [output("extending", extending), other_output("retracting", retracting)])],
    }
}

fn return_to_position() -> Chart {
    let config = ReturnToPositionConfig {
        position: permille(800),
        window: permille(10),
        approach: permille(250),
        speed: permille(900),
        end_speed: permille(100),
        neutral: permille(50),
        time_out: millis(8_000),
    };
    let mut block = ReturnToPosition::new(config, TICK).expect("rules");
    let mut position = 20.0;
    let [asked, shown, given, returning] = story(4.0, 10, |time| {
        let request = on(time, &[(0.3, 0.31)]);
        let command = block.step(ReturnInputs {
            permitted: true,
            request,
            lever: Ratio::ZERO,
            position: Reading::Valid(ratio(position)),
        });
        position += percent(command) * 0.01 / 2.5;
        [level(request), position, percent(command), level(block.is_returning())]
    });
    Chart {
        tells: "One press, and the cylinder goes to 80 % of its stroke, slows down before it and stops there.",
        along: "time in s",
        panels: vec![
            curves("%", [input("position", shown), output("command", given)]),
            levels([input("request", asked), output("returning", returning)]),
        ],
    }
}

fn float() -> Chart {
    let mut block = Float::new(FloatConfig { raise: permille(100) }).expect("a lever");
    let lever = |time| moved(time, &[(0.0, 0.0), (1.2, 0.0), (1.4, 40.0), (1.7, 0.0)]);
    let [boom, button, floats] = story(3.0, 10, |time| {
        let request = on(time, &[(0.4, 0.41), (2.1, 2.11), (2.6, 2.61)]);
        let floats = block.step(FloatInputs { request, lever: ratio(lever(time)), permitted: true });
        [lever(time), level(request), level(floats)]
    });
    Chart {
        tells: "The button lets the boom float and ends it again; raising ends it, too.",
        along: "time in s",
        panels: vec![
            curves("%", [input("lever", boom)]),
            levels([input("button", button), output("float", floats)]),
        ],
    }
}

fn continuous_flow() -> Chart {
    let mut block = ContinuousFlow::new(ContinuousFlowConfig { flow: permille(800), neutral: permille(50) })
        .expect("a flow");
    let wheel = |time| moved(time, &[(0.0, 0.0), (0.2, 60.0), (0.6, 0.0), (2.6, 0.0), (2.7, 50.0)]);
    let [thumb, button, permitted, flow] = story(3.2, 10, |time| {
        let inputs = ContinuousFlowInputs {
            toggle: on(time, &[(1.0, 1.01)]),
            wheel: ratio(wheel(time)),
            permitted: !on(time, &[(1.8, 2.1)]),
        };
        [wheel(time), level(inputs.toggle), level(inputs.permitted), percent(block.step(inputs))]
    });
    Chart {
        tells: "The button keeps 80 % flowing without a hand; a loss of permission ends it, and it does not come back by itself.",
        along: "time in s",
        panels: vec![
            curves("%", [input("wheel", thumb), output("flow", flow)]),
            levels([input("button", button), other_input("permitted", permitted)]),
        ],
    }
}

fn fan_drive() -> Chart {
    let medium = |cool: f64, hot: f64| CooledMedium { cool: quantity(cool), hot: quantity(hot) };
    let config = FanDriveConfig {
        media: [medium(80.0, 100.0), medium(50.0, 90.0)],
        least: permille(200),
        rise: millis(5_000),
        fall: millis(10_000),
    };
    let mut block = FanDrive::new(config, super::period(100_000)).expect("media");
    let coolant = |time| moved(time, &[(0.0, 75.0), (20.0, 84.0), (40.0, 97.0), (60.0, 82.0)]);
    let oil = |time| moved(time, &[(0.0, 40.0), (25.0, 78.0), (60.0, 66.0)]);
    let [first, second, speed] = story(60.0, 100, |time| {
        let reading = |degrees: f64| Reading::Valid(quantity::<Celsius>(degrees));
        [coolant(time), oil(time), percent(block.step([reading(coolant(time)), reading(oil(time))]))]
    });
    Chart {
        tells: "The hotter of coolant and oil, each by its own limits, decides how fast the fan turns.",
        along: "time in s",
        panels: vec![
            curves("°C", [input("coolant", first), other_input("oil", second)]),
            curves("%", [output("fan", speed)]),
        ],
    }
}
