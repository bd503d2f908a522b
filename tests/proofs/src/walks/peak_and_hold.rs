//! A coil that is either on or off, and cooler when on.

use trunnion::quantity::Millivolts;
use trunnion::valve::{PeakAndHold, PeakAndHoldConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::sweep::is_nearest;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

const HOLD: u16 = 5_000;
const LOWEST: u16 = 9_000;
const HIGHEST: u16 = 16_000;
const FULL: i64 = 10_000;

#[derive(Debug, Clone, Copy)]
struct Rules {
    peak: u32,
}

/// What is assumed of the supply.
fn assumed(supply: Option<u16>) -> u16 {
    supply.unwrap_or(HIGHEST).min(HIGHEST)
}

fn powered(now: &Moment<'_, Rules>) -> bool {
    now.input.0 && assumed(now.input.1) >= LOWEST
}

impl Walked for Rules {
    type Block = PeakAndHold;
    /// On, and the supply where its sense works.
    type Input = (bool, Option<u16>);
    type Output = i64;
    /// For how long it was on with a supply that pulls in.
    type Memory = Run;

    fn block(&self) -> PeakAndHold {
        let of = |raw: u16| Millivolts::saturating(raw.into());
        let config = PeakAndHoldConfig {
            peak: ticks(self.peak),
            hold: of(HOLD),
            lowest_supply: of(LOWEST),
            highest_supply: of(HIGHEST),
        };
        PeakAndHold::new(config, TICK).expect("values in range")
    }

    fn inputs(&self) -> Vec<Self::Input> {
        let supplies = [0, LOWEST - 1, LOWEST, 12_345, HIGHEST, HIGHEST + 1, u16::MAX];
        let seen = supplies.map(Some).into_iter().chain([None]);
        seen.flat_map(|supply| [(false, supply), (true, supply)]).collect()
    }

    fn step(block: &mut PeakAndHold, (on, supply): Self::Input) -> i64 {
        block.step(on, supply.map(|raw| Millivolts::saturating(raw.into()))).raw().into()
    }

    fn remember(&self, memory: &mut Run, (on, supply): Self::Input, _: i64) {
        memory.note(on && assumed(supply) >= LOWEST);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("off is zero in the same step", |now| now.input.0 || now.output == 0),
            always("below the lowest supply the coil gets all of it", |now| {
                !now.input.0 || powered(now) || now.output == FULL
            }),
            always("switched on, or with the supply back, it gets all for the peak", |now| {
                !powered(now) || now.after.steps() > now.rules.peak || now.output == FULL
            }),
            always("after it what gives the voltage to hold, to the nearest", |now| {
                let supply = i128::from(assumed(now.input.1));
                !powered(now)
                    || now.after.steps() <= now.rules.peak
                    || is_nearest(now.output, i128::from(HOLD) * i128::from(FULL), supply)
            }),
            sometimes("it is held", |now| now.output > 0 && now.output < FULL),
            sometimes("a dip of the supply starts the peak anew", |now| {
                now.before.steps() == 0 && powered(now) && now.output == FULL
            }),
            planted("the peak is one step longer", |now| {
                !powered(now) || now.after.steps() > now.rules.peak + 1 || now.output == FULL
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("peak_and_hold", "valve/peak_and_hold", "peak of 1 to 4 steps", |bench| {
        family(bench, "peak_and_hold", &[1, 2, 3, 4].map(|peak| Rules { peak }))
    })
}
