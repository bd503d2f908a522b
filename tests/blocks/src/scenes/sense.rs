//! Wires and what is read from them.

use trunnion::quantity::{Celsius, Centiohms, Kilopascals, Millivolts, Ratio, Rpm, SignalPeriod};
use trunnion::sense::{
    Changeover, ChangeoverConfig, CurrentLoopSensor, CurrentLoopSensorConfig, Debounce, DebounceConfig,
    DualContact, DualContactConfig, Freshness, FreshnessConfig, FreshnessState, Health, LookupTable,
    LoopBands, LowPass, LowPassConfig, MedianOfThree, PairValue, PeriodSpeed, PeriodSpeedConfig, PulseSpeed,
    PulseSpeedConfig, RatiometricSensor, RatiometricSensorConfig, Reading, RedundantPair,
    RedundantPairConfig, Span, SpeedComparison, SpeedComparisonConfig, TurnDirection, TwoPhaseDirection,
    TwoPhaseDirectionConfig,
};

use super::{TICK, millis, permille};
use crate::chart::{
    Chart, curves, held, input, level, levels, moved, on, other_input, output, percent, place, quantity,
    ratio, read, state, story, sweep, value,
};

pub fn scenes() -> Vec<(&'static str, Chart)> {
    vec![
        ("RatiometricSensor", ratiometric()),
        ("CurrentLoopSensor", current_loop()),
        ("RedundantPair", redundant_pair()),
        ("LookupTable", lookup_table()),
        ("Span", span()),
        ("PulseSpeed", pulse_speed()),
        ("PeriodSpeed", period_speed()),
        ("SpeedComparison", speed_comparison()),
        ("TwoPhaseDirection", two_phase()),
        ("Debounce", debounce()),
        ("DualContact", dual_contact()),
        ("Changeover", changeover()),
        ("LowPass", low_pass()),
        ("MedianOfThree", median()),
        ("Freshness", freshness()),
    ]
}

fn share(reading: Reading<Ratio>) -> f64 {
    reading.valid().map_or(f64::NAN, percent)
}

fn volts(volts: f64) -> Millivolts {
    Millivolts::saturating((volts * 1_000.0).round() as i64)
}

fn ratiometric() -> Chart {
    let config = RatiometricSensorConfig {
        low_fault: permille(40),
        low: permille(100),
        high: permille(900),
        high_fault: permille(960),
        supply_low: volts(4.75),
        supply_high: volts(5.25),
    };
    let sensor = RatiometricSensor::new(config).expect("bands");
    let [reading, health] = sweep(0.0, 5.0, 500, |signal| {
        let reading = sensor.step(volts(signal), volts(5.0));
        [share(reading), place(reading.health())]
    });
    Chart {
        tells: "From 0.5 V to 4.5 V of a 5 V supply the share goes from 0 to 100 %; below 0.2 V the wire is broken, above 4.8 V it is shorted.",
        along: "signal in V",
        panels: vec![curves("%", [output("share", reading)]), levels([state::<Health>("health", health)])],
    }
}

fn current_loop() -> Chart {
    let shunt = Centiohms::new(25_000).expect("a shunt");
    let config = CurrentLoopSensorConfig { shunt, bands: LoopBands::NAMUR_NE_43 };
    let sensor = CurrentLoopSensor::new(config).expect("bands");
    let [reading, health] = sweep(0.0, 22.0, 880, |milliamps| {
        let reading = sensor.step(volts(milliamps / 4.0));
        [share(reading), place(reading.health())]
    });
    Chart {
        tells: "From 4 mA to 20 mA the share goes from 0 to 100 %; at 3.6 mA and below the wire is broken, at 21 mA and above it is shorted.",
        along: "loop current in mA",
        panels: vec![curves("%", [output("share", reading)]), levels([state::<Health>("health", health)])],
    }
}

