//! Start-up test of the coil supply's cut-off.

use trunnion::guard::{CutOffState, CutOffTest, CutOffTestConfig};
use trunnion::quantity::Millivolts;

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

const LOW: u16 = 2_000;
const HIGH: u16 = 9_000;

#[derive(Debug, Clone, Copy)]
struct Rules {
    settle: u32,
}

/// State and whether the supply is to be on.
type Answer = (CutOffState, bool);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    state: CutOffState,
    on: bool,
    in_state: Run,
    /// The supply was seen off while it was to be off.
    was_off: bool,
}

impl Walked for Rules {
    type Block = CutOffTest;
    type Input = u16;
    type Output = Answer;
    type Memory = Memory;

    fn block(&self) -> CutOffTest {
        let [low, high] = [LOW, HIGH].map(|raw| Millivolts::saturating(raw.into()));
        CutOffTest::new(CutOffTestConfig { settle: ticks(self.settle), low, high }, TICK)
            .expect("rules in range")
    }

    fn inputs(&self) -> Vec<u16> {
        vec![0, LOW, LOW + 1, HIGH - 1, HIGH, u16::MAX]
    }

    fn step(block: &mut CutOffTest, raw: u16) -> Answer {
        let state = block.step(Millivolts::saturating(raw.into()));
        (state, block.supply_on())
    }

    fn remember(&self, memory: &mut Memory, raw: u16, (state, on): Answer) {
        memory.was_off |= !memory.on && raw <= LOW;
        if state == memory.state {
            memory.in_state.note(true);
        } else {
            memory.in_state = Run::default();
        }
        memory.state = state;
        memory.on = on;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use CutOffState::{Passed, StuckOff, StuckOn, TestingOff, TestingOn};
        vec![
            always("the supply comes on only after it was seen off", |now| {
                !now.output.1 || now.after.was_off
            }),
            always("after a failure the supply is off", |now| {
                !matches!(now.output.0, StuckOn | StuckOff) || !now.output.1
            }),
            always("a result stays, whatever is read", |now| {
                matches!(now.before.state, TestingOff | TestingOn) || now.output.0 == now.before.state
            }),
            always("nothing is judged before it had its time to settle", |now| {
                now.output.0 == now.before.state || now.before.in_state.steps() >= now.rules.settle
            }),
            always("judged is after the time to settle, by what is read then", |now| {
                let judged = now.before.in_state.steps() >= now.rules.settle;
                let expected = match now.before.state {
                    TestingOff if judged && now.input <= LOW => TestingOn,
                    TestingOff if judged => StuckOn,
                    TestingOn if judged && now.input >= HIGH => Passed,
                    TestingOn if judged => StuckOff,
                    same => same,
                };
                now.output.0 == expected
            }),
            sometimes("it passes", |now| now.output == (Passed, true)),
            sometimes("it is stuck on", |now| now.output.0 == StuckOn),
            sometimes("it is stuck off", |now| now.output.0 == StuckOff),
            planted("between the levels it passes", |now| now.output.0 != StuckOff || now.input <= LOW),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("cut_off", "guard/cut_off", "1 to 4 steps to settle", |bench| {
        family(bench, "cut_off", &[1, 2, 3, 4].map(|settle| Rules { settle }))
    })
}
