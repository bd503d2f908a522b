//! Standstill is seen, not assumed.

use trunnion::guard::{Standstill, StandstillConfig};
use trunnion::quantity::Rpm;
use trunnion::sense::{Flaw, Reading};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

const BAND: i32 = 80;

#[derive(Debug, Clone, Copy)]
struct Rules {
    hold: u32,
}

/// Commands at zero, left speed, right speed.
type Inputs = (bool, Reading<Rpm>, Reading<Rpm>);

fn is_slow((commands_zero, left, right): Inputs) -> bool {
    let slow = |speed: Reading<Rpm>| speed.valid().is_some_and(|speed| speed.raw().abs() <= BAND);
    commands_zero && slow(left) && slow(right)
}

impl Walked for Rules {
    type Block = Standstill;
    type Input = Inputs;
    type Output = bool;
    /// For how long all was slow and nothing commanded.
    type Memory = Run;

    fn block(&self) -> Standstill {
        let config = StandstillConfig { band: Rpm::saturating(BAND.into()), hold: ticks(self.hold) };
        Standstill::new(config, TICK).expect("rules in range")
    }

    fn inputs(&self) -> Vec<Inputs> {
        let valid =
            [0, BAND, BAND + 1, -BAND, -BAND - 1].map(|raw| Reading::Valid(Rpm::saturating(raw.into())));
        let speeds = [valid.as_slice(), &[Reading::Faulted(Flaw::Silent)]].concat();
        let pairs = speeds.iter().flat_map(|left| speeds.iter().map(move |right| (*left, *right)));
        pairs.flat_map(|(left, right)| [(false, left, right), (true, left, right)]).collect()
    }

    fn step(block: &mut Standstill, (commands_zero, left, right): Inputs) -> bool {
        block.step(commands_zero, left, right)
    }

    fn remember(&self, memory: &mut Run, inputs: Inputs, _: bool) {
        memory.note(is_slow(inputs));
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always(
                "it stands exactly while all was slow and nothing commanded for longer than the time",
                |now| now.output == (now.after.steps() > now.rules.hold),
            ),
            always("a faulted speed on either side is no standstill", |now| {
                (now.input.1.is_valid() && now.input.2.is_valid()) || !now.output
            }),
            sometimes("it stands", |now| now.output),
            planted("it stands one step earlier", |now| now.output == (now.after.steps() >= now.rules.hold)),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("standstill", "guard/standstill", "hold of 1 to 4 steps", |bench| {
        family(bench, "standstill", &[1, 2, 3, 4].map(|hold| Rules { hold }))
    })
}
