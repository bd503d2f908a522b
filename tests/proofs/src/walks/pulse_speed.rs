//! Speed from edges: standstill, the first edge, and the bound while no edge comes.

use trunnion::quantity::Rpm;
use trunnion::sense::{Flaw, PulseSpeed, PulseSpeedConfig, Reading};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Merge, Requirement, Run, Walked, always, family, planted, sometimes};

const TEETH: u16 = 60;
/// A wheel of 60 teeth that passes one in 100 ms turns with 10 rpm.
const ONE_TOOTH_A_STEP: i32 = 10 * 8;

#[derive(Debug, Clone, Copy)]
struct Rules {
    zero_speed: u32,
}

/// Edges since the last step, and the time from the last edge before to the last one now.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Wheel {
    NoEdge,
    /// One tooth in this many microseconds.
    Edge(u32),
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    /// The counter was read at least once.
    read: bool,
    /// Edges were seen since the wheel last stood, at most two.
    edges: u8,
    silent: Run,
    reading: Option<Reading<Rpm>>,
}

/// The block and the free-running hardware before it.
type Pickup = (PulseSpeed, u16, u32);

impl Walked for Rules {
    type Block = Pickup;
    type Input = Wheel;
    type Output = Reading<Rpm>;
    type Memory = Memory;
    // Counter and stamp of the hardware count by their differences; the block keeps the last of each.
    const MERGE: Merge = Merge { stamps: true, ..Merge::COUNTS };

    fn block(&self) -> Pickup {
        let config = PulseSpeedConfig {
            teeth: TEETH,
            zero_speed_after: ticks(self.zero_speed),
            fastest: Rpm::from_whole(3_000),
        };
        // Just below their wraps, so that the walk goes through both.
        (PulseSpeed::new(config, TICK).expect("a wheel in range"), u16::MAX - 1, u32::MAX - 250_000)
    }

    fn inputs(&self) -> Vec<Wheel> {
        // 10 rpm, 100 rpm, 3000 rpm to an eighth, and beyond it; edges in no time.
        vec![
            Wheel::NoEdge,
            Wheel::Edge(100_000),
            Wheel::Edge(10_000),
            Wheel::Edge(334),
            Wheel::Edge(330),
            Wheel::Edge(0),
        ]
    }

    fn step((speed, edges, stamp): &mut Pickup, wheel: Wheel) -> Reading<Rpm> {
        if let Wheel::Edge(micros) = wheel {
            *edges = edges.wrapping_add(1);
            *stamp = stamp.wrapping_add(micros);
        }
        speed.step(*edges, *stamp)
    }

    fn remember(&self, memory: &mut Memory, wheel: Wheel, output: Reading<Rpm>) {
        if !memory.read {
            memory.read = true;
        } else if wheel == Wheel::NoEdge {
            memory.silent.note(memory.edges > 0);
            if memory.silent.steps() >= self.zero_speed {
                memory.edges = 0;
                memory.silent.note(false);
            }
        } else {
            memory.edges = (memory.edges + 1).min(2);
            memory.silent.note(false);
        }
        memory.reading = Some(output);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("from the second edge on it is 60 · f / z to the nearest eighth, or too fast", |now| {
                let Wheel::Edge(micros) = now.input else { return true };
                if now.after.edges < 2 {
                    return true;
                }
                let exact = 480_000_000.0 / f64::from(TEETH) / f64::from(micros);
                if exact.round() > f64::from(Rpm::from_whole(3_000).raw()) {
                    now.output == Reading::Faulted(Flaw::TooFast)
                } else {
                    now.output == Reading::Valid(Rpm::saturating(exact.round() as i64))
                }
            }),
            always("without an edge for the time it stands", |now| {
                now.after.edges > 0 || now.input != Wheel::NoEdge || now.output == Reading::Valid(Rpm::ZERO)
            }),
            always("the first edge after standstill shows no speed", |now| {
                now.after.edges != 1 || now.input == Wheel::NoEdge || now.output == Reading::Valid(Rpm::ZERO)
            }),
            always("while no edge comes the speed never rises", |now| {
                let (Some(Reading::Valid(before)), Reading::Valid(now_valid)) =
                    (now.before.reading, now.output)
                else {
                    return true;
                };
                now.input != Wheel::NoEdge || now_valid <= before
            }),
            always("and is at most one tooth in the time waited", |now| {
                let silent = now.after.silent.steps() as i32;
                let bound = if silent == 0 { i32::MAX } else { (ONE_TOOTH_A_STEP + silent / 2) / silent };
                now.input != Wheel::NoEdge || now.output.valid().is_none_or(|speed| speed.raw() <= bound)
            }),
            sometimes("it turns", |now| now.output.valid().is_some_and(|speed| speed > Rpm::ZERO)),
            sometimes("it stands again after it turned", |now| {
                now.before.edges == 2 && now.output == Reading::Valid(Rpm::ZERO)
            }),
            sometimes("it is too fast", |now| now.output == Reading::Faulted(Flaw::TooFast)),
            planted("the first edge shows a speed", |now| {
                now.after.edges == 0 || now.output != Reading::Valid(Rpm::ZERO)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>(
        "pulse_speed_states",
        "sense/pulse_speed",
        "zero speed after 1 to 4 steps, 60 teeth",
        |bench| family(bench, "pulse_speed_states", &[1, 2, 3, 4].map(|zero_speed| Rules { zero_speed })),
    )
}
