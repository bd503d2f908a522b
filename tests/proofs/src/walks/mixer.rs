//! Which way steering right turns, by the way the machine rolls.

use trunnion::propel::{MixLaw, Mixer, MixerConfig, ReverseConvention, Sides};
use trunnion::quantity::{Permille, Ratio};

use super::{entry, permille};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Walked, always, family, planted, sometimes};

const BEYOND: i32 = 100;
const WITHIN: i32 = BEYOND / 4;

#[derive(Debug, Clone, Copy)]
struct Rules {
    law: MixLaw,
    convention: ReverseConvention,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Inputs {
    drive: Ratio,
    steer: Ratio,
    travel: Ratio,
}

/// Which way it rolls, as an observer of the travel says: −1, 0 at rest, 1.
type Rolls = i8;

fn rolls(before: Rolls, travel: Ratio) -> Rolls {
    let bits = travel.to_bits();
    let (beyond, within) = (permille(BEYOND).to_bits(), permille(WITHIN).to_bits());
    if bits.abs() >= beyond {
        bits.signum() as Rolls
    } else if bits * i32::from(before) > within {
        before
    } else {
        0
    }
}

/// Clockwise positive.
fn yaw(sides: Sides) -> i64 {
    i64::from(sides.left.to_bits()) - i64::from(sides.right.to_bits())
}

fn turns_with_the_lever(now: &Moment<'_, Rules>) -> bool {
    yaw(now.output).signum() == i64::from(now.input.steer.to_bits().signum())
}

fn turns_against_the_lever(now: &Moment<'_, Rules>) -> bool {
    yaw(now.output).signum() == -i64::from(now.input.steer.to_bits().signum())
}

impl Walked for Rules {
    type Block = Mixer;
    type Input = Inputs;
    type Output = Sides;
    type Memory = Rolls;

    fn block(&self) -> Mixer {
        let of = |raw: i32| Permille::saturating(raw.into());
        Mixer::new(MixerConfig {
            law: self.law,
            pivot_point: of(500),
            pivot_band: of(100),
            sensitivity: of(600),
            blend_drive: of(300),
            convention: self.convention,
            reverse_blend: of(BEYOND),
        })
        .expect("values in range")
    }

    fn inputs(&self) -> Vec<Inputs> {
        let edge = |raw: i32| permille(raw).to_bits();
        let travels = [0, edge(WITHIN), edge(WITHIN) + 1, edge(BEYOND) - 1, edge(BEYOND), Ratio::ONE_BITS];
        let mut inputs = Vec::new();
        for drive in [-1000, -600, 0, 600, 1000] {
            for steer in [-1000, -400, 0, 400, 1000] {
                for travel in travels.into_iter().flat_map(|bits| [bits, -bits]) {
                    let travel = Ratio::saturating(travel.into());
                    inputs.push(Inputs { drive: permille(drive), steer: permille(steer), travel });
                }
            }
        }
        inputs
    }

    fn step(block: &mut Mixer, Inputs { drive, steer, travel }: Inputs) -> Sides {
        block.step(drive, steer, travel)
    }

    fn remember(&self, memory: &mut Rolls, inputs: Inputs, _: Sides) {
        *memory = rolls(*memory, inputs.travel);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("no steer is no turn", |now| !now.input.steer.is_zero() || yaw(now.output) == 0),
            always("at zero drive it spins with the lever", |now| {
                !now.input.drive.is_zero() || turns_with_the_lever(now)
            }),
            always("yaw-fixed, it turns with the lever, whatever rolls", |now| {
                now.rules.convention != ReverseConvention::YawFixed || turns_with_the_lever(now)
            }),
            always(
                "path-following and rolling forward, it turns with the lever, whatever the drive",
                |now| {
                    now.rules.convention != ReverseConvention::PathFollowing
                        || *now.after != 1
                        || turns_with_the_lever(now)
                },
            ),
            always("path-following and rolling in reverse with drive, it turns against the lever", |now| {
                now.rules.convention != ReverseConvention::PathFollowing
                    || *now.after != -1
                    || now.input.drive.is_zero()
                    || turns_against_the_lever(now)
            }),
            always("path-following at rest, the drive decides", |now| {
                let free = now.rules.convention == ReverseConvention::PathFollowing && *now.after == 0;
                !free
                    || if now.input.drive < Ratio::ZERO {
                        turns_against_the_lever(now)
                    } else {
                        turns_with_the_lever(now)
                    }
            }),
            sometimes("it rolls forward while reverse is asked", |now| {
                *now.after == 1 && now.input.drive < Ratio::ZERO
            }),
            sometimes("rolling lasts below the travel that began it", |now| {
                *now.after == 1 && now.input.travel < permille(BEYOND)
            }),
            planted("it always turns with the lever, also under reverse drive at rest", |now| {
                turns_with_the_lever(now) == (now.rules.convention == ReverseConvention::PathFollowing)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "both laws with both conventions";
    entry::<Rules>("mixer", "propel/mixer", family_of, |bench| {
        let mut rules = Vec::new();
        for law in MixLaw::ALL {
            for convention in ReverseConvention::ALL {
                rules.push(Rules { law: *law, convention: *convention });
            }
        }
        family(bench, "mixer", &rules)
    })
}
