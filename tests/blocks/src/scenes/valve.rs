//! Currents and coils.

use trunnion::guard::CutOffTestConfig;
use trunnion::quantity::{Centiohms, Duty, Hertz, Milliamps, Millivolts};
use trunnion::valve::{
    Coil, CoilConfig, CoilMonitor, CoilMonitorConfig, CoilPair, CoilPairConfig, CoilReport, CurrentLoop,
    CurrentLoopConfig, CurrentMap, CurrentMapConfig, Dither, DitherConfig, ExcessCurrent, PairExclusion,
    PairExclusionConfig, PeakAndHold, PeakAndHoldConfig, StartUpState, StartUpTest, StartUpTestConfig,
    TestPulse, TestPulseConfig, TestPulseState,
};

use super::{FAST, TICK, millis, permille};
use crate::chart::{
    Chart, curves, held, input, level, levels, moved, on, other_input, other_output, output, place, ratio,
    state, story, sweep, value,
};

pub fn scenes() -> Vec<(&'static str, Chart)> {
    vec![
        ("CurrentMap", current_map()),
        ("Dither", dither()),
        ("CurrentLoop", current_loop()),
        ("CoilMonitor", coil_monitor()),
        ("Coil", coil()),
        ("PairExclusion", pair_exclusion()),
        ("CoilPair", coil_pair()),
        ("PeakAndHold", peak_and_hold()),
        ("TestPulse", test_pulse()),
        ("StartUpTest", start_up_test()),
        ("ExcessCurrent", excess_current()),
    ]
}

fn milliamps(raw: f64) -> Milliamps {
    Milliamps::saturating(raw.round() as i64)
}

fn volts(volts: f64) -> Millivolts {
    Millivolts::saturating((volts * 1_000.0).round() as i64)
}

/// A coil of 5.3 Ω and 21 mH: L · di/dt = d · U − R · i, in steps of 0.1 ms.
struct Winding {
    ohms: f64,
    amperes: f64,
}

impl Winding {
    /// One millisecond at a duty; the mean current of it in mA.
    fn run(&mut self, duty: Duty, supply: f64) -> f64 {
        let mut sum = 0.0;
        for _ in 0..10 {
            let volts = supply * f64::from(duty.raw()) / 10_000.0;
            self.amperes = (self.amperes + (volts - self.ohms * self.amperes) / 0.021 * 1e-4).max(0.0);
            sum += self.amperes * 100.0;
        }
        sum
    }
}

fn control() -> CurrentLoopConfig {
    CurrentLoopConfig {
        resistance: Centiohms::saturating(530),
        time_constant: millis(4),
        proportional: Centiohms::saturating(530),
        integral_time: millis(8),
        lowest_supply: volts(8.0),
        highest_supply: volts(16.0),
        largest: Milliamps::saturating(1_500),
    }
}

fn coil_config(dither: DitherConfig) -> CoilConfig {
    CoilConfig {
        control: control(),
        dither,
        averaging: millis(10),
        tolerance: permille(100),
        offset: Milliamps::saturating(40),
        stray: Milliamps::saturating(60),
    }
}

fn current_map() -> Chart {
    let config = CurrentMapConfig { threshold: Milliamps::saturating(240), end: Milliamps::saturating(640) };
    let map = CurrentMap::new(config).expect("currents");
    let [current] = sweep(-20.0, 100.0, 480, |share| [value(map.step(ratio(share)))]);
    Chart {
        tells: "No command, no current; the smallest command gives the threshold of 240 mA, the largest the end of 640 mA.",
        along: "command in %",
        panels: vec![curves("mA", [output("current", current)])],
    }
}

fn dither() -> Chart {
    let config = DitherConfig::at(Hertz::from_whole(125), Milliamps::saturating(40), FAST);
    let mut block = Dither::new(config, FAST).expect("a wave");
    let set = |time| held(time, &[(0.0, 0.0), (0.01, 400.0), (0.05, 20.0), (0.07, 0.0)]);
    let [asked, given] = story(0.08, 1, |time| [set(time), value(block.step(milliamps(set(time))))]);
    Chart {
        tells: "A square wave of 125 Hz and 40 mA about the set-point; smaller where the set-point is smaller, none at zero.",
        along: "time in s",
        panels: vec![curves("mA", [input("set-point", asked), output("dithered", given)])],
    }
}