fn redundant_pair() -> Chart {
    let config =
        RedundantPairConfig { tolerance: ratio(5.0), disagree_after: millis(200), value: PairValue::Lower };
    let mut pair = RedundantPair::new(config, TICK).expect("a tolerance");
    let one = |time| moved(time, &[(0.0, 20.0), (0.8, 70.0), (1.6, 70.0), (2.4, 40.0)]);
    let other = |time| if time < 1.2 { one(time) - 2.0 } else { 45.0 };
    let [first, second, given] = story(3.0, 10, |time| {
        let reading = pair.step(Reading::Valid(ratio(one(time))), Reading::Valid(ratio(other(time))));
        [one(time), other(time), share(reading)]
    });
    Chart {
        tells: "The lower of two readings passes while they agree within 5 %; after 200 ms apart there is none.",
        along: "time in s",
        panels: vec![curves(
            "%",
            [input("one", first), other_input("other", second), output("reading", given)],
        )],
    }
}

fn lookup_table() -> Chart {
    let point = |ohms: f64, degrees: f64| (quantity::<Centiohms>(ohms), quantity::<Celsius>(degrees));
    // Pt100 to IEC 60751.
    let points = [point(100.0, 0.0), point(119.4, 50.0), point(138.51, 100.0)];
    let table = LookupTable::new(points).expect("a characteristic");
    let [degrees] = sweep(90.0, 150.0, 240, |ohms| [value(table.step(quantity(ohms)))]);
    Chart {
        tells: "A Pt100 by three points of its standard, straight between them and level beyond them.",
        along: "resistance in Ω",
        panels: vec![curves("°C", [output("temperature", degrees)])],
    }
}

fn span() -> Chart {
    let span = Span::new(Kilopascals::ZERO, Kilopascals::new(6_000).expect("a pressure"));
    let [pressure] = sweep(-20.0, 100.0, 240, |share| [value(span.at(ratio(share)))]);
    Chart {
        tells: "A straight line from 0 kPa at share 0 to 6000 kPa at share 100 %; shares below zero count as zero.",
        along: "share in %",
        panels: vec![curves("kPa", [output("pressure", pressure)])],
    }
}

/// Turns a wheel: the number of its edges, and the time of the last one in microseconds.
struct Wheel {
    teeth: f64,
    turned: f64,
    micros: f64,
}

impl Wheel {
    /// Ten milliseconds at a speed in rpm.
    fn turn(&mut self, rpm: f64) -> (u16, u32) {
        let teeth_a_microsecond = rpm / 60.0 * self.teeth / 1e6;
        self.turned += teeth_a_microsecond * 10_000.0;
        self.micros += 10_000.0;
        let past = if rpm > 0.0 { self.turned.fract() / teeth_a_microsecond } else { 0.0 };
        (self.turned as u16, (self.micros - past) as u32)
    }
}

fn pulse_speed() -> Chart {
    let config =
        PulseSpeedConfig { teeth: 12, zero_speed_after: millis(400), fastest: Rpm::from_whole(3_500) };
    let mut block = PulseSpeed::new(config, TICK).expect("a wheel");
    let mut wheel = Wheel { teeth: 12.0, turned: 0.0, micros: 0.0 };
    let rpm = |time| moved(time, &[(0.0, 0.0), (0.2, 0.0), (0.9, 600.0), (1.5, 600.0), (1.51, 0.0)]);
    let mut last = (0, 0);
    let [turns, speed] = story(2.3, 10, |time| {
        if rpm(time) > 0.0 {
            last = wheel.turn(rpm(time));
        }
        [rpm(time), read(block.step(last.0, last.1))]
    });
    Chart {
        tells: "The reading follows a wheel of 12 teeth; when the wheel stops at once the reading falls as one tooth in the time waited, and is zero after 400 ms.",
        along: "time in s",
        panels: vec![curves("rpm", [input("wheel", turns), output("reading", speed)])],
    }
}

