//! Make and break contact of one switch, and the two contacts of a rocker.

use trunnion::sense::{Changeover, ChangeoverConfig, DualContact, DualContactConfig, Flaw, Reading};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    disagree: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    /// What both last agreed on since start.
    agreed: Option<bool>,
    apart: Run,
    faulted: bool,
}

/// Both blocks are stepped side by side: a rocker is a switch whose break contact is the other position.
type Both = (DualContact, Changeover);

impl Walked for Rules {
    type Block = Both;
    type Input = (bool, bool);
    type Output = (Reading<bool>, Reading<bool>);
    type Memory = Memory;

    fn block(&self) -> Both {
        let disagree_after = ticks(self.disagree);
        (
            DualContact::new(DualContactConfig { disagree_after }, TICK).expect("a time in range"),
            Changeover::new(ChangeoverConfig { disagree_after }, TICK).expect("a time in range"),
        )
    }

    fn inputs(&self) -> Vec<(bool, bool)> {
        vec![(false, false), (false, true), (true, false), (true, true)]
    }

    fn step((switch, rocker): &mut Both, (make, break_contact): (bool, bool)) -> Self::Output {
        (switch.step(make, break_contact), rocker.step(break_contact, make))
    }

    fn remember(&self, memory: &mut Memory, (make, break_contact): (bool, bool), output: Self::Output) {
        if make != break_contact {
            memory.agreed = Some(make);
        }
        memory.apart.note(make == break_contact);
        memory.faulted = !output.0.is_valid();
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("exactly one closed contact gives its position in the same step", |now| {
                now.input.0 == now.input.1 || now.output.0 == Reading::Valid(now.input.0)
            }),
            always("while both say the same, the last position holds for the time and no longer", |now| {
                let held = now.before.agreed.filter(|_| now.after.apart.steps() <= now.rules.disagree);
                now.input.0 != now.input.1
                    || now.output.0 == held.map_or(Reading::Faulted(Flaw::Disagreement), Reading::Valid)
            }),
            always("before the first agreement it is faulted", |now| {
                now.after.agreed.is_some() || !now.output.0.is_valid()
            }),
            always("once faulted it stays so until they agree", |now| {
                !now.before.faulted || now.input.0 != now.input.1 || !now.output.0.is_valid()
            }),
            always("a rocker is read as a switch is", |now| now.output.0 == now.output.1),
            sometimes("they disagree for too long", |now| {
                now.before.agreed.is_some() && !now.output.0.is_valid()
            }),
            sometimes("they agree again after a fault", |now| now.before.faulted && now.output.0.is_valid()),
            planted("the last position holds one step longer", |now| {
                let held = now.before.agreed.filter(|_| now.after.apart.steps() <= now.rules.disagree + 1);
                now.input.0 != now.input.1 || now.output.0.is_valid() == held.is_some()
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("contact_pair", "sense/contact_pair", "disagreement of 0 to 4 steps", |bench| {
        family(bench, "contact_pair", &[0, 1, 2, 3, 4].map(|disagree| Rules { disagree }))
    })
}
