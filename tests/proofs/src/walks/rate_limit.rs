//! Limits how fast a command may change.

use trunnion::quantity::Ratio;
use trunnion::ramp::{RateLimit, RateLimitConfig};

use super::{TICK, entry, permille, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    rise: u32,
    fall: u32,
}

/// One full scale in so many steps, rounded up to 2⁻³⁰, and one more for the rounding of the output.
fn most(steps: u32) -> i64 {
    i64::from((Ratio::ONE_BITS as u32).div_ceil(steps)) + 1
}

fn bits(ratio: Ratio) -> i64 {
    i64::from(ratio.to_bits())
}

fn change(now: &Moment<'_, Rules>) -> i64 {
    (bits(now.output) - bits(*now.before)).abs()
}

impl Walked for Rules {
    type Block = RateLimit;
    type Input = Ratio;
    type Output = Ratio;
    /// The output before.
    type Memory = Ratio;

    fn block(&self) -> RateLimit {
        RateLimit::new(RateLimitConfig { rise: ticks(self.rise), fall: ticks(self.fall) }, TICK)
            .expect("times in range")
    }

    fn inputs(&self) -> Vec<Ratio> {
        vec![Ratio::MINUS_ONE, permille(-500), Ratio::ZERO, Ratio::saturating(1), permille(500), Ratio::ONE]
    }

    fn step(block: &mut RateLimit, target: Ratio) -> Ratio {
        block.step(target)
    }

    fn remember(&self, memory: &mut Ratio, _: Ratio, output: Ratio) {
        *memory = output;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it goes towards the target and never past it", |now| {
                let (low, high) = (now.input.min(*now.before), now.input.max(*now.before));
                (low..=high).contains(&now.output)
            }),
            always("away from zero it changes by one full scale per rise at most", |now| {
                now.output.magnitude() <= now.before.magnitude() || change(now) <= most(now.rules.rise)
            }),
            always("towards zero it changes by one full scale per fall at most", |now| {
                now.output.magnitude() >= now.before.magnitude() || change(now) <= most(now.rules.fall)
            }),
            always("a change of sign takes one step at exactly zero", |now| {
                !now.output.opposite_direction(*now.before)
            }),
            always("it moves until it is there", |now| now.output == now.input || change(now) > 0),
            always("at the target it stays", |now| now.input != *now.before || now.output == now.input),
            sometimes("it is at full scale", |now| now.output == Ratio::ONE),
            sometimes("it passes zero on the way to the other side", |now| {
                now.output.is_zero() && now.input < Ratio::ZERO && *now.before > Ratio::ZERO
            }),
            planted("away from zero it takes twice the steps", |now| {
                now.output.magnitude() <= now.before.magnitude() || change(now) <= most(2 * now.rules.rise)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    // Powers of two: a third of full scale is no whole number of units, and what is left over would make every way to and
    // fro a new state.
    let family_of = "rise and fall of 1, 2, 4 and 8 steps for full scale, each with each";
    entry::<Rules>("rate_limit", "ramp/rate_limit", family_of, |bench| {
        let times = [1, 2, 4, 8];
        let rules: Vec<Rules> =
            times.iter().flat_map(|rise| times.map(|fall| Rules { rise: *rise, fall })).collect();
        family(bench, "rate_limit", &rules)
    })
}
