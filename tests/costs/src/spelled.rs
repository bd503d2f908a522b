//! Inputs and outputs in words, as the twins take and give them.

use trunnion::propel::Sides;
use trunnion::quantity::{
    Celsius, Centiohms, Duty, Kilopascals, Microamps, Milliamps, Millivolts, Permille, Ratio, Rpm,
};
use trunnion::sense::{Flaw, Reading};

use crate::scale::Words;

/// A value that can be written in words.
pub trait Spelled {
    /// Writes it from the place `at` on; gives the place behind it.
    fn spell(&self, into: &mut Words, at: usize) -> usize;
}

/// Writes one word.
pub fn put(into: &mut Words, at: usize, word: i32) -> usize {
    if let Some(place) = into.get_mut(at) {
        *place = word;
    }
    at.wrapping_add(1)
}

fn flagged<T: Spelled>(into: &mut Words, at: usize, flag: i32, value: Option<&T>) -> usize {
    let at = put(into, at, flag);
    match value {
        Some(value) => value.spell(into, at),
        None => put(into, at, 0),
    }
}

macro_rules! one_word {
    ($($type:ty: $value:ident => $word:expr),* $(,)?) => {$(
        impl Spelled for $type {
            fn spell(&self, into: &mut Words, at: usize) -> usize {
                let $value = *self;
                put(into, at, $word)
            }
        }
    )*};
}

one_word! {
    bool: value => i32::from(value),
    u8: value => i32::from(value),
    u16: value => i32::from(value),
    u32: value => value.cast_signed(),
    i32: value => value,
    Ratio: value => value.to_bits(),
    Permille: value => i32::from(value.raw()),
    Rpm: value => value.raw(),
    Milliamps: value => i32::from(value.raw()),
    Microamps: value => i32::from(value.raw()),
    Millivolts: value => i32::from(value.raw()),
    Kilopascals: value => value.raw(),
    Celsius: value => i32::from(value.raw()),
    Duty: value => i32::from(value.raw()),
    Centiohms: value => i32::from(value.raw()),
    Flaw: value => value as i32,
}

/// Enums: the ordinal in the order of declaration.
macro_rules! ordinals {
    ($($type:ty),* $(,)?) => {$(
        impl Spelled for $type {
            fn spell(&self, into: &mut Words, at: usize) -> usize {
                put(into, at, *self as i32)
            }
        }
    )*};
}

ordinals! {
    trunnion::guard::CutOffState,
    trunnion::guard::GateState,
    trunnion::guard::HoldState,
    trunnion::guard::ParkBrakeState,
    trunnion::guard::StartPhase,
    trunnion::propel::SinglePathState,
    trunnion::sense::FreshnessState,
    trunnion::sense::TurnDirection,
    trunnion::valve::TestPulseState,
}

/// A flag and the value, 0 where there is none.
impl<T: Spelled> Spelled for Option<T> {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        flagged(into, at, i32::from(self.is_some()), self.as_ref())
    }
}

/// 0 and the value, or 1 + the ordinal of the flaw and 0.
impl<T: Spelled> Spelled for Reading<T> {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        match self {
            Self::Valid(value) => flagged(into, at, 0, Some(value)),
            Self::Faulted(flaw) => flagged::<T>(into, at, (*flaw as i32).wrapping_add(1), None),
        }
    }
}

impl Spelled for Sides {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.left.spell(into, at);
        self.right.spell(into, at)
    }
}

impl<T: Spelled, const N: usize> Spelled for [T; N] {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        self.iter().fold(at, |at, value| value.spell(into, at))
    }
}

macro_rules! tuples {
    ($(($($name:ident),+)),* $(,)?) => {$(
        #[allow(non_snake_case)] // a type parameter and the value of that type
        impl<$($name: Spelled),+> Spelled for ($($name,)+) {
            fn spell(&self, into: &mut Words, at: usize) -> usize {
                let ($($name,)+) = self;
                $(let at = $name.spell(into, at);)+
                at
            }
        }
    )*};
}

tuples! { (A, B), (A, B, C), (A, B, C, D), (A, B, C, D, E), (A, B, C, D, E, F) }
