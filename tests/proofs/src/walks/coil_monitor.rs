//! Watches whether a coil carries the current that it was told to.

use trunnion::quantity::{Centiohms, Duty, Milliamps, Millivolts, Permille};
use trunnion::valve::{CoilConditions, CoilMonitor, CoilMonitorConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Merge, Moment, Requirement, Walked, always, family, planted, sometimes};

/// 10 Ω at 9 V: 66.67 % is 600 mA, full duty 900 mA.
const RESISTANCE: i64 = 1_000;
const SUPPLY: i64 = 9_000;
const SET: u16 = 600;
const DUTY_OF_SET: u16 = 6_667;
const FULL: u16 = 10_000;

#[derive(Debug, Clone, Copy)]
struct Rules {
    averaging: u32,
    blanking: u32,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Inputs {
    set: u16,
    measured: u16,
    duty: u16,
}

/// What is wrong, or nothing, as it was meant.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
enum Meant {
    #[default]
    Nothing,
    Open,
    Short,
    Unreachable,
    Stray,
    Off,
    Mixed,
}

fn meant(inputs: Inputs) -> Meant {
    match (inputs.set, inputs.measured, inputs.duty) {
        (SET, SET, DUTY_OF_SET) => Meant::Nothing,
        (SET, 0, DUTY_OF_SET) => Meant::Open,
        (SET, 1_500, DUTY_OF_SET) => Meant::Short,
        (SET, 450, FULL) => Meant::Unreachable,
        (0, 450 | SET | 1_500, 0) => Meant::Stray,
        (0, 0, 0) => Meant::Off,
        _ => Meant::Mixed,
    }
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    meant: Meant,
    /// Steps for which the same was meant, up to 15.
    lasted: u32,
    /// Steps for which nothing was asked, up to 15.
    nothing_asked: u32,
}

/// What is told, whether the reading is not believed, and the time within which all is told.
type Answer = (CoilConditions, bool, u32);

fn lasted(now: &Moment<'_, Rules>, what: Meant) -> bool {
    now.after.meant == what && now.after.lasted >= now.output.2
}

impl Walked for Rules {
    type Block = CoilMonitor;
    type Input = Inputs;
    type Output = Answer;
    type Memory = Memory;
    const MERGE: Merge = Merge::NOTHING;

    fn block(&self) -> CoilMonitor {
        let config = CoilMonitorConfig {
            resistance: Centiohms::saturating(RESISTANCE),
            blanking: ticks(self.blanking),
            averaging: ticks(self.averaging),
            tolerance: Permille::saturating(100),
            offset: Milliamps::saturating(50),
            stray: Milliamps::saturating(60),
        };
        CoilMonitor::new(config, TICK).expect("values in range")
    }

    fn inputs(&self) -> Vec<Inputs> {
        let mut inputs = Vec::new();
        for set in [0, SET] {
            for measured in [0, 450, SET, 1_500] {
                for duty in [0, DUTY_OF_SET, FULL] {
                    inputs.push(Inputs { set, measured, duty });
                }
            }
        }
        inputs
    }

    fn step(monitor: &mut CoilMonitor, Inputs { set, measured, duty }: Inputs) -> Answer {
        let [set, measured] = [set, measured].map(|raw| Milliamps::saturating(raw.into()));
        let (duty, supply) = (Duty::saturating(duty.into()), Millivolts::saturating(SUPPLY));
        let conditions = monitor.step(set, measured, duty, supply);
        (conditions, monitor.is_blind(), monitor.detection_steps())
    }

    fn remember(&self, memory: &mut Memory, inputs: Inputs, _: Answer) {
        let now = meant(inputs);
        memory.lasted = if now == memory.meant { (memory.lasted + 1).min(15) } else { 1 };
        memory.meant = now;
        memory.nothing_asked = if inputs.set == 0 { (memory.nothing_asked + 1).min(15) } else { 0 };
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("an open coil is told as that within the detection time", |now| {
                let expected = CoilConditions { open: true, ..CoilConditions::NONE };
                !lasted(now, Meant::Open) || now.output.0 == expected
            }),
            always("so is a short", |now| {
                let expected = CoilConditions { short: true, ..CoilConditions::NONE };
                !lasted(now, Meant::Short) || now.output.0 == expected
            }),
            always("so is a current that the supply cannot reach", |now| {
                let expected = CoilConditions { unreachable: true, ..CoilConditions::NONE };
                !lasted(now, Meant::Unreachable) || now.output.0 == expected
            }),
            always("so is a current at zero command", |now| {
                let expected = CoilConditions { stray: true, ..CoilConditions::NONE };
                !lasted(now, Meant::Stray) || now.output.0 == expected
            }),
            always("a sound coil that is driven is told nothing of after it", |now| {
                !lasted(now, Meant::Nothing) || (!now.output.0.any() && !now.output.1)
            }),
            always("nor is one that is off", |now| {
                !lasted(now, Meant::Off) || (!now.output.0.any() && !now.output.1)
            }),
            always("a stray current is told only after nothing was asked for a whole average", |now| {
                let comes = now.output.0.stray && now.after.nothing_asked < now.rules.averaging;
                // Between two averages the last verdict stands.
                !comes || now.input.set != 0 || now.before.nothing_asked == 0
            }),
            always("the reading is disbelieved only with an open coil or a deviation", |now| {
                !now.output.1 || now.output.0.open || now.output.0.deviation
            }),
            sometimes("a deviation", |now| now.output.0.deviation),
            sometimes("open", |now| now.output.0.open),
            sometimes("short", |now| now.output.0.short),
            sometimes("unreachable", |now| now.output.0.unreachable),
            sometimes("stray", |now| now.output.0.stray),
            planted("an open coil is told at once", |now| {
                now.after.meant != Meant::Open || now.output.0.open
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "averaging and blanking of 1 or 2 steps, each with each; 10 Ω, 9 V, 600 mA";
    entry::<Rules>("coil_monitor", "valve/coil_monitor", family_of, |bench| {
        let rules = [(1, 1), (1, 2), (2, 1), (2, 2)];
        family(bench, "coil_monitor", &rules.map(|(averaging, blanking)| Rules { averaging, blanking }))
    })
}
