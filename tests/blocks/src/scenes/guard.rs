//! Who may move, told as stories.

use trunnion::guard::{
    CutOffMonitor, CutOffMonitorConfig, CutOffState, CutOffTest, CutOffTestConfig, DerateCurve,
    DerateCurveConfig, GateState, HoldState, HoldToRun, HoldToRunConfig, ImmediateStop, ImmediateStopConfig,
    LastGate, LastGateConfig, Lock, LockConfig, LockStart, LockState, LoopAlive, LoopAliveConfig,
    NeutralStart, NeutralStartConfig, NeutralStartInputs, ParkBrake, ParkBrakeConfig, ParkBrakeInputs,
    ParkBrakeState, PatternLatch, PatternLatchConfig, PermissionGroup, PermissionGroupConfig,
    PermissionGroupInputs, ReasonLog, ReasonLogConfig, Reasons, Standstill, StandstillConfig, StartPhase,
    StartReasons, StationLatch, StationLatchConfig, StationLatchInputs, StopKind, StopState,
};
use trunnion::lever::LeverPattern;
use trunnion::quantity::{Celsius, Milliamps, Millivolts, Permille, Rpm};
use trunnion::sense::Reading;

use super::{TICK, millis, permille};
use crate::chart::{
    Chart, curves, held, input, level, levels, moved, on, other_input, output, percent, place, quantity,
    state, story, sweep,
};

pub fn scenes() -> Vec<(&'static str, Chart)> {
    vec![
        ("NeutralStart", neutral_start()),
        ("PermissionGroup", permission_group()),
        ("StationLatch", station_latch()),
        ("PatternLatch", pattern_latch()),
        ("Standstill", standstill()),
        ("ParkBrake", park_brake()),
        ("Lock", lock()),
        ("ImmediateStop", immediate_stop()),
        ("HoldToRun", hold_to_run()),
        ("LastGate", last_gate()),
        ("CutOffTest", cut_off_test()),
        ("CutOffMonitor", cut_off_monitor()),
        ("DerateCurve", derate_curve()),
        ("LoopAlive", loop_alive()),
        ("ReasonLog", reason_log()),
    ]
}

fn neutral_start() -> Chart {
    let mut start =
        NeutralStart::new(NeutralStartConfig { hold: millis(100), frames: 3 }, TICK).expect("rules");
    let [conditions, neutral, ask, phase] = story(3.0, 10, |time| {
        let inputs = NeutralStartInputs {
            conditions: on(time, &[(0.2, 1.8), (2.0, 3.0)]),
            neutral: on(time, &[(0.5, 1.2), (2.3, 3.0)]),
            new_frame: ((time * 100.0).round() as u32).is_multiple_of(2),
            ask: on(time, &[(0.9, 0.91)]),
            ask_required: time < 0.1,
        };
        [level(inputs.conditions), level(inputs.neutral), level(inputs.ask), place(start.step(inputs))]
    });
    Chart {
        tells: "Conditions, then levers neutral for 100 ms and three frames, then the operator asks: permitted. A condition that goes takes it away, and the levers must be neutral anew.",
        along: "time in s",
        panels: vec![levels([
            input("conditions", conditions),
            other_input("levers neutral", neutral),
            input("ask", ask),
            state::<StartPhase>("phase", phase),
        ])],
    }
}

