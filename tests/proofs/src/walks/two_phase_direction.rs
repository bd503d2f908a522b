//! Direction by two pulse trains a quarter apart.

use trunnion::sense::{Flaw, Reading, TurnDirection, TwoPhaseDirection, TwoPhaseDirectionConfig};

use super::entry;
use crate::proof::Proof;
use crate::walk::{Merge, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    confirm: u8,
    stuck_after: u8,
}

/// The phases in the order in which forward goes through them.
const FORWARD: [(bool, bool); 4] = [(false, false), (true, false), (true, true), (false, true)];

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    phases: Option<(bool, bool)>,
    reading: Option<Reading<TurnDirection>>,
    forward: Run,
    reverse: Run,
}

/// Edges that a change of the phases is, forward positive; 2 for both at once.
fn edges(before: Option<(bool, bool)>, now: (bool, bool)) -> i32 {
    let place = |phases| FORWARD.iter().position(|known| *known == phases).unwrap_or(0) as i32;
    match before {
        None => 0,
        Some(before) => match (place(now) - place(before)).rem_euclid(4) {
            3 => -1,
            forward => forward,
        },
    }
}

impl Walked for Rules {
    type Block = TwoPhaseDirection;
    type Input = (bool, bool);
    /// The reading, and how far the position went.
    type Output = (Reading<TurnDirection>, i32);
    type Memory = Memory;
    // The position is told by its differences, which are part of the output; runs of edges matter up to `confirm`.
    const MERGE: Merge = Merge { positions: true, bytes_above: 12, ..Merge::COUNTS };

    fn block(&self) -> TwoPhaseDirection {
        let config = TwoPhaseDirectionConfig { confirm: self.confirm, stuck_after: self.stuck_after };
        TwoPhaseDirection::new(config).expect("numbers in range")
    }

    fn inputs(&self) -> Vec<(bool, bool)> {
        FORWARD.to_vec()
    }

    fn step(block: &mut TwoPhaseDirection, (first, second): (bool, bool)) -> Self::Output {
        let before = block.edges();
        let reading = block.step(first, second);
        (reading, block.edges().wrapping_sub(before))
    }

    fn remember(&self, memory: &mut Memory, phases: (bool, bool), (reading, _): Self::Output) {
        match edges(memory.phases, phases) {
            1 => {
                memory.forward.note(true);
                memory.reverse.note(false);
            }
            -1 => {
                memory.forward.note(false);
                memory.reverse.note(true);
            }
            2 => (memory.forward, memory.reverse) = Default::default(),
            _ => {}
        }
        memory.phases = Some(phases);
        memory.reading = Some(reading);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use TurnDirection::{Forward, Reverse};
        vec![
            always("the position follows every edge, and only edges", |now| {
                let edges = edges(now.before.phases, now.input);
                now.output.1 == if edges == 2 { 0 } else { edges }
            }),
            always("enough edges forward are forward, enough in reverse are reverse", |now| {
                let enough = |run: Run| run.steps() >= u32::from(now.rules.confirm);
                (!enough(now.after.forward) || now.output.0 == Reading::Valid(Forward))
                    && (!enough(now.after.reverse) || now.output.0 == Reading::Valid(Reverse))
            }),
            always("fewer never make a direction", |now| {
                let begins = now.output.0.is_valid() && now.before.reading != Some(now.output.0);
                let run = now.after.forward.steps().max(now.after.reverse.steps());
                !begins || run >= u32::from(now.rules.confirm)
            }),
            always("both phases at once are too fast", |now| {
                edges(now.before.phases, now.input) != 2 || now.output.0 == Reading::Faulted(Flaw::TooFast)
            }),
            always("while no edge comes the reading stays", |now| {
                edges(now.before.phases, now.input) != 0
                    || now.before.reading.is_none_or(|before| before == now.output.0)
            }),
            always("before the first edge it is silent", |now| {
                now.before.phases.is_some() || now.output.0 == Reading::Faulted(Flaw::Silent)
            }),
            sometimes("forward", |now| now.output.0 == Reading::Valid(Forward)),
            sometimes("reverse right after forward", |now| {
                now.output.0 == Reading::Valid(Reverse) && now.before.reading == Some(Reading::Valid(Forward))
            }),
            sometimes("a dead phase is told", |now| now.output.0 == Reading::Faulted(Flaw::Disagreement)),
            planted("a direction takes one edge more", |now| {
                let begins = now.output.0.is_valid() && now.before.reading != Some(now.output.0);
                let run = now.after.forward.steps().max(now.after.reverse.steps());
                !begins || run > u32::from(now.rules.confirm)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "2 to 4 edges to confirm, stuck after 4 to 6 edges to and fro, each with each";
    entry::<Rules>("two_phase_direction", "sense/two_phase_direction", family_of, |bench| {
        let rules: Vec<Rules> = (2..5)
            .flat_map(|confirm| (4..7).map(move |stuck_after| Rules { confirm, stuck_after }))
            .collect();
        family(bench, "two_phase_direction", &rules)
    })
}