fn current_loop() -> Chart {
    let mut block = CurrentLoop::new(control(), FAST).expect("a coil");
    let mut winding = Winding { ohms: 6.2, amperes: 0.0 };
    let set = |time| held(time, &[(0.0, 0.0), (0.02, 900.0), (0.16, 400.0), (0.22, 0.0)]);
    let supply = |time| held(time, &[(0.0, 12.6), (0.1, 10.5)]);
    let mut measured = 0.0;
    let [asked, current, duty] = story(0.26, 1, |time| {
        let duty = block.step(milliamps(set(time)), milliamps(measured), Some(volts(supply(time))));
        measured = winding.run(duty, supply(time));
        [set(time), measured, value(duty)]
    });
    Chart {
        tells: "The current of a warm coil follows its set-point; a dip of the supply at 0.1 s is taken up by the duty at once.",
        along: "time in s",
        panels: vec![
            curves("mA", [input("set-point", asked), other_input("current", current)]),
            curves("%", [output("duty", duty)]),
        ],
    }
}

fn coil_monitor() -> Chart {
    let config = CoilMonitorConfig {
        resistance: Centiohms::saturating(530),
        blanking: millis(20),
        averaging: millis(10),
        tolerance: permille(100),
        offset: Milliamps::saturating(40),
        stray: Milliamps::saturating(60),
    };
    let mut block = CoilMonitor::new(config, FAST).expect("a coil");
    let set = |time| held(time, &[(0.0, 0.0), (0.02, 600.0)]);
    let current = |time| moved(time, &[(0.0, 0.0), (0.02, 0.0), (0.035, 600.0), (0.12, 600.0), (0.125, 0.0)]);
    let [asked, measured, open, deviation] = story(0.24, 1, |time| {
        let duty = if time > 0.13 {
            Duty::MAX
        } else {
            Duty::saturating((current(time) * 5.3 / 12.6 * 10.0) as i64)
        };
        let found = block.step(milliamps(set(time)), milliamps(current(time)), duty, volts(12.6));
        [set(time), current(time), level(found.open), level(found.deviation)]
    });
    Chart {
        tells: "At 0.12 s the plug comes off: no current at full duty is told as an open coil after the blanking and a window of the mean.",
        along: "time in s",
        panels: vec![
            curves("mA", [input("set-point", asked), other_input("measured", measured)]),
            levels([output("open", open), output("deviation", deviation)]),
        ],
    }
}

fn coil() -> Chart {
    let config = coil_config(DitherConfig::at(Hertz::from_whole(100), Milliamps::saturating(40), FAST));
    let mut block = Coil::new(config, FAST).expect("a coil");
    let mut winding = Winding { ohms: 5.3, amperes: 0.0 };
    let set = |time| held(time, &[(0.0, 0.0), (0.02, 500.0), (0.16, 0.0)]);
    let mut measured = 0.0;
    let [asked, current, duty] = story(0.2, 1, |time| {
        let duty = block.step(milliamps(set(time)), milliamps(measured), Some(volts(12.6)));
        measured = winding.run(duty, 12.6);
        [set(time), measured, value(duty)]
    });
    Chart {
        tells: "Loop, dither and watch together: the current comes to 500 mA and moves about it at 100 Hz; at zero there is nothing.",
        along: "time in s",
        panels: vec![
            curves("mA", [input("set-point", asked), other_input("current", current)]),
            curves("%", [output("duty", duty)]),
        ],
    }
}

const REVERSAL: PairExclusionConfig = PairExclusionConfig {
    released: Milliamps::saturating(50),
    pause: trunnion::quantity::Millis::millis(20),
};

fn reversal(time: f64) -> (f64, f64) {
    (held(time, &[(0.0, 0.0), (0.02, 500.0), (0.1, 0.0)]), held(time, &[(0.0, 0.0), (0.1, 500.0)]))
}

fn pair_exclusion() -> Chart {
    let mut block = PairExclusion::new(REVERSAL, FAST).expect("a pair");
    let (mut one, mut other) = (0.0_f64, 0.0_f64);
    let [asked_one, asked_other, set_one, set_other, flows] = story(0.22, 1, |time| {
        let (a, b) = reversal(time);
        let (first, second) = block.step(milliamps(a), milliamps(b), milliamps(one), milliamps(other));
        one += (value(first) - one) * 0.15;
        other += (value(second) - other) * 0.15;
        [a, b, value(first), value(second), one]
    });
    Chart {
        tells: "The other coil is asked for while the first still carries current; it gets its set-point once that has decayed and a pause of 20 ms is over.",
        along: "time in s",
        panels: vec![
            curves(
                "mA",
                [
                    input("one asked", asked_one),
                    other_input("other asked", asked_other),
                    output("one", set_one),
                    other_output("other", set_other),
                ],
            ),
            curves("mA", [input("measured in one", flows)]),
        ],
    }
}