fn permission_group() -> Chart {
    let config = PermissionGroupConfig {
        start: NeutralStartConfig { hold: millis(100), frames: 3 },
        gate: LastGateConfig { decay: millis(50), stray: Milliamps::saturating(150) },
        reasons: StartReasons { stopping: 0, not_neutral: 1, not_asked: 2 },
    };
    let mut group = PermissionGroup::new(config, TICK).expect("rules");
    let (seat, bar) = (3, 4);
    let mut ramp = 0.0_f64;
    let [seat_empty, bar_up, ramped, permitted, stopped, gate] = story(4.0, 10, |time| {
        let reasons =
            Reasons::none().with_if(seat, on(time, &[(1.2, 1.6)])).with_if(bar, on(time, &[(3.2, 3.4)]));
        let told = group.step(PermissionGroupInputs {
            reasons,
            immediate: Reasons::none().with(bar),
            neutral: on(time, &[(0.0, 0.6), (1.9, 2.6)]),
            new_frame: true,
            ask: on(time, &[(0.4, 0.41), (2.3, 2.31)]),
            ask_required: !reasons.is_empty(),
        });
        let lever = if told.permitted && !on(time, &[(0.0, 0.6), (1.9, 2.6)]) { 80.0 } else { 0.0 };
        ramp += (lever - ramp).clamp(-2.0, 2.0);
        let gate = group.gate(&told, ramp == 0.0, Milliamps::ZERO);
        if gate != GateState::Open {
            ramp = 0.0;
        }
        [
            level(reasons.has(seat)),
            level(reasons.has(bar)),
            ramp,
            level(told.permitted),
            place(told.stop),
            place(gate),
        ]
    });
    Chart {
        tells: "An empty seat takes the permission away and the gate stays open until the ramp is at zero; a raised bar, which is an immediate reason, closes it in the same step.",
        along: "time in s",
        panels: vec![
            curves("%", [input("ramp", ramped)]),
            levels([
                input("seat empty", seat_empty),
                other_input("bar up", bar_up),
                output("permitted", permitted),
                state::<StopKind>("stop", stopped),
                state::<GateState>("gate", gate),
            ]),
        ],
    }
}

fn station_latch() -> Chart {
    let mut latch = StationLatch::<2>::new(StationLatchConfig { hold: millis(200) }, TICK).expect("a time");
    let [left, right, released, commands] = story(4.0, 10, |time| {
        let inputs = StationLatchInputs {
            claimed: [on(time, &[(0.2, 1.4)]), on(time, &[(1.2, 4.0)])],
            neutral: [true, on(time, &[(0.0, 1.3), (2.4, 4.0)])],
            at_rest: true,
        };
        let shown = latch.step(inputs);
        let commands = shown.in_command.map_or(0.0, |station| f64::from(station) + 1.0);
        [level(inputs.claimed[0]), level(inputs.claimed[1]), level(inputs.neutral[1]), commands]
    });
    Chart {
        tells: "The driver slides over with a hand on the right lever: the left seat keeps the command until the lever was released for 200 ms.",
        along: "time in s",
        panels: vec![levels([
            input("left claimed", left),
            input("right claimed", right),
            other_input("right neutral", released),
            crate::chart::Curve { words: &["nobody", "left", "right"], ..output("in command", commands) },
        ])],
    }
}

fn pattern_latch() -> Chart {
    let mut latch = PatternLatch::new(PatternLatchConfig { hold: millis(200) }, TICK).expect("a time");
    let [rocker, rest, active, mismatch] = story(4.0, 10, |time| {
        let wanted = if on(time, &[(1.0, 2.0), (2.6, 4.0)]) { LeverPattern::Iso } else { LeverPattern::H };
        let at_rest = on(time, &[(0.0, 0.7), (1.4, 4.0)]);
        let state = latch.step(Some(wanted), at_rest);
        [place(wanted), level(at_rest), place(state.active.unwrap_or_default()), level(state.mismatch)]
    });
    Chart {
        tells: "A move of the rocker while the machine drives is dropped and not queued; after it was moved back, one at rest counts.",
        along: "time in s",
        panels: vec![levels([
            crate::chart::Curve {
                words: <LeverPattern as trunnion::declare::Field>::CHOICES,
                ..input("rocker", rocker)
            },
            other_input("at rest", rest),
            state::<LeverPattern>("pattern", active),
            output("mismatch", mismatch),
        ])],
    }
}

fn standstill() -> Chart {
    let config = StandstillConfig { band: Rpm::from_whole(10), hold: millis(200) };
    let mut block = Standstill::new(config, TICK).expect("rules");
    let rpm = |time| moved(time, &[(0.0, 60.0), (0.6, 0.0), (0.7, -14.0), (0.8, 0.0)]);
    let [speed, stands] = story(1.6, 10, |time| {
        let reading = Reading::Valid(quantity(rpm(time)));
        [rpm(time), level(block.step(time > 0.1, reading, reading))]
    });
    Chart {
        tells: "The machine stands once its speed was within 10 rpm for 200 ms; a rebound starts the time anew.",
        along: "time in s",
        panels: vec![curves("rpm", [input("motor", speed)]), levels([output("stands", stands)])],
    }
}

