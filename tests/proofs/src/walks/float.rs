//! The float of the boom.

use trunnion::quantity::{Permille, Ratio};
use trunnion::work::{Float, FloatConfig, FloatInputs};

use super::{entry, permille};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    raise: i32,
}

fn may_float(now: &Moment<'_, Rules>) -> bool {
    now.input.permitted && now.input.lever <= permille(now.rules.raise)
}

impl Walked for Rules {
    type Block = Float;
    type Input = FloatInputs;
    type Output = bool;
    /// Whether it floated.
    type Memory = bool;

    fn block(&self) -> Float {
        Float::new(FloatConfig { raise: Permille::saturating(self.raise.into()) }).expect("a raise in range")
    }

    fn inputs(&self) -> Vec<FloatInputs> {
        let edge = i64::from(permille(self.raise).to_bits());
        let levers =
            [Ratio::MINUS_ONE, Ratio::ZERO, Ratio::saturating(edge), Ratio::saturating(edge + 1), Ratio::ONE];
        (0..4)
            .flat_map(|number| {
                levers.map(|lever| FloatInputs {
                    request: number & 1 != 0,
                    lever,
                    permitted: number & 2 != 0,
                })
            })
            .collect()
    }

    fn step(block: &mut Float, inputs: FloatInputs) -> bool {
        block.step(inputs)
    }

    fn remember(&self, memory: &mut bool, _: FloatInputs, output: bool) {
        *memory = output;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it never floats without permission or while the lever raises", |now| {
                !now.output || may_float(now)
            }),
            always("it begins only with the button", |now| !now.output || *now.before || now.input.request),
            always("it ends with the button, the raise or the permission, and with nothing else", |now| {
                !*now.before || now.output == (may_float(now) && !now.input.request)
            }),
            always("the button begins it when it may", |now| {
                *now.before || now.output == (may_float(now) && now.input.request)
            }),
            sometimes("it floats while the lever lowers", |now| now.output && now.input.lever < Ratio::ZERO),
            planted("it comes back by itself", |now| now.output || !may_float(now)),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("float", "work/float", "raise of 10, 100 and 500 ‰", |bench| {
        family(bench, "float", &[10, 100, 500].map(|raise| Rules { raise }))
    })
}