fn coil_pair() -> Chart {
    let coil = coil_config(DitherConfig { amplitude: Milliamps::ZERO, cycle: millis(10) });
    let config = CoilPairConfig { a: coil, b: coil, exclusion: REVERSAL };
    let mut block = CoilPair::new(config, FAST).expect("a pair");
    let mut windings = [Winding { ohms: 5.3, amperes: 0.0 }, Winding { ohms: 5.3, amperes: 0.0 }];
    let mut measured = [0.0, 0.0];
    let [asked_one, asked_other, one, other] = story(0.24, 1, |time| {
        let (a, b) = reversal(time);
        let now = (milliamps(measured[0]), milliamps(measured[1]));
        let (first, second) = block.step((milliamps(a), milliamps(b)), now, Some(volts(12.6)));
        measured = [windings[0].run(first, 12.6), windings[1].run(second, 12.6)];
        [a, b, measured[0], measured[1]]
    });
    Chart {
        tells: "A spool is reversed: its coils never carry current together.",
        along: "time in s",
        panels: vec![curves(
            "mA",
            [
                input("raise asked", asked_one),
                other_input("lower asked", asked_other),
                output("raise", one),
                other_output("lower", other),
            ],
        )],
    }
}

fn peak_and_hold() -> Chart {
    let config = PeakAndHoldConfig {
        peak: millis(150),
        hold: volts(5.0),
        lowest_supply: volts(9.0),
        highest_supply: volts(16.0),
    };
    let mut block = PeakAndHold::new(config, TICK).expect("a coil");
    let supply = |time| moved(time, &[(0.0, 12.6), (0.6, 12.6), (0.7, 10.0), (1.0, 10.0)]);
    let [asked, rail, duty] = story(1.2, 10, |time| {
        let on = on(time, &[(0.1, 1.0)]);
        [level(on), supply(time), value(block.step(on, Some(volts(supply(time)))))]
    });
    Chart {
        tells: "Full duty for 150 ms pulls the valve in, then so much that 5 V hold it, whatever the supply does.",
        along: "time in s",
        panels: vec![
            curves("%", [output("duty", duty)]),
            curves("V", [input("supply", rail)]),
            levels([input("on", asked)]),
        ],
    }
}

fn test_pulse() -> Chart {
    let config =
        TestPulseConfig { current: Milliamps::saturating(120), length: millis(60), pass: permille(500) };
    let mut block = TestPulse::<2>::new(config, TICK).expect("a pulse");
    let [first, second, found, shown] = story(0.3, 10, |_| {
        let [one, other] = block.set_points();
        // The plug of the second coil is off.
        let shown = block.step(&[one, Milliamps::ZERO]);
        [value(one), value(other), level(block.open(1)), place(shown)]
    });
    Chart {
        tells: "Each coil in turn gets a current too small to move its spool; the second answers with none and is told as open.",
        along: "time in s",
        panels: vec![
            curves("mA", [output("first", first), other_output("second", second)]),
            levels([output("second open", found), state::<TestPulseState>("test", shown)]),
        ],
    }
}

fn start_up_test() -> Chart {
    let config = StartUpTestConfig {
        cut_off: CutOffTestConfig { settle: millis(60), low: volts(3.0), high: volts(6.0) },
        pulse: TestPulseConfig {
            current: Milliamps::saturating(200),
            length: millis(80),
            pass: permille(500),
        },
        decay: millis(50),
    };
    let mut block = StartUpTest::<2>::new(config, TICK).expect("tests");
    let [supply, first, second, found, shown] = story(0.6, 10, |time| {
        let [one, other] = block.set_points();
        let rail = if block.supply_on() { 12.0 } else { 0.0 };
        // The plug of the second coil is off.
        let shown = block.step(time > 0.05, volts(rail), &[one, Milliamps::ZERO]);
        let [_, open] = block.open_coils();
        [level(block.supply_on()), value(one), value(other), level(open), place(shown)]
    });
    Chart {
        tells: "The supply of the coils is seen to go and to come, then a pulse goes through each coil; the second answers with none.",
        along: "time in s",
        panels: vec![
            curves("mA", [output("first", first), other_output("second", second)]),
            levels([
                output("supply on", supply),
                output("second open", found),
                state::<StartUpState>("test", shown),
            ]),
        ],
    }
}

fn excess_current() -> Chart {
    let mut block = ExcessCurrent::<1>::new(Milliamps::saturating(150));
    let asked = |time| held(time, &[(0.0, 800.0), (0.3, 400.0), (0.6, 0.0)]);
    let carried = |time| moved(time, &[(0.0, 800.0), (0.3, 800.0), (0.32, 700.0), (0.6, 700.0), (0.65, 0.0)]);
    let [set, current, told] = story(0.8, 10, |time| {
        let report = CoilReport { average_current: milliamps(carried(time)), ..CoilReport::default() };
        [asked(time), carried(time), level(block.step([milliamps(asked(time))], &[report]))]
    });
    Chart {
        tells: "A coil that does not come down with what it is asked for is told, once what was asked for earlier cannot explain it.",
        along: "time in s",
        panels: vec![
            curves("mA", [input("asked", set), other_input("carried", current)]),
            levels([output("excess", told)]),
        ],
    }
}
