//! Two sources of one speed.

use trunnion::quantity::Rpm;
use trunnion::sense::{Flaw, Reading, SpeedComparison, SpeedComparisonConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

const TOLERANCE: i32 = 800;

#[derive(Debug, Clone, Copy)]
struct Rules {
    disagree: u32,
}

type Readings = (Reading<Rpm>, Reading<Rpm>);

fn apart((one, other): Readings) -> bool {
    match (one, other) {
        (Reading::Valid(one), Reading::Valid(other)) => (one.raw() - other.raw()).abs() > TOLERANCE,
        _ => false,
    }
}

impl Walked for Rules {
    type Block = SpeedComparison;
    type Input = Readings;
    type Output = bool;
    /// For how long they were apart.
    type Memory = Run;

    fn block(&self) -> SpeedComparison {
        let tolerance = Rpm::saturating(TOLERANCE.into());
        let config = SpeedComparisonConfig { tolerance, disagree_after: ticks(self.disagree) };
        SpeedComparison::new(config, TICK).expect("limits in range")
    }

    fn inputs(&self) -> Vec<Readings> {
        let valid = [0, 800, 801, -1].map(|raw| Reading::Valid(Rpm::saturating(raw)));
        let readings = [valid.as_slice(), &[Reading::Faulted(Flaw::Silent)]].concat();
        readings.iter().flat_map(|one| readings.iter().map(move |other| (*one, *other))).collect()
    }

    fn step(block: &mut SpeedComparison, (one, other): Readings) -> bool {
        block.step(one, other)
    }

    fn remember(&self, memory: &mut Run, readings: Readings, _: bool) {
        memory.note(apart(readings));
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("they disagree exactly while they were apart for longer than the time", |now| {
                now.output == (now.after.steps() > now.rules.disagree)
            }),
            always("one step of agreement, or of a faulted reading, ends it", |now| {
                apart(now.input) || !now.output
            }),
            sometimes("they disagree", |now| now.output),
            planted("they disagree one step later", |now| {
                now.output == (now.after.steps() > now.rules.disagree + 1)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("speed_comparison", "sense/speed_comparison", "disagreement of 0 to 4 steps", |bench| {
        family(bench, "speed_comparison", &[0, 1, 2, 3, 4].map(|disagree| Rules { disagree }))
    })
}
