//! Levels, and what becomes of them in time.

use trunnion::quantity::Kilopascals;
use trunnion::timing::{
    FallingEdge, Flasher, FlasherConfig, HourMeter, Hysteresis, HysteresisConfig, OffDelay, OffDelayConfig,
    OnDelay, OnDelayConfig, RisingEdge, Seconds, ServiceInterval, ServiceIntervalConfig, ServiceState,
};

use super::{TICK, millis};
use crate::chart::{
    Chart, curves, input, level, levels, moved, on, output, place, quantity, state, story, sweep,
};

pub fn scenes() -> Vec<(&'static str, Chart)> {
    let mut on_delay = OnDelay::new(OnDelayConfig { delay: millis(300) }, TICK).expect("a delay");
    let mut off_delay = OffDelay::new(OffDelayConfig { delay: millis(300) }, TICK).expect("a delay");
    let mut lamp = Flasher::new(FlasherConfig { half: millis(100) }, TICK).expect("a time");
    let (mut rising, mut falling) = (RisingEdge::new(), FallingEdge::new());
    vec![
        (
            "OnDelay",
            two_levels("A level that is on for 0.3 s passes; a shorter one does not.", |level| {
                on_delay.step(level)
            }),
        ),
        (
            "OffDelay",
            two_levels("The output stays on for 0.3 s after the level has gone.", |level| {
                off_delay.step(level)
            }),
        ),
        (
            "RisingEdge",
            two_levels("True in the one step in which the level comes.", |level| rising.step(level)),
        ),
        (
            "FallingEdge",
            two_levels("True in the one step in which the level goes.", |level| falling.step(level)),
        ),
        (
            "Flasher",
            two_levels(
                "While it flashes, a tenth of a second lit and a tenth dark; else lit without a break.",
                |flashing| lamp.step(flashing),
            ),
        ),
        ("Hysteresis", hysteresis()),
        ("HourMeter", hour_meter()),
        ("ServiceInterval", service_interval()),
    ]
}

fn two_levels(tells: &'static str, mut step: impl FnMut(bool) -> bool) -> Chart {
    let [came, gave] = story(2.0, 10, |time| {
        let now = on(time, &[(0.2, 0.4), (0.7, 1.3), (1.45, 1.6)]);
        [level(now), level(step(now))]
    });
    Chart { tells, along: "time in s", panels: vec![levels([input("level", came), output("output", gave)])] }
}

fn hysteresis() -> Chart {
    let config = HysteresisConfig { on_from: quantity::<Kilopascals>(1_200.0), off_to: quantity(1_000.0) };
    let mut block = Hysteresis::new(config).expect("limits");
    let pressure = |time| {
        moved(
            time,
            &[
                (0.0, 900.0),
                (0.6, 1_150.0),
                (0.8, 1_080.0),
                (1.3, 1_300.0),
                (1.9, 1_050.0),
                (2.2, 1_150.0),
                (2.8, 930.0),
            ],
        )
    };
    let [measured, good] =
        story(3.0, 10, |time| [pressure(time), level(block.step(quantity(pressure(time))))]);
    Chart {
        tells: "On from 1200 kPa, off at 1000 kPa, as before in between.",
        along: "time in s",
        panels: vec![curves("kPa", [input("pressure", measured)]), levels([output("output", good)])],
    }
}

fn hour_meter() -> Chart {
    let mut meter = HourMeter::new(Seconds::from_ticks(3_590), TICK);
    let [running, told, total] = story(20.0, 10, |time| {
        let runs = on(time, &[(2.0, 9.0), (12.0, 18.0)]);
        let told = meter.step(runs);
        [level(runs), level(told), f64::from(meter.total().ticks())]
    });
    Chart {
        tells: "The total grows by a second for each second in which the engine runs, and tells each new one.",
        along: "time in s",
        panels: vec![
            curves("s", [output("total", total)]),
            levels([input("running", running), output("new second", told)]),
        ],
    }
}

fn service_interval() -> Chart {
    let hours = |hours: f64| Seconds::from_ticks((hours * 3_600.0) as u32);
    let config = ServiceIntervalConfig { interval: hours(500.0), told_before: hours(50.0) };
    let mut service = ServiceInterval::new(config, hours(0.0)).expect("an interval");
    let [remaining, stands] = sweep(0.0, 1_200.0, 1_200, |total| {
        if total == 520.0 {
            service.done(hours(total));
        }
        [f64::from(service.remaining(hours(total)).ticks()) / 3_600.0, place(service.step(hours(total)))]
    });
    Chart {
        tells: "Every 500 h, told 50 h before. The service is done at 520 h and counts from there.",
        along: "total in h",
        panels: vec![
            curves("h", [output("remaining", remaining)]),
            levels([state::<ServiceState>("state", stands)]),
        ],
    }
}