fn period_speed() -> Chart {
    let config = PeriodSpeedConfig {
        teeth: 60,
        zero_speed_after: millis(400),
        fastest: Rpm::from_whole(600),
        glitches: 2,
    };
    let mut block = PeriodSpeed::new(config, TICK).expect("a wheel");
    let rpm = |time| moved(time, &[(0.0, 100.0), (0.6, 400.0), (1.4, 400.0), (1.41, 0.0)]);
    let [turns, spark, speed] = story(2.2, 10, |time| {
        let spark = on(time, &[(0.8, 0.82), (1.0, 1.08)]);
        let tooth = SignalPeriod::from_micros((1e6 / rpm(time).max(1.0)) as u32);
        let captured =
            if spark { Some(SignalPeriod::from_micros(50)) } else { (rpm(time) > 0.0).then_some(tooth) };
        [rpm(time), level(spark), read(block.step(captured))]
    });
    Chart {
        tells: "Two sparks one behind the other are passed over; a third faults the reading until a possible period comes. A wheel that stops reads zero after 400 ms.",
        along: "time in s",
        panels: vec![
            curves("rpm", [input("wheel", turns), output("reading", speed)]),
            levels([input("sparks", spark)]),
        ],
    }
}

fn speed_comparison() -> Chart {
    let config = SpeedComparisonConfig { tolerance: Rpm::from_whole(150), disagree_after: millis(300) };
    let mut block = SpeedComparison::new(config, TICK).expect("a tolerance");
    let one = |time| moved(time, &[(0.0, 1_000.0), (0.5, 1_800.0)]);
    let other = |time| {
        held(
            time,
            &[(0.0, 1_000.0), (0.25, 1_400.0), (0.5, 1_780.0), (1.2, 0.0), (1.4, 1_790.0), (2.0, 1_500.0)],
        )
    };
    let [first, second, differ] = story(3.0, 10, |time| {
        let (a, b) = (Rpm::saturating((one(time) * 8.0) as i64), Rpm::saturating((other(time) * 8.0) as i64));
        [one(time), other(time), level(block.step(Reading::Valid(a), Reading::Valid(b)))]
    });
    Chart {
        tells: "Two speeds may be apart by more than 150 rpm for a moment; after 300 ms they disagree.",
        along: "time in s",
        panels: vec![
            curves("rpm", [input("pickup", first), other_input("bus", second)]),
            levels([output("disagree", differ)]),
        ],
    }
}

fn two_phase() -> Chart {
    let mut block =
        TwoPhaseDirection::new(TwoPhaseDirectionConfig { confirm: 3, stuck_after: 8 }).expect("rules");
    let [first, second, way] = story(0.6, 10, |time| {
        let angle = moved(time, &[(0.0, 0.0), (0.3, 10.0), (0.6, 0.0)]).floor() as i64;
        let (a, b) = ([1, 2].contains(&angle.rem_euclid(4)), [2, 3].contains(&angle.rem_euclid(4)));
        let turns = block.step(a, b).valid();
        [level(a), level(b), turns.map_or(f64::NAN, |way| level(way == TurnDirection::Forward))]
    });
    Chart {
        tells: "Which of two pulse trains leads tells the way; three edges in a row confirm it, also after the wheel has turned round.",
        along: "time in s",
        panels: vec![levels([input("first", first), other_input("second", second), output("forward", way)])],
    }
}

fn debounce() -> Chart {
    let config = DebounceConfig { set_after: millis(50), clear_after: millis(700) };
    let mut block = Debounce::new(config, TICK).expect("times");
    let [contact, seated] = story(3.0, 10, |time| {
        let closed = on(time, &[(0.2, 0.22), (0.25, 0.27), (0.3, 0.9), (1.3, 1.8)]);
        [level(closed), level(block.step(closed))]
    });
    Chart {
        tells: "A seat contact sets after 50 ms without a bounce and clears only after 700 ms, so that rough ground does not count.",
        along: "time in s",
        panels: vec![levels([input("contact", contact), output("seated", seated)])],
    }
}

