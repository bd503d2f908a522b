//! What a machine measures: mostly plausible, now and then hostile.

use trunnion::quantity::{Milliamps, Millivolts, Ratio, Rpm};
use trunnion::sense::{Flaw, Reading};

use crate::random::Random;

/// Set-point and measured current of two opposite coils.
pub type PairCurrents = [(Milliamps, Milliamps); 2];

/// A speed within a range in whole rpm, once in a while any.
pub fn rpm(random: &mut Random, previous: Option<Rpm>, (low, high): (i32, i32)) -> Rpm {
    if random.once_in(500) {
        return Rpm::saturating(random.between(Rpm::MIN.raw(), Rpm::MAX.raw()).into());
    }
    let (low, high) = (Rpm::from_whole(low).raw(), Rpm::from_whole(high).raw());
    Rpm::saturating(random.moved(previous.map(Rpm::raw), low, high).into())
}

/// A level that is mostly on: off once in so many steps, on again once in so many.
pub fn mostly(random: &mut Random, previous: Option<bool>, off_in: u32, on_in: u32) -> bool {
    if previous.unwrap_or(true) { !random.once_in(off_in) } else { random.once_in(on_in) }
}

/// A share of 0 to 1 that moves as a command does, once in a while any ratio.
pub fn share(random: &mut Random, previous: Option<Ratio>) -> Ratio {
    if random.once_in(200) {
        return random.ratio(previous);
    }
    let previous = previous.map(|share| share.magnitude().to_bits());
    Ratio::saturating(random.moved(previous, 0, Ratio::ONE_BITS).into())
}

/// A reading that fails about once in 200 steps and then for about eight.
pub fn reading<T: Copy>(
    random: &mut Random,
    previous: Option<Reading<T>>,
    next: impl FnOnce(&mut Random, Option<T>) -> T,
) -> Reading<T> {
    let fails = match previous {
        Some(Reading::Faulted(_)) => !random.once_in(8),
        _ => random.once_in(200),
    };
    if fails {
        Reading::Faulted(Flaw::Silent)
    } else {
        Reading::Valid(next(random, previous.and_then(Reading::valid)))
    }
}

/// A set-point of the coil loop: held for some periods of the control loop, sometimes off, else up to 1.7 A, once in a
/// while anything that the type takes.
pub fn current(random: &mut Random, previous: Option<Milliamps>) -> Milliamps {
    match (previous, random.below(256)) {
        (_, 0) if random.once_in(8) => Milliamps::saturating(random.below(65_536).into()),
        (_, 1) => Milliamps::ZERO,
        (Some(set), 2..=250) if set != Milliamps::ZERO || !random.once_in(16) => set,
        (previous, _) => {
            let previous = previous.map(|set| i32::from(set.raw()).min(1700));
            Milliamps::saturating(random.moved(previous, 0, 1700).into())
        }
    }
}

/// Supply of the coils around 12.6 V; sometimes no reading, sometimes any.
pub fn supply(random: &mut Random, previous: Option<Option<Millivolts>>) -> Option<Millivolts> {
    match random.below(400) {
        0 | 1 => None,
        2 => Some(Millivolts::saturating(random.below(65_536).into())),
        _ => {
            let last = previous.flatten().map_or(12_600, |supply| i32::from(supply.raw()));
            let supply = last.saturating_add(random.between(-40, 40)).max(6_000).min(17_500);
            Some(Millivolts::saturating(supply.into()))
        }
    }
}

/// What a coil is told and what it carries: follows within a few steps. Some set-points have a fault of their own, which
/// so lasts as long as they do: open, half, far too much, a reading that stands still.
pub fn coil(random: &mut Random, previous: Option<(Milliamps, Milliamps)>) -> (Milliamps, Milliamps) {
    let set = current(random, previous.map(|(set, _)| set));
    let last = previous.map_or(Milliamps::ZERO, |(_, carried)| carried);
    (set, carried(random, last, set))
}

/// The same for two opposite coils, which are seldom told at once.
pub fn pair(random: &mut Random, previous: Option<&PairCurrents>) -> PairCurrents {
    let last = |place: usize| previous.and_then(|pair| pair.get(place).copied());
    let both = random.once_in(100);
    let a = coil(random, last(0));
    let b = coil(random, last(1));
    let told_last = previous.is_some_and(|[a, _]| a.0 != Milliamps::ZERO);
    if both || a.0 == Milliamps::ZERO || b.0 == Milliamps::ZERO {
        [a, b]
    } else if told_last != random.once_in(80) {
        [a, (Milliamps::ZERO, b.1)]
    } else {
        [(Milliamps::ZERO, a.1), b]
    }
}

fn carried(random: &mut Random, last: Milliamps, set: Milliamps) -> Milliamps {
    if random.once_in(2400) {
        return Milliamps::saturating(random.below(65_536).into());
    }
    let carries = match set.raw() & 31 {
        1 => 0,
        2 => set.raw() / 2,
        3 => 2_000,
        4 => return last,
        _ => set.raw(),
    };
    let last = i32::from(last.raw());
    let way = i32::from(carries).saturating_sub(last);
    let moved = last.saturating_add(way / 3).saturating_add(random.between(-5, 5));
    Milliamps::saturating(if set == Milliamps::ZERO && last < 15 { 0 } else { moved.into() })
}

/// Supply of the coils behind a cut-off: off, on, seldom in between, once in a while any.
pub fn switched_supply(random: &mut Random, previous: Option<Millivolts>) -> Millivolts {
    match (previous, random.below(200)) {
        (_, 0) => Millivolts::saturating(random.below(65_536).into()),
        (_, 1) => Millivolts::saturating(random.between(2_900, 6_100).into()),
        (None, _) | (_, 2..6) => Millivolts::saturating(if random.once_in(2) { 300 } else { 12_600 }),
        (Some(supply), _) => supply,
    }
}