fn park_brake() -> Chart {
    let mut brake = ParkBrake::new(ParkBrakeConfig { stop_time_out: millis(1_000) }, TICK).expect("a time");
    let [permitted, stands, brake_state] = story(5.0, 10, |time| {
        let inputs = ParkBrakeInputs {
            permitted: on(time, &[(0.3, 1.2), (2.4, 3.2)]),
            charge_pressure_good: true,
            standstill: on(time, &[(0.0, 0.5), (1.7, 2.6)]),
        };
        [level(inputs.permitted), level(inputs.standstill), place(brake.step(inputs))]
    });
    Chart {
        tells: "Released with the permission; applied once the machine stands after it went, or after the time-out of 1 s.",
        along: "time in s",
        panels: vec![levels([
            input("permitted", permitted),
            other_input("stands", stands),
            state::<ParkBrakeState>("brake", brake_state),
        ])],
    }
}

fn lock() -> Chart {
    let mut lock =
        Lock::new(LockConfig { hold: millis(200), start: LockStart::MustCycle }, TICK).expect("a time");
    let [switch, neutral, shown] = story(3.0, 10, |time| {
        let unlock = on(time, &[(0.0, 0.5), (0.9, 2.3)]);
        let neutral = on(time, &[(0.0, 0.7), (1.2, 1.7), (2.0, 3.0)]);
        [level(unlock), level(neutral), place(lock.step(Reading::Valid(unlock), neutral))]
    });
    Chart {
        tells: "Unlocked since power-up does not count. Moved there anew it opens once the levers were neutral for 200 ms, and locks at once.",
        along: "time in s",
        panels: vec![levels([
            input("unlocked", switch),
            other_input("levers neutral", neutral),
            state::<LockState>("lock", shown),
        ])],
    }
}

fn immediate_stop() -> Chart {
    let config = ImmediateStopConfig { shortest_press: millis(50), longest_press: millis(1_000) };
    let mut stop = ImmediateStop::new(config, TICK).expect("times");
    let [cause, button, shown] = story(4.0, 10, |time| {
        let cause = on(time, &[(0.8, 1.4)]);
        let button = on(time, &[(0.2, 0.5), (1.2, 1.8), (2.2, 2.5)]);
        [level(cause), level(button), place(stop.step(Reading::Valid(cause), Reading::Valid(button)))]
    });
    Chart {
        tells: "Reset by hand after power-up. A cause stops at once; a reset button held since before its end does not count, a press of its own does when it is let go of.",
        along: "time in s",
        panels: vec![levels([
            input("cause", cause),
            other_input("reset button", button),
            state::<StopState>("stop", shown),
        ])],
    }
}

fn hold_to_run() -> Chart {
    let mut block = HoldToRun::new(HoldToRunConfig { longest: millis(1_000) }, TICK).expect("a time");
    let [permitted, held_down, shown] = story(3.6, 10, |time| {
        let permitted = on(time, &[(0.0, 2.9)]);
        let held = on(time, &[(0.0, 0.3), (0.6, 1.0), (1.3, 2.5), (2.7, 3.3)]);
        [level(permitted), level(held), place(block.step(permitted, Reading::Valid(held)))]
    });
    Chart {
        tells: "Held since power-up it must be let go of; held anew it runs, for 1 s at the longest and while permitted.",
        along: "time in s",
        panels: vec![levels([
            input("held", held_down),
            other_input("permitted", permitted),
            state::<HoldState>("state", shown),
        ])],
    }
}

fn last_gate() -> Chart {
    let stray = Milliamps::saturating(40);
    let mut gate = LastGate::new(LastGateConfig { decay: millis(50), stray }, TICK).expect("rules");
    let milliamps = |time| {
        moved(
            time,
            &[(0.0, 0.0), (0.1, 0.0), (0.14, 600.0), (0.4, 600.0), (0.44, 0.0), (0.6, 0.0), (0.64, 600.0)],
        )
    };
    let [open, current, shown] = story(1.0, 10, |time| {
        let open = on(time, &[(0.1, 0.4), (0.6, 0.75)]);
        [level(open), milliamps(time), place(gate.step(open, quantity(milliamps(time))))]
    });
    Chart {
        tells: "A gate closes at once. Where current still flows 50 ms later, it says that gate and coil disagree.",
        along: "time in s",
        panels: vec![
            curves("mA", [input("measured", current)]),
            levels([input("may open", open), state::<GateState>("gate", shown)]),
        ],
    }
}

