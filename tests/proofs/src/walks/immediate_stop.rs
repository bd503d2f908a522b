//! Everything to zero in the same step, and nothing back by itself.

use trunnion::guard::{ImmediateStop, ImmediateStopConfig, StopState};
use trunnion::quantity::Ratio;
use trunnion::sense::{Flaw, Reading};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    shortest: u32,
    longest: u32,
}

/// The cause, and the button of the reset.
type Inputs = (Reading<bool>, Reading<bool>);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    cleared: bool,
    /// The button was seen released since the last cause and since it last had no reading.
    released: bool,
    /// Pressed since then, without a break.
    pressed: Run,
}

/// A press of the right length has just been let go of.
fn resets(now: &Moment<'_, Rules>) -> bool {
    let pressed = now.before.pressed.steps();
    now.before.released
        && now.input.1 == Reading::Valid(false)
        && (now.rules.shortest..=now.rules.longest).contains(&pressed)
}

fn is_caused(now: &Moment<'_, Rules>) -> bool {
    now.input.0 != Reading::Valid(false)
}

impl Walked for Rules {
    type Block = ImmediateStop;
    type Input = Inputs;
    /// The state, and what passes of a full command.
    type Output = (StopState, Ratio);
    type Memory = Memory;

    fn block(&self) -> ImmediateStop {
        let config =
            ImmediateStopConfig { shortest_press: ticks(self.shortest), longest_press: ticks(self.longest) };
        ImmediateStop::new(config, TICK).expect("presses in range")
    }

    fn inputs(&self) -> Vec<Inputs> {
        let readings = [Reading::Valid(false), Reading::Valid(true), Reading::Faulted(Flaw::WireBreak)];
        readings.into_iter().flat_map(|cause| readings.map(|button| (cause, button))).collect()
    }

    fn step(block: &mut ImmediateStop, (cause, button): Inputs) -> (StopState, Ratio) {
        (block.step(cause, button), block.pass(Ratio::ONE))
    }

    fn remember(&self, memory: &mut Memory, (cause, button): Inputs, (state, _): (StopState, Ratio)) {
        memory.cleared = state == StopState::Cleared;
        if cause != Reading::Valid(false) || memory.cleared {
            // A press counts from the next cause's end on.
            (memory.released, memory.pressed) = (false, Run::default());
            return;
        }
        match button {
            Reading::Valid(false) => memory.released = true,
            Reading::Valid(true) => {}
            Reading::Faulted(_) => memory.released = false,
        }
        memory.pressed.note(memory.released && button == Reading::Valid(true));
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use StopState::{Cleared, MustReset, Stopped};
        vec![
            always("a cause, or one without a reading, stops in the same step", |now| {
                (now.output.0 == Stopped) == is_caused(now)
            }),
            always("nothing passes unless it is cleared, and then all", |now| {
                now.output.1 == if now.output.0 == Cleared { Ratio::ONE } else { Ratio::ZERO }
            }),
            always("it is cleared only by a press of the right length that was let go of", |now| {
                now.output.0 != Cleared || now.before.cleared || resets(now)
            }),
            always("such a press clears it", |now| is_caused(now) || !resets(now) || now.output.0 == Cleared),
            always("cleared it stays until the next cause", |now| {
                !now.before.cleared || is_caused(now) || now.output.0 == Cleared
            }),
            sometimes("it is cleared", |now| now.output.0 == Cleared),
            sometimes("a press that is too long does not clear it", |now| {
                now.before.pressed.steps() > now.rules.longest
                    && now.input.1 == Reading::Valid(false)
                    && now.output.0 == MustReset
            }),
            planted("pressing is enough", |now| {
                is_caused(now) || now.after.pressed.steps() < now.rules.shortest || now.output.0 == Cleared
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "shortest and longest press: 1 and 2, 1 and 4, 2 and 3, 3 and 6 steps";
    entry::<Rules>("immediate_stop", "guard/immediate_stop", family_of, |bench| {
        let presses = [(1, 2), (1, 4), (2, 3), (3, 6)];
        family(bench, "immediate_stop", &presses.map(|(shortest, longest)| Rules { shortest, longest }))
    })
}
