//! Steps in, ramps out.

use trunnion::propel::Sides;
use trunnion::ramp::{
    ControlledStop, ControlledStopConfig, DerateRamp, DerateRampConfig, IndependentRamps, JerkLimit,
    JerkLimitConfig, MotionRamp, MotionRampConfig, MotionRates, PairRamp, PairRampConfig, RateLimit,
    RateLimitConfig, StopPhase, StopRequest,
};

use super::{TICK, millis};
use crate::chart::{
    Chart, curves, held, input, level, levels, moved, on, other_input, other_output, output, percent, place,
    ratio, state, story,
};

pub fn scenes() -> Vec<(&'static str, Chart)> {
    vec![
        ("RateLimit", rate_limit()),
        ("MotionRamp", motion_ramp()),
        ("PairRamp", pair_ramp()),
        ("IndependentRamps", independent_ramps()),
        ("JerkLimit", jerk_limit()),
        ("ControlledStop", controlled_stop()),
        ("DerateRamp", derate_ramp()),
    ]
}

const RATES: MotionRates = MotionRates {
    accelerate: trunnion::quantity::Millis::millis(1_000),
    decelerate: trunnion::quantity::Millis::millis(600),
    reverse: trunnion::quantity::Millis::millis(400),
};

fn rate_limit() -> Chart {
    let mut ramp =
        RateLimit::new(RateLimitConfig { rise: millis(500), fall: millis(200) }, TICK).expect("times");
    let target = |time| held(time, &[(0.0, 0.0), (0.1, 100.0), (0.9, 0.0), (1.3, -60.0), (1.9, 40.0)]);
    let [asked, given] = story(2.4, 10, |time| [target(time), percent(ramp.step(ratio(target(time))))]);
    Chart {
        tells: "A step to full scale is followed in 500 ms, one back to zero in 200 ms; a reversal falls to zero first.",
        along: "time in s",
        panels: vec![curves("%", [input("target", asked), output("output", given)])],
    }
}

fn motion_ramp() -> Chart {
    let config = MotionRampConfig { positive: RATES, negative: RATES, dwell: millis(200) };
    let mut ramp = MotionRamp::new(config, TICK).expect("times");
    let target = |time| held(time, &[(0.0, 0.0), (0.1, 100.0), (1.5, 40.0), (2.2, -80.0)]);
    let [asked, given, phase] = story(4.0, 10, |time| {
        let given = ramp.step(ratio(target(time)));
        [target(time), percent(given), place(ramp.phase())]
    });
    Chart {
        tells: "Accelerating takes 1 s for full scale, decelerating 0.6 s, reversing 0.4 s, with a rest of 0.2 s at zero.",
        along: "time in s",
        panels: vec![
            curves("%", [input("target", asked), output("output", given)]),
            levels([state::<trunnion::ramp::MotionPhase>("phase", phase)]),
        ],
    }
}

fn turn(time: f64) -> Sides {
    let left = held(time, &[(0.0, 0.0), (0.1, 100.0), (1.6, 0.0)]);
    let right = held(time, &[(0.0, 0.0), (0.1, 40.0), (1.6, 0.0)]);
    Sides { left: ratio(left), right: ratio(right) }
}

fn sides_chart(tells: &'static str, mut step: impl FnMut(Sides) -> Sides) -> Chart {
    let [asked_left, asked_right, left, right] = story(2.6, 10, |time| {
        let (asked, given) = (turn(time), step(turn(time)));
        [percent(asked.left), percent(asked.right), percent(given.left), percent(given.right)]
    });
    Chart {
        tells,
        along: "time in s",
        panels: vec![curves(
            "%",
            [
                input("left asked", asked_left),
                other_input("right asked", asked_right),
                output("left", left),
                other_output("right", right),
            ],
        )],
    }
}

fn pair_ramp() -> Chart {
    let config = PairRampConfig {
        forward: RATES,
        reverse: RATES,
        rotation: RATES,
        stop: millis(400),
        dwell: millis(0),
    };
    let mut ramp = PairRamp::new(config, TICK).expect("times");
    sides_chart(
        "Left is asked for 100 %, right for 40 %. Both grow in that proportion, shrink in it, and reach zero in the same step.",
        |asked| ramp.step(asked, StopRequest::None),
    )
}

fn independent_ramps() -> Chart {
    let config = MotionRampConfig { positive: RATES, negative: RATES, dwell: millis(0) };
    let mut ramps = IndependentRamps::new(config, TICK).expect("times");
    sides_chart(
        "The same step: each side goes at its own pace, so right is at zero while left still runs and the machine hooks.",
        |asked| ramps.step(asked),
    )
}

fn jerk_limit() -> Chart {
    let mut limit = JerkLimit::new(JerkLimitConfig { full_scale: millis(800), build_up: millis(200) }, TICK)
        .expect("times");
    let target = |time| held(time, &[(0.0, 0.0), (0.1, 100.0), (1.4, 60.0), (2.0, 0.0)]);
    let [asked, given] = story(3.2, 10, |time| [target(time), percent(limit.step(ratio(target(time))))]);
    Chart {
        tells: "The rate builds up and dies away over 200 ms at either end, and the output never passes the target.",
        along: "time in s",
        panels: vec![curves("%", [input("target", asked), output("output", given)])],
    }
}

fn controlled_stop() -> Chart {
    let mut stop = ControlledStop::new(ControlledStopConfig { time: millis(500) }, TICK).expect("a time");
    let lever = |time| {
        moved(
            time,
            &[
                (0.0, 0.0),
                (0.2, 0.0),
                (0.4, 80.0),
                (0.9, 80.0),
                (1.0, -70.0),
                (1.5, -70.0),
                (1.6, 0.0),
                (1.9, 0.0),
                (2.1, 60.0),
            ],
        )
    };
    let [command, asked, given, phase] = story(2.5, 10, |time| {
        let request = if on(time, &[(0.7, 0.9)]) { StopRequest::Controlled } else { StopRequest::None };
        let given = stop.step(ratio(lever(time)), request);
        [lever(time), level(request == StopRequest::Controlled), percent(given), place(stop.phase())]
    });
    Chart {
        tells: "A stop at 0.7 s goes in a straight line to zero at full scale in 500 ms, though the lever is thrown over; the lever counts again once it was at zero.",
        along: "time in s",
        panels: vec![
            curves("%", [input("command", command), output("output", given)]),
            levels([input("stop asked", asked), state::<StopPhase>("phase", phase)]),
        ],
    }
}

fn derate_ramp() -> Chart {
    let config = DerateRampConfig { withdraw: millis(2_000), restore: millis(10_000) };
    let mut ramp = DerateRamp::new(config, TICK).expect("times");
    let share = |time| held(time, &[(0.0, 100.0), (1.0, 40.0), (4.0, 100.0)]);
    let [asked, given] = story(12.0, 20, |time| {
        ramp.step(ratio(share(time)));
        [share(time), percent(ramp.step(ratio(share(time))))]
    });
    Chart {
        tells: "A sensor fails and the share falls from 100 % to 40 % at a whole in 2 s; when it comes back the share rises at a whole in 10 s.",
        along: "time in s",
        panels: vec![curves("%", [input("share asked", asked), output("share", given)])],
    }
}
