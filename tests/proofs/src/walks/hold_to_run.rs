//! It runs while it is held.

use trunnion::guard::{HoldState, HoldToRun, HoldToRunConfig};
use trunnion::sense::{Flaw, Reading};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    longest: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    /// Seen released with permission in the last step.
    released: bool,
    running: Run,
}

impl Walked for Rules {
    type Block = HoldToRun;
    /// Permission, and the control.
    type Input = (bool, Reading<bool>);
    type Output = HoldState;
    type Memory = Memory;

    fn block(&self) -> HoldToRun {
        HoldToRun::new(HoldToRunConfig { longest: ticks(self.longest) }, TICK).expect("a time in range")
    }

    fn inputs(&self) -> Vec<Self::Input> {
        let controls = [Reading::Valid(false), Reading::Valid(true), Reading::Faulted(Flaw::Disagreement)];
        controls.into_iter().flat_map(|held| [(false, held), (true, held)]).collect()
    }

    fn step(block: &mut HoldToRun, (permitted, held): Self::Input) -> HoldState {
        block.step(permitted, held)
    }

    fn remember(&self, memory: &mut Memory, (permitted, held): Self::Input, state: HoldState) {
        memory.released = permitted && held == Reading::Valid(false);
        memory.running.note(state == HoldState::Running);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use HoldState::{MustRelease, Released, Running};
        vec![
            always("it runs only while held, with permission and a valid reading", |now| {
                now.output != Running || now.input == (true, Reading::Valid(true))
            }),
            always("a run begins only with a press that was seen from released, with permission", |now| {
                now.output != Running || now.before.running.steps() > 0 || now.before.released
            }),
            always("no run lasts longer than the limit", |now| {
                now.after.running.steps() <= now.rules.longest
            }),
            always("a run within the limit goes on while it is held", |now| {
                let goes_on =
                    now.before.running.steps() > 0 && now.before.running.steps() < now.rules.longest;
                !goes_on || now.input != (true, Reading::Valid(true)) || now.output == Running
            }),
            always("let go of with permission it is ready", |now| {
                (now.output == Released) == (now.input == (true, Reading::Valid(false)))
            }),
            sometimes("it runs", |now| now.output == Running),
            sometimes("a run ends with its limit", |now| {
                now.before.running.steps() == now.rules.longest
                    && now.input == (true, Reading::Valid(true))
                    && now.output == MustRelease
            }),
            planted("holding it is enough", |now| {
                now.input != (true, Reading::Valid(true)) || now.output == Running
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("hold_to_run", "guard/hold_to_run", "runs of 1 to 4 steps at most", |bench| {
        family(bench, "hold_to_run", &[1, 2, 3, 4].map(|longest| Rules { longest }))
    })
}
