//! Whether a lever is released.

use trunnion::lever::{Neutral, NeutralConfig};
use trunnion::quantity::{Permille, Ratio};

use super::entry;
use crate::proof::Proof;
use crate::walk::{Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    inside: i16,
    outside: i16,
}

fn bits(permille: i16) -> i32 {
    Ratio::from_permille(permille.into()).map_or(0, Ratio::to_bits)
}

impl Walked for Rules {
    type Block = Neutral;
    type Input = i32;
    type Output = bool;
    /// What it said before.
    type Memory = bool;

    fn block(&self) -> Neutral {
        let [inside, outside] = [self.inside, self.outside].map(|raw| Permille::saturating(raw.into()));
        Neutral::new(NeutralConfig { inside, outside }).expect("bands in order")
    }

    fn inputs(&self) -> Vec<i32> {
        let near = [0, bits(self.inside), bits(self.outside), Ratio::ONE_BITS];
        let both = near.into_iter().flat_map(|edge| [edge - 1, edge, edge + 1, -edge - 1, -edge, 1 - edge]);
        both.filter(|raw| Ratio::from_bits(*raw).is_some()).collect()
    }

    fn step(block: &mut Neutral, raw: i32) -> bool {
        block.step(Ratio::saturating(raw.into()))
    }

    fn remember(&self, memory: &mut bool, _: i32, output: bool) {
        *memory = output;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("inside the inner band it is neutral", |now| {
                now.input.abs() > bits(now.rules.inside) || now.output
            }),
            always("outside of the outer band it is not", |now| {
                now.input.abs() <= bits(now.rules.outside) || !now.output
            }),
            always("in between it stays", |now| {
                let between =
                    now.input.abs() > bits(now.rules.inside) && now.input.abs() <= bits(now.rules.outside);
                !between || now.output == *now.before
            }),
            sometimes("it becomes neutral", |now| now.output && !*now.before),
            sometimes("it leaves neutral", |now| !now.output && *now.before),
            planted("the inner band is open", |now| {
                now.input.abs() < bits(now.rules.inside) || now.output == *now.before || !now.output
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of =
        "bands (inside, outside): 0/0, 0/500, 50/80, 50/50, 500/500 ‰; positions one step around each edge";
    entry::<Rules>("lever_neutral", "lever/neutral", family_of, |bench| {
        let bands = [(0, 0), (0, 500), (50, 80), (50, 50), (500, 500)];
        family(bench, "lever_neutral", &bands.map(|(inside, outside)| Rules { inside, outside }))
    })
}
