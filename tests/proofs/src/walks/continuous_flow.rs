//! Auxiliary flow that goes on without a hand on the wheel.

use trunnion::quantity::{Permille, Ratio};
use trunnion::work::{ContinuousFlow, ContinuousFlowConfig, ContinuousFlowInputs};

use super::{entry, permille};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    flow: i32,
    neutral: i32,
}

/// The flow, and whether it goes on by itself.
type Answer = (Ratio, bool);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    going_on: bool,
    flow: Ratio,
    /// The wheel was neutral with permission since the flow or the permission last ended.
    ready: bool,
}

fn wheel(now: &Moment<'_, Rules>) -> Ratio {
    if now.input.wheel.magnitude() <= permille(now.rules.neutral) { Ratio::ZERO } else { now.input.wheel }
}

impl Walked for Rules {
    type Block = ContinuousFlow;
    type Input = ContinuousFlowInputs;
    type Output = Answer;
    type Memory = Memory;

    fn block(&self) -> ContinuousFlow {
        let [flow, neutral] = [self.flow, self.neutral].map(|raw| Permille::saturating(raw.into()));
        ContinuousFlow::new(ContinuousFlowConfig { flow, neutral }).expect("values in range")
    }

    fn inputs(&self) -> Vec<ContinuousFlowInputs> {
        let edge = i64::from(permille(self.neutral).to_bits());
        let wheels = [0, edge, edge + 1, -edge, -edge - 1, i64::from(Ratio::ONE_BITS)].map(Ratio::saturating);
        (0..4)
            .flat_map(|number| {
                wheels.map(|wheel| ContinuousFlowInputs {
                    toggle: number & 1 != 0,
                    wheel,
                    permitted: number & 2 != 0,
                })
            })
            .collect()
    }

    fn step(block: &mut ContinuousFlow, inputs: ContinuousFlowInputs) -> Answer {
        let flow = block.step(inputs);
        (flow, block.is_continuous())
    }

    fn remember(&self, memory: &mut Memory, inputs: ContinuousFlowInputs, (flow, going_on): Answer) {
        let neutral = inputs.wheel.magnitude() <= permille(self.neutral);
        let ended = memory.going_on && !going_on;
        memory.ready = inputs.permitted && !ended && (memory.ready || neutral);
        memory.going_on = going_on;
        memory.flow = flow;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("nothing flows without permission", |now| {
                now.input.permitted || now.output == (Ratio::ZERO, false)
            }),
            always("nothing flows before the wheel was neutral with permission", |now| {
                now.after.ready || now.output.0.is_zero()
            }),
            always("a flow begins to go on only with the button", |now| {
                !now.output.1 || now.before.going_on || now.input.toggle
            }),
            always("with the wheel neutral it is the configured flow, else the present one", |now| {
                let begins = now.output.1 && !now.before.going_on;
                let neutral = wheel(now).is_zero();
                !begins || now.output.0 == if neutral { permille(now.rules.flow) } else { wheel(now) }
            }),
            always("it goes on unchanged until button, counter-turn or permission end it", |now| {
                let ends = now.input.toggle
                    || !now.input.permitted
                    || wheel(now).opposite_direction(now.before.flow);
                !now.before.going_on
                    || if ends { now.output.0.is_zero() } else { now.output == (now.before.flow, true) }
            }),
            always("otherwise it is the wheel's, or nothing", |now| {
                now.output.1 || now.output.0.is_zero() || now.output.0 == wheel(now)
            }),
            sometimes("a flow goes on with the wheel let go of", |now| {
                now.before.going_on && now.output.1 && wheel(now).is_zero()
            }),
            sometimes("a counter-turn ends it", |now| {
                now.before.going_on && !now.output.1 && !now.input.toggle && now.input.permitted
            }),
            sometimes("it goes on the other way", |now| now.output.1 && now.output.0 < Ratio::ZERO),
            planted("the button without permission is kept", |now| {
                !now.input.toggle || now.input.permitted || now.output.1
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "flow and neutral band: 800/50, 10/300, 1000/10 ‰";
    entry::<Rules>("continuous_flow", "work/continuous_flow", family_of, |bench| {
        let rules = [(800, 50), (10, 300), (1000, 10)].map(|(flow, neutral)| Rules { flow, neutral });
        family(bench, "continuous_flow", &rules)
    })
}
