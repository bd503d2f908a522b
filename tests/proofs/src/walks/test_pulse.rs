//! Looks for open coils at start-up.

use trunnion::quantity::{Milliamps, Permille};
use trunnion::valve::{TestPulse, TestPulseConfig, TestPulseState};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Walked, always, family, planted, sometimes};

const CURRENT: u16 = 120;
const ENOUGH: u16 = 60;

#[derive(Debug, Clone, Copy)]
struct Rules {
    length: u32,
}

/// State, set-points for the coming step, open coils, crossed coils.
type Answer = (TestPulseState, [u16; 2], [bool; 2], [bool; 2]);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    state: TestPulseState,
    /// Steps in which each coil was given its pulse.
    pulsed: [u32; 2],
    /// The coil that was driven while this step's current was measured.
    driven: Option<usize>,
    open: [bool; 2],
    crossed: [bool; 2],
}

impl Walked for Rules {
    type Block = TestPulse<2>;
    type Input = [u16; 2];
    type Output = Answer;
    type Memory = Memory;

    fn block(&self) -> TestPulse<2> {
        let config = TestPulseConfig {
            current: Milliamps::saturating(CURRENT.into()),
            length: ticks(self.length),
            pass: Permille::saturating(500),
        };
        TestPulse::new(config, TICK).expect("a pulse in range")
    }

    fn inputs(&self) -> Vec<[u16; 2]> {
        let currents = [0, ENOUGH - 1, ENOUGH, u16::MAX];
        currents.into_iter().flat_map(|a| currents.map(|b| [a, b])).collect()
    }

    fn step(block: &mut TestPulse<2>, measured: [u16; 2]) -> Answer {
        let state = block.step(&measured.map(|raw| Milliamps::saturating(raw.into())));
        let set_points = block.set_points().map(Milliamps::raw);
        (state, set_points, [0, 1].map(|coil| block.open(coil)), [0, 1].map(|coil| block.crossed(coil)))
    }

    fn remember(&self, memory: &mut Memory, measured: [u16; 2], (state, set_points, ..): Answer) {
        let driven = set_points.iter().position(|set| *set > 0);
        if let Some(coil) = memory.driven.filter(|coil| driven != Some(*coil)) {
            // The pulse of this coil has just ended: what is measured now is judged.
            memory.open[coil] = measured[coil] < ENOUGH;
            memory.crossed[coil] = measured[1 - coil] >= ENOUGH;
        }
        if let Some(coil) = driven {
            memory.pulsed[coil] += 1;
        }
        memory.driven = driven;
        memory.state = state;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use TestPulseState::{Failed, Passed, Testing};
        vec![
            always("never two coils at once, and never more than the pulse", |now| {
                let driven = now.output.1.iter().filter(|set| **set > 0).count();
                driven <= 1 && now.output.1.iter().all(|set| *set == 0 || *set == CURRENT)
            }),
            always("while it tests one coil is driven, after it none", |now| {
                let driven = now.output.1.iter().any(|set| *set > 0);
                driven == (now.output.0 == Testing)
            }),
            always("every coil gets its pulse for its length", |now| {
                now.after.pulsed.iter().all(|steps| *steps <= now.rules.length)
                    && (now.output.0 == Testing || now.after.pulsed == [now.rules.length; 2])
            }),
            always("a coil is open exactly when its pulse did not arrive at its end", |now| {
                now.output.2 == now.after.open
            }),
            always("it is crossed exactly when the pulse was in another one then", |now| {
                now.output.3 == now.after.crossed
            }),
            always("it passes exactly with no coil open and none crossed", |now| {
                let fault = now.after.open.contains(&true) || now.after.crossed.contains(&true);
                now.output.0 == Testing || (now.output.0 == Failed) == fault
            }),
            always("a result stays", |now| now.before.state == Testing || now.output.0 == now.before.state),
            sometimes("it passes", |now| now.output.0 == Passed),
            sometimes("a coil is open and the other is not", |now| {
                now.output.0 == Failed && now.output.2 == [false, true]
            }),
            sometimes("both plugs are crossed", |now| now.output.3 == [true, true]),
            planted("half the current is not enough", |now| now.output.0 != Passed || now.input[1] > ENOUGH),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("test_pulse", "valve/test_pulse", "two coils, pulses of 3 to 5 steps", |bench| {
        family(bench, "test_pulse", &[3, 4, 5].map(|length| Rules { length }))
    })
}
