//! Drive and steer, and what is left of them.

use trunnion::propel::{
    AntiStall, AntiStallConfig, Creep, CreepConfig, CreepInputs, EngineSpeedInputs, EngineSpeedRequest,
    EngineSpeedRequestConfig, Inching, InchingConfig, MixLaw, Mixer, MixerConfig, Overspeed, OverspeedConfig,
    ReverseConvention, Sides, SinglePath, SinglePathConfig, SinglePathInputs, SinglePathState, SpeedLimits,
    SpeedLimitsConfig, SteerAuthority, SteerAuthorityConfig, TravelSpeed, TravelSpeedConfig, Trim,
    TrimConfig, TwoSpeed, TwoSpeedConfig, TwoSpeedInhibit, TwoSpeedInputs,
};
use trunnion::quantity::{Permille, Ratio, Rpm};
use trunnion::sense::{Flaw, Reading};

use super::{TICK, millis, permille};
use crate::chart::{
    Chart, curves, held, input, level, levels, moved, on, other_input, other_output, output, percent, place,
    quantity, ratio, state, story, sweep, value,
};

pub fn scenes() -> Vec<(&'static str, Chart)> {
    vec![
        ("Mixer", mixer()),
        ("SpeedLimits", speed_limits()),
        ("Trim", trim()),
        ("SteerAuthority", steer_authority()),
        ("Inching", inching()),
        ("Creep", creep()),
        ("TravelSpeed", travel_speed()),
        ("Overspeed", overspeed()),
        ("SinglePath", single_path()),
        ("EngineSpeedRequest", engine_speed_request()),
        ("AntiStall", anti_stall()),
        ("TwoSpeed", two_speed()),
    ]
}

fn mixer() -> Chart {
    let config = MixerConfig {
        law: MixLaw::Banded,
        pivot_point: permille(500),
        pivot_band: permille(100),
        sensitivity: Permille::MAX,
        blend_drive: permille(300),
        convention: ReverseConvention::PathFollowing,
        reverse_blend: permille(100),
    };
    let mut mixer = Mixer::new(config).expect("a law");
    let [left, right] = sweep(-100.0, 100.0, 400, |steer| {
        let sides = mixer.step(Ratio::ONE, ratio(steer), Ratio::ONE);
        [percent(sides.left), percent(sides.right)]
    });
    Chart {
        tells: "Full ahead, banded law: steering slows the inner side to zero at 45 %, holds it there to 55 %, then reverses it.",
        along: "steer in %, right positive",
        panels: vec![curves("%", [output("left", left), other_output("right", right)])],
    }
}

fn speed_limits() -> Chart {
    let config =
        SpeedLimitsConfig { forward: Permille::MAX, reverse: permille(600), rotation: permille(500) };
    let limits = SpeedLimits::new(config).expect("limits");
    let [lever, drive] =
        sweep(-100.0, 100.0, 200, |lever| [lever, percent(limits.step(ratio(lever), Ratio::ZERO).0)]);
    Chart {
        tells: "The whole lever travel serves the allowed speeds: all of it ahead, 60 % in reverse.",
        along: "drive lever in %",
        panels: vec![curves("%", [input("lever", lever), output("drive", drive)])],
    }
}

fn trim() -> Chart {
    let block = Trim::new(TrimConfig { left: permille(120), right: Permille::ZERO }).expect("a trim");
    let [left, right] = sweep(-100.0, 100.0, 200, |drive| {
        let sides = block.step(Sides::straight(ratio(drive)));
        [percent(sides.left), percent(sides.right)]
    });
    Chart {
        tells: "Straight ahead, 12 % taken from the left side at every speed.",
        along: "drive in %",
        panels: vec![curves("%", [output("left", left), other_output("right", right)])],
    }
}

fn steer_authority() -> Chart {
    let config =
        SteerAuthorityConfig { slow: Rpm::from_whole(50), fast: Rpm::from_whole(250), floor: permille(400) };
    let block = SteerAuthority::new(config).expect("speeds");
    let [full, half] = sweep(0.0, 300.0, 300, |rpm| {
        let speed = Reading::Valid(quantity(rpm));
        [percent(block.step(Ratio::ONE, speed)), percent(block.step(ratio(50.0), speed))]
    });
    Chart {
        tells: "Full and half steer over speed: whole up to 50 rpm, 40 % from 250 rpm on, a straight line between.",
        along: "speed in rpm",
        panels: vec![curves("%", [output("full steer", full), other_output("half steer", half)])],
    }
}

