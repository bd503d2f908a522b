//! Conditions, faults and what the lamp shows.

use trunnion::declare::{FaultSet, Latch, Reactions};
use trunnion::fault::{BlinkCode, BlinkCodeConfig, FaultLog, FaultTable};

use super::{TICK, millis};
use crate::chart::{Chart, curves, input, level, levels, on, other_input, output, story};

trunnion::faults! {
    /// What the scenes raise.
    pub enum Fault {
        /// The travel lever is not heard. Check its plug and the bus.
        TravelLeverLost: spn 2661, fmi 9, set 100, clear 300, Latch::UntilNeutral, Reactions(1), blink 11, "travel lever, X9";
    }
}

pub fn scenes() -> Vec<(&'static str, Chart)> {
    vec![("FaultTable", table()), ("FaultLog", log()), ("BlinkCode", blink())]
}

fn lost(time: f64) -> bool {
    on(time, &[(0.2, 0.26), (0.5, 1.0), (2.2, 2.6)])
}

fn table() -> Chart {
    let mut table = FaultTable::<Fault, { Fault::COUNT }>::new(TICK);
    let [condition, neutral, active, reaction] = story(3.6, 10, |time| {
        let neutral = on(time, &[(0.0, 0.4), (1.7, 2.1), (2.5, 3.6)]);
        table.step(&[lost(time)], neutral);
        [
            level(lost(time)),
            level(neutral),
            level(table.is_active(Fault::TravelLeverLost)),
            level(table.reactions().has(Reactions(1))),
        ]
    });
    Chart {
        tells: "A condition of 60 ms is passed over; one that lasts 100 ms sets the fault. It clears after 300 ms without it, and only with the levers neutral.",
        along: "time in s",
        panels: vec![levels([
            input("condition", condition),
            other_input("levers neutral", neutral),
            output("fault active", active),
            output("reaction", reaction),
        ])],
    }
}

fn log() -> Chart {
    let mut table = FaultTable::<Fault, { Fault::COUNT }>::new(TICK);
    let mut log = FaultLog::<{ Fault::COUNT }>::new();
    let mut now = 0;
    let [active, last, count] = story(3.6, 10, |time| {
        table.step(&[lost(time)], true);
        log.step(&table, now);
        now += 1;
        let entry = log.entry(Fault::TravelLeverLost.place());
        [
            level(table.is_active(Fault::TravelLeverLost)),
            f64::from(entry.last) / 100.0,
            f64::from(entry.count),
        ]
    });
    Chart {
        tells: "Each time the fault is set its count grows by one and the time of the last one is kept.",
        along: "time in s",
        panels: vec![
            curves("s, times", [input("last seen", last), output("count", count)]),
            levels([input("fault active", active)]),
        ],
    }
}

fn blink() -> Chart {
    let config = BlinkCodeConfig { on: millis(250), off: millis(250), pause: millis(1_500) };
    let mut lamp = BlinkCode::new(config, TICK).expect("times");
    let [shown] = story(12.0, 10, |time| [level(lamp.step(if time < 8.0 { 23 } else { 0 }))]);
    Chart {
        tells: "Code 23: two long blinks, three short ones, a pause, and again.",
        along: "time in s",
        panels: vec![levels([output("lamp", shown)])],
    }
}