fn volts(volts: f64) -> Millivolts {
    Millivolts::saturating((volts * 1_000.0).round() as i64)
}

fn cut_off_test() -> Chart {
    let config = CutOffTestConfig { settle: millis(100), low: volts(2.0), high: volts(9.0) };
    let mut test = CutOffTest::new(config, TICK).expect("rules");
    let mut rail = 8.0_f64;
    let [read_back, supply, shown] = story(0.5, 10, |_| {
        rail = if test.supply_on() { 24.0 } else { rail * 0.7 };
        test.step(volts(rail));
        [rail, level(test.supply_on()), place(test.state())]
    });
    Chart {
        tells: "At start-up the supply of the coils must be seen to go and to come before it is used.",
        along: "time in s",
        panels: vec![
            curves("V", [input("read back", read_back)]),
            levels([output("supply on", supply), state::<CutOffState>("test", shown)]),
        ],
    }
}

fn cut_off_monitor() -> Chart {
    let config = CutOffMonitorConfig { disagree_after: millis(100), low: volts(2.0), high: volts(9.0) };
    let mut monitor = CutOffMonitor::new(config, TICK).expect("rules");
    let [commanded, read_back, agrees] = story(1.2, 10, |time| {
        let commanded = on(time, &[(0.0, 0.3), (0.6, 0.9)]);
        let rail = moved(time, &[(0.0, 24.0), (0.3, 24.0), (0.36, 0.0), (0.6, 0.0), (0.61, 24.0)]);
        [level(commanded), rail, level(monitor.step(commanded, volts(rail)))]
    });
    Chart {
        tells: "Switched off at 0.9 s the rail stays live, a welded contact: after 100 ms command and read-back disagree.",
        along: "time in s",
        panels: vec![
            curves("V", [input("read back", read_back)]),
            levels([input("commanded on", commanded), output("agrees", agrees)]),
        ],
    }
}

fn derate_curve() -> Chart {
    let config = DerateCurveConfig { low: -150, at_low: permille(400), high: 100, at_high: Permille::MAX };
    let curve = DerateCurve::new(config).expect("corners");
    let [share] = sweep(-30.0, 30.0, 240, |degrees| {
        let oil: Celsius = quantity(degrees);
        [percent(curve.step(oil.raw().into()))]
    });
    Chart {
        tells: "Cold oil: 40 % up to −15 °C, all from 10 °C on, a straight line between.",
        along: "oil temperature in °C",
        panels: vec![curves("%", [output("share", share)])],
    }
}

fn loop_alive() -> Chart {
    let mut alive =
        LoopAlive::new(LoopAliveConfig { overruns: 3, forget_after: millis(1_000) }, TICK).expect("rules");
    let overruns = |time| {
        held(time, &[(0.0, 254.0), (0.4, 255.0), (1.0, 256.0), (3.0, 257.0), (3.2, 258.0), (3.4, 259.0)])
    };
    let [missed, keeps] =
        story(6.0, 10, |time| [overruns(time) - 254.0, level(alive.step(overruns(time) as u32 as u8))]);
    Chart {
        tells: "Overruns are forgotten one a second; three at a time mean that the loop does not keep its period.",
        along: "time in s",
        panels: vec![
            curves("times", [input("overruns", missed)]),
            levels([output("keeps its period", keeps)]),
        ],
    }
}

fn reason_log() -> Chart {
    let mut log =
        ReasonLog::<1, 8>::new(ReasonLogConfig { look_back: millis(30_000) }, TICK).expect("a time");
    let [seat, bar, permitted, entries, frozen] = story(4.0, 10, |time| {
        let (seat, bar) = (on(time, &[(2.2, 4.0)]), on(time, &[(2.0, 3.0)]));
        let permitted = on(time, &[(0.5, 2.0)]);
        log.step([Reasons::none().with_if(0, seat).with_if(1, bar)], permitted);
        [level(seat), level(bar), level(permitted), log.entries().count() as f64, level(log.is_frozen())]
    });
    Chart {
        tells: "Each change of the reasons is an entry; the stop at 2 s freezes them, so that what follows does not push it out.",
        along: "time in s",
        panels: vec![
            curves("entries", [output("log", entries)]),
            levels([
                input("seat empty", seat),
                other_input("bar up", bar),
                input("permitted", permitted),
                output("frozen", frozen),
            ]),
        ],
    }
}
