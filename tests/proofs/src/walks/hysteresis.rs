//! Comparison with hysteresis.

use trunnion::quantity::Rpm;
use trunnion::timing::{Hysteresis, HysteresisConfig};

use super::entry;
use crate::proof::Proof;
use crate::walk::{Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    off_to: i32,
    on_from: i32,
}

impl Walked for Rules {
    type Block = Hysteresis<Rpm>;
    type Input = i32;
    type Output = bool;
    /// What it said before.
    type Memory = bool;

    fn block(&self) -> Hysteresis<Rpm> {
        let [on_from, off_to] =
            [self.on_from, self.off_to].map(|raw| Rpm::new(raw).expect("a speed in range"));
        Hysteresis::new(HysteresisConfig { on_from, off_to }).expect("limits in order")
    }

    fn inputs(&self) -> Vec<i32> {
        let near = [self.off_to, self.on_from].map(|limit| [limit - 1, limit, limit + 1]);
        let ends = [Rpm::MIN.raw(), Rpm::MAX.raw()];
        near.into_iter().flatten().chain(ends).filter(|raw| Rpm::new(*raw).is_some()).collect()
    }

    fn step(block: &mut Self::Block, raw: i32) -> bool {
        block.step(Rpm::saturating(raw.into()))
    }

    fn remember(&self, memory: &mut bool, _: i32, output: bool) {
        *memory = output;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("from the upper limit on it is true", |now| now.input < now.rules.on_from || now.output),
            always("from the lower limit down it is false", |now| {
                now.input > now.rules.off_to || !now.output
            }),
            always("in between it stays", |now| {
                now.input <= now.rules.off_to || now.input >= now.rules.on_from || now.output == *now.before
            }),
            sometimes("it becomes true", |now| now.output && !*now.before),
            sometimes("it becomes false", |now| !now.output && *now.before),
            planted("at the lower limit it stays", |now| {
                now.input < now.rules.off_to || now.input >= now.rules.on_from || now.output == *now.before
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("hysteresis", "timing/hysteresis", "bands of 1, 2, 3 and all of the type", |bench| {
        let bands = [(0, 1), (-1, 1), (7, 10), (Rpm::MIN.raw(), Rpm::MAX.raw())];
        family(bench, "hysteresis", &bands.map(|(off_to, on_from)| Rules { off_to, on_from }))
    })
}
