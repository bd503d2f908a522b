//! A switched output on a pin that may refuse.

use std::cell::Cell;

use embedded_hal::digital::{Error, ErrorKind, ErrorType, OutputPin};
use trunnion::valve::{ActiveLevel, SwitchedOutput};

use super::entry;
use crate::proof::Proof;
use crate::walk::{Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    active: ActiveLevel,
}

thread_local! {
    /// Which of the next writes the pin refuses, and how many there were.
    static SCRIPT: Cell<([bool; 2], usize)> = const { Cell::new(([false; 2], 0)) };
    /// The level of the pin after its last write.
    static LEVEL: Cell<bool> = const { Cell::new(false) };
}

/// A pin that refuses as the script says.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Pin {
    high: bool,
}

#[derive(Debug)]
struct Refused;

impl Error for Refused {
    fn kind(&self) -> ErrorKind {
        ErrorKind::Other
    }
}

impl ErrorType for Pin {
    type Error = Refused;
}

impl Pin {
    fn write(&mut self, high: bool) -> Result<(), Refused> {
        let (refusals, place) = SCRIPT.get();
        SCRIPT.set((refusals, place + 1));
        let refused = refusals.get(place).copied().unwrap_or(false);
        if !refused {
            self.high = high;
        }
        LEVEL.set(self.high);
        if refused { Err(Refused) } else { Ok(()) }
    }
}

impl OutputPin for Pin {
    fn set_low(&mut self) -> Result<(), Refused> {
        self.write(false)
    }

    fn set_high(&mut self) -> Result<(), Refused> {
        self.write(true)
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Inputs {
    active: ActiveLevel,
    on: bool,
    /// Whether the first and the second write of the step are refused.
    refusals: [bool; 2],
}

/// The write succeeded, the load is on.
type Answer = (bool, bool);

impl Walked for Rules {
    type Block = SwitchedOutput<Pin>;
    type Input = Inputs;
    type Output = Answer;
    /// The load was on.
    type Memory = bool;

    fn block(&self) -> Self::Block {
        SCRIPT.set(([false; 2], 0));
        SwitchedOutput::new(Pin { high: true }, self.active).expect("nothing is refused yet")
    }

    fn inputs(&self) -> Vec<Inputs> {
        (0..8)
            .map(|number| Inputs {
                active: self.active,
                on: number & 1 != 0,
                refusals: [number & 2 != 0, number & 4 != 0],
            })
            .collect()
    }

    fn step(output: &mut Self::Block, Inputs { active, on, refusals }: Inputs) -> Answer {
        SCRIPT.set((refusals, 0));
        let written = output.write(on).is_ok();
        (written, LEVEL.get() == (active == ActiveLevel::High))
    }

    fn remember(&self, memory: &mut bool, _: Inputs, (_, on): Answer) {
        *memory = on;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("an accepted write switches the load as asked", |now| {
                now.input.refusals[0] || now.output == (true, now.input.on)
            }),
            always("a refused write is told", |now| now.output.0 != now.input.refusals[0]),
            always("after a refused write the load is switched off where the pin lets it", |now| {
                now.input.refusals != [true, false] || !now.output.1
            }),
            always("a pin that refuses all stays as it is", |now| {
                now.input.refusals != [true, true] || now.output.1 == *now.before
            }),
            sometimes("the load is on", |now| now.output.1),
            sometimes("a load that is on is switched off by a refused write", |now| {
                *now.before && now.input.on && !now.output.1
            }),
            planted("a refused write leaves the load as it is", |now| {
                now.output.0 || now.output.1 == *now.before
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("switched_output", "valve/switched_output", "active high and active low", |bench| {
        let rules = [ActiveLevel::High, ActiveLevel::Low].map(|active| Rules { active });
        family(bench, "switched_output", &rules)
    })
}