fn inching() -> Chart {
    let block = Inching::new(InchingConfig { begin: permille(100), full: permille(600) }).expect("a pedal");
    let [drive] =
        sweep(0.0, 100.0, 200, |pedal| [percent(block.step(Ratio::ONE, Reading::Valid(ratio(pedal))))]);
    Chart {
        tells: "Full drive lever: the pedal takes nothing up to 10 %, all from 60 % on.",
        along: "pedal in %",
        panels: vec![curves("%", [output("drive", drive)])],
    }
}

fn creep() -> Chart {
    let config = CreepConfig {
        slowest: permille(50),
        fastest: permille(400),
        first: permille(200),
        increment: permille(50),
    };
    let mut block = Creep::new(config).expect("speeds");
    let lever = |time| moved(time, &[(0.0, 100.0), (0.6, 100.0), (0.8, 0.0), (1.1, 0.0), (1.4, 100.0)]);
    let [drive, toggle, faster, given] = story(3.0, 10, |time| {
        let inputs = CreepInputs {
            drive: ratio(lever(time)),
            toggle: on(time, &[(1.0, 1.01)]),
            faster: on(time, &[(1.8, 1.81), (2.2, 2.21)]),
            ..Default::default()
        };
        [lever(time), level(inputs.toggle), level(inputs.faster), percent(block.step(inputs))]
    });
    Chart {
        tells: "Switched on in neutral, the whole lever serves 20 % of the speed, and 5 % more for each press.",
        along: "time in s",
        panels: vec![
            curves("%", [input("lever", drive), output("drive", given)]),
            levels([input("toggle", toggle), other_input("faster", faster)]),
        ],
    }
}

fn travel_speed() -> Chart {
    let config = TravelSpeedConfig {
        full_speed: Rpm::from_whole(200),
        gain: permille(500),
        integral_time: millis(800),
        authority: permille(400),
    };
    let mut block = TravelSpeed::new(config, TICK).expect("a loop");
    let target = |time| held(time, &[(0.0, 0.0), (0.3, 100.0)]);
    let slope = |time| moved(time, &[(0.0, 0.0), (3.0, 0.0), (3.2, 30.0), (6.0, 30.0), (6.2, 0.0)]);
    let mut speed = 0.0;
    let [asked, measured, command] = story(8.0, 10, |time| {
        let given = block.step(quantity(target(time)), Reading::Valid(quantity(speed)), Ratio::ONE);
        // The machine: 200 rpm at full command, less uphill, with a lag of 0.3 s.
        speed += (percent(given) * 2.0 - slope(time) - speed) * 0.01 / 0.3;
        [target(time), speed, percent(given)]
    });
    Chart {
        tells: "The speed comes to 100 rpm, falls where a slope begins at 3 s, and comes back as the command grows.",
        along: "time in s",
        panels: vec![
            curves("rpm", [input("target", asked), other_input("speed", measured)]),
            curves("%", [output("command", command)]),
        ],
    }
}

fn overspeed() -> Chart {
    let config = OverspeedConfig {
        begin: Rpm::from_whole(2_800),
        full: Rpm::from_whole(3_200),
        release: millis(1_000),
    };
    let mut block = Overspeed::new(config, TICK).expect("speeds");
    let rpm = |time| moved(time, &[(0.0, 2_600.0), (1.0, 3_100.0), (1.5, 3_100.0), (1.8, 2_700.0)]);
    let [speed, retard, hold] = story(3.5, 10, |time| {
        let demand = block.step(Reading::Valid(quantity(rpm(time))));
        [rpm(time), percent(demand.retard), level(demand.hold_back)]
    });
    Chart {
        tells: "Above 2800 rpm the retarder follows the speed, whole at 3200 rpm; it lets go within a second.",
        along: "time in s",
        panels: vec![
            curves("rpm", [input("engine", speed)]),
            curves("%", [output("retard", retard)]),
            levels([output("hold back", hold)]),
        ],
    }
}

