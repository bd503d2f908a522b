//! The slow range.

use trunnion::propel::{Creep, CreepConfig, CreepInputs};
use trunnion::quantity::{Permille, Ratio};

use super::{entry, permille};
use crate::proof::Proof;
use crate::walk::{Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    slowest: i16,
    fastest: i16,
    first: i16,
    increment: i16,
}

/// The drive, whether creep is on, and the share that is set.
type Answer = (Ratio, bool, i16);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    on: bool,
    /// Nothing before the first step.
    share: Option<i16>,
}

impl Walked for Rules {
    type Block = Creep;
    type Input = CreepInputs;
    type Output = Answer;
    type Memory = Memory;

    fn block(&self) -> Creep {
        let of = |raw: i16| Permille::saturating(raw.into());
        Creep::new(CreepConfig {
            slowest: of(self.slowest),
            fastest: of(self.fastest),
            first: of(self.first),
            increment: of(self.increment),
        })
        .expect("a range")
    }

    fn inputs(&self) -> Vec<CreepInputs> {
        let drives = [Ratio::MINUS_ONE, Ratio::ZERO, Ratio::saturating(1), permille(333), Ratio::ONE];
        let presses = (0..8).map(|number| (number & 1 != 0, number & 2 != 0, number & 4 != 0));
        presses
            .flat_map(|(toggle, faster, slower)| {
                drives.map(|drive| CreepInputs { drive, toggle, faster, slower })
            })
            .collect()
    }

    fn step(block: &mut Creep, inputs: CreepInputs) -> Answer {
        let drive = block.step(inputs);
        (drive, block.is_on(), block.share().raw())
    }

    fn remember(&self, memory: &mut Memory, _: CreepInputs, (_, on, share): Answer) {
        *memory = Memory { on, share: Some(share) };
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it goes off only by a press with the lever at zero", |now| {
                !now.before.on || now.output.1 || (now.input.toggle && now.input.drive.is_zero())
            }),
            always("it goes on by a press with the lever anywhere, and by nothing else", |now| {
                now.before.on || now.output.1 == now.input.toggle
            }),
            always("the drive is never more than the lever asks, and never against it", |now| {
                now.output.0.magnitude() <= now.input.drive.magnitude()
                    && !now.output.0.opposite_direction(now.input.drive)
            }),
            always("off, the drive is the lever's", |now| now.output.1 || now.output.0 == now.input.drive),
            always("on, it is the share of it, to the nearest", |now| {
                let exact = i128::from(now.input.drive.to_bits()) * i128::from(now.output.2);
                !now.output.1 || now.output.0.to_bits().abs_diff((exact / 1000) as i32) <= 2
            }),
            always("the share stays in its range", |now| {
                (now.rules.slowest..=now.rules.fastest).contains(&now.output.2)
            }),
            always("the share changes only while on, by one button, by one increment at most", |now| {
                let before = now.before.share.unwrap_or(now.rules.first);
                let change = now.output.2 - before;
                let allowed = match (now.input.faster, now.input.slower) {
                    (true, false) if now.output.1 => 0..=now.rules.increment,
                    (false, true) if now.output.1 => -now.rules.increment..=0,
                    _ => 0..=0,
                };
                allowed.contains(&change)
            }),
            sometimes("the share is at its fastest", |now| now.output.2 == now.rules.fastest),
            sometimes("the share is at its slowest", |now| now.output.2 == now.rules.slowest),
            sometimes("a press is dropped", |now| now.before.on && now.input.toggle && now.output.1),
            planted("every press is obeyed", |now| !now.input.toggle || now.output.1 != now.before.on),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "ranges (slowest, fastest, first, increment): (50, 400, 200, 20), (10, 1000, 10, 500), (300, 300, 300, 1), (100, 900, 500, 70) ‰";
    entry::<Rules>("creep", "propel/creep", family_of, |bench| {
        let ranges = [(50, 400, 200, 20), (10, 1000, 10, 500), (300, 300, 300, 1), (100, 900, 500, 70)];
        let rules =
            ranges.map(|(slowest, fastest, first, increment)| Rules { slowest, fastest, first, increment });
        family(bench, "creep", &rules)
    })
}