fn contacts(
    tells: &'static str,
    names: [&'static str; 3],
    one: impl Fn(f64) -> bool,
    other: impl Fn(f64) -> bool,
    mut step: impl FnMut(bool, bool) -> Reading<bool>,
) -> Chart {
    let [first, second, given, health] = story(1.6, 10, |time| {
        let reading = step(one(time), other(time));
        [level(one(time)), level(other(time)), read(reading), place(reading.health())]
    });
    let [first_name, second_name, given_name] = names;
    Chart {
        tells,
        along: "time in s",
        panels: vec![levels([
            input(first_name, first),
            other_input(second_name, second),
            output(given_name, given),
            state::<Health>("health", health),
        ])],
    }
}

fn dual_contact() -> Chart {
    let mut block =
        DualContact::new(DualContactConfig { disagree_after: millis(100) }, TICK).expect("a time");
    contacts(
        "Make and break contact of one switch: pressed at 0.3 s. At 0.9 s the wire of the make contact breaks, and after 100 ms there is no reading.",
        ["make contact", "break contact", "pressed"],
        |time| on(time, &[(0.32, 0.6), (1.3, 1.6)]),
        |time| on(time, &[(0.0, 0.3), (0.62, 0.9), (1.3, 1.3)]),
        |one, other| block.step(one, other),
    )
}

fn changeover() -> Chart {
    let mut block = Changeover::new(ChangeoverConfig { disagree_after: millis(200) }, TICK).expect("a time");
    contacts(
        "A rocker goes from its first to its second contact; while it is between them the old one counts, for at most 200 ms.",
        ["first contact", "second contact", "second"],
        |time| on(time, &[(0.0, 0.4)]),
        |time| on(time, &[(0.5, 1.1)]),
        |one, other| block.step(one, other),
    )
}

fn low_pass() -> Chart {
    let mut block =
        LowPass::new(LowPassConfig { time_constant: millis(200) }, TICK).expect("a time constant");
    let degrees = |time: f64| {
        let noise = [0.0, 2.0, -1.5, 1.0, -2.0, 1.5, -1.0][(time * 100.0).round() as usize % 7];
        held(time, &[(0.0, 40.0), (0.3, 60.0)]) + noise
    };
    let [measured, smooth] =
        story(1.6, 10, |time| [degrees(time), value::<Celsius>(block.step(quantity(degrees(time))))]);
    Chart {
        tells: "A noisy step is followed with a time constant of 200 ms: 63 % of the way after it.",
        along: "time in s",
        panels: vec![curves("°C", [input("measured", measured), output("smoothed", smooth)])],
    }
}

fn median() -> Chart {
    let mut block = MedianOfThree::<Millivolts>::new();
    let supply = |time: f64| {
        let outlier = held(time, &[(0.0, 0.0), (0.1, -9.0), (0.11, 0.0), (0.25, 4.0), (0.26, 0.0)]);
        moved(time, &[(0.0, 12.6), (0.18, 12.6), (0.19, 11.4)]) + outlier
    };
    let [measured, passed] =
        story(0.4, 10, |time| [supply(time), value(block.step(volts(supply(time)))) / 1_000.0]);
    Chart {
        tells: "Single outliers vanish; a step passes one sample later.",
        along: "time in s",
        panels: vec![curves("V", [input("measured", measured), output("median", passed)])],
    }
}

fn freshness() -> Chart {
    let config = FreshnessConfig { time_out: millis(60), start_up: millis(500) };
    let mut block = Freshness::new(config, TICK).expect("times");
    let [frames, health] = story(1.4, 10, |time| {
        let tick = (time * 100.0).round() as u32;
        let frame = tick.is_multiple_of(2) && on(time, &[(0.2, 0.8), (1.1, 1.4)]);
        [level(frame), place(block.step(frame))]
    });
    Chart {
        tells: "Waiting until the first valid frame, fresh while they come, lost 60 ms after the last one.",
        along: "time in s",
        panels: vec![levels([input("valid frames", frames), state::<FreshnessState>("state", health)])],
    }
}