fn single_path() -> Chart {
    let config = SinglePathConfig {
        brake_opens_in: millis(200),
        apply_after: millis(800),
        stop_time_out: millis(3_000),
    };
    let mut block = SinglePath::new(config, TICK).expect("times");
    let lever = |time| held(time, &[(0.0, 0.0), (0.3, 70.0), (1.6, 0.0)]);
    let [drive, stands, given, brake, shown] = story(3.5, 10, |time| {
        let inputs = SinglePathInputs {
            permitted: true,
            charge_pressure_good: true,
            drive: ratio(lever(time)),
            standstill: on(time, &[(0.0, 0.6), (2.0, 3.5)]),
        };
        let given = block.step(inputs);
        [
            lever(time),
            level(inputs.standstill),
            percent(given),
            level(block.brake_open()),
            place(block.state()),
        ]
    });
    Chart {
        tells: "The brake opens first and the drive follows 200 ms later; after 0.8 s at rest the brake is applied again.",
        along: "time in s",
        panels: vec![
            curves("%", [input("lever", drive), output("drive", given)]),
            levels([
                input("stands", stands),
                output("brake open", brake),
                state::<SinglePathState>("state", shown),
            ]),
        ],
    }
}

fn engine_speed_request() -> Chart {
    let config = EngineSpeedRequestConfig {
        low_idle: Rpm::from_whole(900),
        high_idle: Rpm::from_whole(2_400),
        rise: millis(1_000),
        fall: millis(2_000),
    };
    let mut block = EngineSpeedRequest::new(config, TICK).expect("speeds");
    let hand = |time| held(time, &[(0.0, 20.0)]);
    let foot = |time| held(time, &[(0.0, 0.0), (0.5, 80.0), (2.2, 10.0)]);
    let [hand_throttle, pedal, speed] = story(4.0, 10, |time| {
        let inputs = EngineSpeedInputs {
            hand: Reading::Valid(ratio(hand(time))),
            foot: Reading::Valid(ratio(foot(time))),
            least: Ratio::ZERO,
            most: Ratio::ONE,
        };
        [hand(time), foot(time), value(block.step(inputs))]
    });
    Chart {
        tells: "The higher of hand throttle and pedal, from low to high idle in a second and back in two.",
        along: "time in s",
        panels: vec![
            curves("%", [input("hand", hand_throttle), other_input("foot", pedal)]),
            curves("rpm", [output("request", speed)]),
        ],
    }
}

fn anti_stall() -> Chart {
    let config = AntiStallConfig {
        begin: permille(100),
        full: permille(300),
        floor: permille(200),
        recovery: millis(1_000),
    };
    let mut block = AntiStall::new(config, TICK).expect("a droop");
    let expected = Rpm::from_whole(2_000);
    let rpm =
        |time| moved(time, &[(0.0, 1_950.0), (0.3, 1_950.0), (0.6, 1_500.0), (1.0, 1_500.0), (1.3, 1_950.0)]);
    let [speed, share] = story(3.0, 10, |time| {
        let lost = on(time, &[(2.5, 3.0)]);
        let reading = if lost { Reading::Faulted(Flaw::Silent) } else { Reading::Valid(quantity(rpm(time))) };
        [if lost { f64::NAN } else { rpm(time) }, percent(block.step(expected, reading))]
    });
    Chart {
        tells: "Asked for 2000 rpm, the engine droops under load: the drive gives way at once and comes back within a second. Without a speed it stays at its floor.",
        along: "time in s",
        panels: vec![curves("rpm", [input("engine", speed)]), curves("%", [output("share", share)])],
    }
}

fn two_speed() -> Chart {
    let config = TwoSpeedConfig {
        up_below_turning: permille(150),
        down_below_speed: permille(400),
        dwell: millis(500),
    };
    let mut block = TwoSpeed::new(config, TICK).expect("limits");
    let turning = |time| moved(time, &[(0.0, 30.0), (0.8, 30.0), (1.0, 0.0)]);
    let speed = |time| moved(time, &[(0.0, 20.0), (1.2, 90.0), (2.6, 90.0), (3.2, 20.0)]);
    let [wanted, turn, travel, high, inhibit] = story(4.0, 10, |time| {
        let request = on(time, &[(0.4, 2.2)]);
        let inputs = TwoSpeedInputs {
            request,
            permitted: true,
            turning: ratio(turning(time)),
            speed: ratio(speed(time)),
        };
        let high = block.step(inputs);
        [level(request), turning(time), speed(time), level(high), place(block.why_inhibited())]
    });
    Chart {
        tells: "The fast range waits while the machine turns; the slow one waits until it is slow enough.",
        along: "time in s",
        panels: vec![
            curves("%", [input("turning", turn), other_input("speed", travel)]),
            levels([
                input("fast asked", wanted),
                output("fast range", high),
                state::<TwoSpeedInhibit>("inhibited by", inhibit),
            ]),
        ],
    }
}
