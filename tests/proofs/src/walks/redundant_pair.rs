//! Two sensors of one quantity.

use trunnion::quantity::Rpm;
use trunnion::sense::{Flaw, PairValue, Reading, RedundantPair, RedundantPairConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

const TOLERANCE: i32 = 3;

#[derive(Debug, Clone, Copy)]
struct Rules {
    disagree: u32,
    value: PairValue,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    /// Since start and since the last faulted sensor.
    agreed: bool,
    apart: Run,
}

type Readings = (Reading<Rpm>, Reading<Rpm>);

fn difference((one, other): Readings) -> Option<i32> {
    Some((one.valid()?.raw() - other.valid()?.raw()).abs())
}

impl Walked for Rules {
    type Block = RedundantPair<Rpm>;
    type Input = Readings;
    type Output = Reading<Rpm>;
    type Memory = Memory;

    fn block(&self) -> RedundantPair<Rpm> {
        let config = RedundantPairConfig {
            tolerance: Rpm::saturating(TOLERANCE.into()),
            disagree_after: ticks(self.disagree),
            value: self.value,
        };
        RedundantPair::new(config, TICK).expect("limits in range")
    }

    fn inputs(&self) -> Vec<Readings> {
        // Inside, at and one step beyond the tolerance, on both sides of zero.
        let valid = [-2, 0, 1, 2].map(|raw| Reading::Valid(Rpm::saturating(raw)));
        let readings =
            [valid.as_slice(), &[Reading::Faulted(Flaw::WireBreak), Reading::Faulted(Flaw::Silent)]].concat();
        readings.iter().flat_map(|one| readings.iter().map(move |other| (*one, *other))).collect()
    }

    fn step(block: &mut Self::Block, (one, other): Readings) -> Reading<Rpm> {
        block.step(one, other)
    }

    fn remember(&self, memory: &mut Memory, readings: Readings, output: Reading<Rpm>) {
        let difference = difference(readings);
        memory.apart.note(difference.is_some_and(|difference| difference > TOLERANCE));
        memory.agreed = match difference {
            None => false,
            Some(difference) if difference <= TOLERANCE => true,
            // Once it was told that they disagree they must agree anew.
            Some(_) => memory.agreed && output.is_valid(),
        };
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("a faulted sensor faults the pair in the same step, the first one's flaw first", |now| {
                match now.input.0.flaw().or(now.input.1.flaw()) {
                    Some(flaw) => now.output == Reading::Faulted(flaw),
                    None => true,
                }
            }),
            always("sensors within the tolerance give a value in the same step", |now| {
                difference(now.input).is_none_or(|apart| apart > TOLERANCE || now.output.is_valid())
            }),
            always("apart, they give a value for the time after an agreement and no longer", |now| {
                let in_time = now.before.agreed && now.after.apart.steps() <= now.rules.disagree;
                difference(now.input)
                    .is_none_or(|apart| apart <= TOLERANCE || now.output.is_valid() == in_time)
            }),
            always("the value is the one that is asked for", |now| {
                let (Some(one), Some(other), Some(value)) =
                    (now.input.0.valid(), now.input.1.valid(), now.output.valid())
                else {
                    return true;
                };
                let (low, high) = (one.min(other).raw(), one.max(other).raw());
                let sum = low + high;
                match now.rules.value {
                    PairValue::Lower => value.raw() == low,
                    PairValue::Higher => value.raw() == high,
                    PairValue::Mean => value.raw() == (sum.abs() + 1) / 2 * sum.signum(),
                }
            }),
            sometimes("they disagree for too long", |now| {
                now.before.agreed && now.output == Reading::Faulted(Flaw::Disagreement)
            }),
            sometimes("they give a value again after a disagreement", |now| {
                !now.before.agreed && now.before.apart.steps() > 0 && now.output.is_valid()
            }),
            planted("one step beyond the tolerance is agreement", |now| {
                difference(now.input).is_none_or(|apart| apart > TOLERANCE + 1 || now.output.is_valid())
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "disagreement of 0 to 3 steps, each with mean, lower and higher";
    entry::<Rules>("redundant_pair", "sense/redundant_pair", family_of, |bench| {
        let rules: Vec<Rules> = (0..4)
            .flat_map(|disagree| PairValue::ALL.iter().map(move |value| Rules { disagree, value: *value }))
            .collect();
        family(bench, "redundant_pair", &rules)
    })
}
