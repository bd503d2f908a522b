//! The coil that a current loop sees: a lag behind its duty, and now and then a fault.

use trunnion::quantity::{Duty, Milliamps, Millivolts};

use crate::random::Random;
use crate::scale::Words;
use crate::spelled::Spelled;

/// 7.2 Ω.
const CENTIOHMS: u32 = 720;
/// What a sense that is short to its supply reads.
const FULL_SCALE: i64 = 4_095;

/// What one coil is asked for, and what is measured of it.
#[derive(Clone, Copy)]
pub struct Sensed {
    /// Asked for.
    pub set: Milliamps,
    /// Mean current since the last step.
    pub measured: Milliamps,
    /// `None` when its sense has failed.
    pub supply: Option<Millivolts>,
}

impl Sensed {
    /// A step later, after this duty.
    pub fn next(random: &mut Random, previous: Option<&Self>, duty: Duty) -> Self {
        let supply = supply(random, previous.and_then(|before| before.supply));
        Self {
            set: random.set_point(previous.map(|before| before.set)),
            measured: current(random, previous.map(|before| before.measured), duty, supply),
            supply: random.perhaps(supply, 64),
        }
    }
}

impl Spelled for Sensed {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        (self.set, self.measured, self.supply).spell(into, at)
    }
}

/// The same of two opposite coils.
#[derive(Clone, Copy)]
pub struct SensedPair {
    /// Asked for.
    pub set: (Milliamps, Milliamps),
    /// Mean currents since the last step.
    pub measured: (Milliamps, Milliamps),
    /// `None` when its sense has failed.
    pub supply: Option<Millivolts>,
}

impl SensedPair {
    /// A step later, after these duties. Mostly one coil is asked for at most.
    pub fn next(random: &mut Random, previous: Option<&Self>, duties: (Duty, Duty)) -> Self {
        let supply = supply(random, previous.and_then(|before| before.supply));
        let set = match previous {
            Some(before) if !random.once_in(24) => before.set,
            before => {
                let one = random.set_point(before.map(|before| before.set.0.at_least(before.set.1)));
                match random.below(16) {
                    0 => (one, one),
                    1..=8 => (one, Milliamps::ZERO),
                    _ => (Milliamps::ZERO, one),
                }
            }
        };
        let measured = (
            current(random, previous.map(|before| before.measured.0), duties.0, supply),
            current(random, previous.map(|before| before.measured.1), duties.1, supply),
        );
        Self { set, measured, supply: random.perhaps(supply, 64) }
    }
}

impl Spelled for SensedPair {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        (self.set, self.measured, self.supply).spell(into, at)
    }
}

fn supply(random: &mut Random, previous: Option<Millivolts>) -> Millivolts {
    if random.once_in(100) {
        random.quantity(None, 5_000, 18_000)
    } else {
        random.quantity(previous, 11_000, 14_500)
    }
}

/// A quarter of the way to what duty and supply drive through the resistance, some noise, rarely an open or shorted coil.
fn current(random: &mut Random, previous: Option<Milliamps>, duty: Duty, supply: Millivolts) -> Milliamps {
    if random.once_in(64) {
        return Milliamps::saturating(if random.once_in(2) { 0 } else { FULL_SCALE });
    }
    let driven = u32::from(duty.raw()).wrapping_mul(u32::from(supply.raw())) / (100 * CENTIOHMS);
    let before = i64::from(previous.map_or(0, Milliamps::raw));
    let way = i64::from(driven).wrapping_sub(before) / 4;
    let noise = if driven == 0 { 0 } else { random.between(-3, 3) };
    Milliamps::saturating(before.wrapping_add(way).wrapping_add(i64::from(noise)))
}
