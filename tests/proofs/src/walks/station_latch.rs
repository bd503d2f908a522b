//! Two operator's stations, of which one commands.

use trunnion::guard::{StationLatch, StationLatchConfig, StationLatchInputs, StationState};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    hold: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    in_command: Option<u8>,
    /// For how long each station alone could have taken over.
    free: [Run; 2],
}

/// The station that alone is claimed.
fn lone(input: &StationLatchInputs<2>) -> Option<u8> {
    match input.claimed {
        [true, false] => Some(0),
        [false, true] => Some(1),
        _ => None,
    }
}

fn is_free(input: &StationLatchInputs<2>, station: u8) -> bool {
    lone(input) == Some(station) && input.neutral == [true; 2] && input.at_rest
}

/// A station that does not command was free to take over for longer than the time.
fn due(now: &Moment<'_, Rules>) -> Option<u8> {
    (0..2).find(|station| {
        now.before.in_command != Some(*station)
            && now.after.free[usize::from(*station)].steps() > now.rules.hold
    })
}

impl Walked for Rules {
    type Block = StationLatch<2>;
    type Input = StationLatchInputs<2>;
    type Output = StationState;
    type Memory = Memory;

    fn block(&self) -> Self::Block {
        StationLatch::new(StationLatchConfig { hold: ticks(self.hold) }, TICK).expect("a time in range")
    }

    fn inputs(&self) -> Vec<Self::Input> {
        (0..32_u8)
            .map(|bits| {
                let bit = |place: u8| bits & (1 << place) != 0;
                StationLatchInputs { claimed: [bit(0), bit(1)], neutral: [bit(2), bit(3)], at_rest: bit(4) }
            })
            .collect()
    }

    fn step(block: &mut Self::Block, input: Self::Input) -> Self::Output {
        block.step(input)
    }

    fn remember(&self, memory: &mut Memory, input: Self::Input, output: Self::Output) {
        for (station, free) in (0..2).zip(&mut memory.free) {
            free.note(is_free(&input, station) && memory.in_command != Some(station));
        }
        memory.in_command = output.in_command;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("a station takes over exactly when it was free to for longer than the time", |now| {
                now.output.changed == due(now).is_some()
                    && (!now.output.changed || now.output.in_command == due(now))
            }),
            always("without a take-over the command stays where it is", |now| {
                now.output.changed || now.output.in_command == now.before.in_command
            }),
            always("a lone claim either commands or waits, and nothing else waits", |now| {
                let waits = lone(&now.input).filter(|station| now.output.in_command != Some(*station));
                now.output.waiting == waits
            }),
            sometimes("a first station takes over", |now| {
                now.before.in_command.is_none() && now.output.changed
            }),
            sometimes("the command passes to the other station", |now| {
                now.before.in_command.is_some() && now.output.changed
            }),
            sometimes("a station waits for a lever that is held", |now| {
                now.output.waiting.is_some() && now.input.neutral != [true; 2]
            }),
            sometimes("a passenger takes nothing over", |now| {
                now.input.claimed == [true; 2] && now.before.in_command.is_some()
            }),
            planted("a station that is left loses the command", |now| {
                now.output.in_command.is_none_or(|station| now.input.claimed[usize::from(station)])
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("station_latch", "guard/station_latch", "two stations, 1 to 4 steps", |bench| {
        family(bench, "station_latch", &[1, 2, 3, 4].map(|hold| Rules { hold }))
    })
}
