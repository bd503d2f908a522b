//! Faults: one row each, from which the enum, its table and its list follow.

use crate::quantity::Millis;

/// How long a fault stays once it is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Latch {
    /// Gone when its cause is gone for the clear time.
    WhilePresent,
    /// Kept until the cause is gone and all levers were neutral.
    UntilNeutral,
    /// Kept until the controller is started anew without the cause.
    UntilRestart,
}

/// What a fault does, as a set of the machine's own reaction bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Reactions(pub u16);

impl Reactions {
    /// Told, nothing else.
    pub const NONE: Self = Self(0);

    /// Both sets together.
    pub const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// True when any reaction of `other` is in this set.
    pub const fn has(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }
}

/// What the fault table needs of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FaultRule {
    /// Suspect parameter number (SAE J1939-73).
    pub spn: u32,
    /// Failure mode identifier (SAE J1939-73), 0–31.
    pub fmi: u8,
    /// How long the condition must hold before the fault is set.
    pub set_after: Millis,
    /// How long it must be gone before the fault may clear.
    pub clear_after: Millis,
    /// How long it stays.
    pub latch: Latch,
    /// What it does.
    pub reactions: Reactions,
    /// Blinks of the lamp, 1–99; the smallest active code is shown first.
    pub blink: u8,
}

/// What a row says of a fault, for lists and tools.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FaultInfo {
    /// Name in code.
    pub name: &'static str,
    /// What it means and what to do.
    pub doc: &'static str,
    /// Where on the machine to look.
    pub location: &'static str,
}

/// Declares the faults of a machine: code, times, latch, reactions, lamp and place in one table.
///
/// ```
/// use trunnion::declare::{FaultSet, Latch, Reactions};
///
/// const STOP_TRAVEL: Reactions = Reactions(1);
///
/// trunnion::faults! {
///     /// What can go wrong on the roller.
///     pub enum Fault {
///         /// The travel lever is not heard. Check its plug and the bus.
///         TravelLeverLost: spn 2661, fmi 9, set 0, clear 500, Latch::UntilNeutral, STOP_TRAVEL, blink 11, "travel lever, X9";
///         /// The drum coil draws no current. Check its plug.
///         DrumCoilOpen: spn 520_200, fmi 5, set 50, clear 500, Latch::WhilePresent, Reactions::NONE, blink 21, "drum coil, X3:4";
///     }
/// }
///
/// assert_eq!(Fault::RULES[Fault::DrumCoilOpen as usize].fmi, 5);
/// assert_eq!(Fault::INFO[0].location, "travel lever, X9");
/// ```
#[macro_export]
macro_rules! faults {
    (
        $(#[$meta:meta])*
        $vis:vis enum $name:ident {
            $(
                $(#[doc = $doc:literal])+
                $variant:ident : spn $spn:literal, fmi $fmi:literal, set $set:literal, clear $clear:literal, $latch:expr, $reactions:expr, blink $blink:literal, $location:literal ;
            )*
        }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[repr(u8)]
        $vis enum $name { $( $(#[doc = $doc])+ $variant, )* }

        impl $name {
            /// All, in the order of declaration.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];
            /// Number of declared faults.
            pub const COUNT: usize = Self::ALL.len();
        }

        impl $crate::declare::FaultSet for $name {
            type Bits = [u32; Self::COUNT.div_ceil(32)];
            const RULES: &'static [$crate::declare::FaultRule] = &[$(
                $crate::declare::FaultRule {
                    spn: $spn,
                    fmi: $fmi,
                    set_after: $crate::quantity::Millis::from_ticks($set),
                    clear_after: $crate::quantity::Millis::from_ticks($clear),
                    latch: $latch,
                    reactions: $reactions,
                    blink: $blink,
                },
            )*];
            const INFO: &'static [$crate::declare::FaultInfo] = &[$(
                $crate::declare::FaultInfo { name: stringify!($variant), doc: concat!($($doc),+), location: $location },
            )*];

            fn place(self) -> u16 {
                self as u16
            }
        }

        const _: () = {
            $( assert!($spn < 1 << 19, concat!(stringify!($variant), ": an SPN has 19 bits")); )*
            $( assert!($fmi < 32, concat!(stringify!($variant), ": an FMI has 5 bits")); )*
            $( assert!($blink > 0 && $blink < 100, concat!(stringify!($variant), ": a blink code is 1 to 99")); )*
            assert!($crate::declare::first_repeated_code(<$name as $crate::declare::FaultSet>::RULES).is_none(),
                concat!("two faults of ", stringify!($name), " have the same SPN and FMI"));
        };
    };
}

/// Words of 32 bits, one bit a fault, the first in the lowest bit of the first word.
pub trait FaultBits: Copy + core::fmt::Debug + AsRef<[u32]> + AsMut<[u32]> {
    /// No bit.
    const EMPTY: Self;
}

impl<const WORDS: usize> FaultBits for [u32; WORDS] {
    const EMPTY: Self = [0; WORDS];
}

/// The raw conditions of a machine's faults in one step, a bit each.
///
/// ```
/// use trunnion::declare::{FaultConditions, FaultSet, Latch, Reactions};
///
/// trunnion::faults! {
///     /// What can go wrong on the roller.
///     pub enum Fault {
///         /// The drum coil draws no current. Check its plug.
///         DrumCoilOpen: spn 520_200, fmi 5, set 50, clear 500, Latch::WhilePresent, Reactions::NONE, blink 21, "drum coil, X3:4";
///     }
/// }
///
/// let mut conditions = FaultConditions::<Fault>::none();
/// conditions.add_if(Fault::DrumCoilOpen, true);
/// assert!(conditions.has(Fault::DrumCoilOpen));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FaultConditions<F: FaultSet> {
    bits: F::Bits,
}

impl<F: FaultSet> FaultConditions<F> {
    /// None holds.
    pub const fn none() -> Self {
        Self { bits: F::Bits::EMPTY }
    }

    /// From one flag a fault, in the order of declaration; what is missing does not hold.
    pub fn from_flags(flags: &[bool]) -> Self {
        let mut conditions = Self::none();
        for (word, flags) in conditions.bits.as_mut().iter_mut().zip(flags.chunks(32)) {
            for (bit, flag) in (0_u32..32).zip(flags) {
                *word |= u32::from(*flag).wrapping_shl(bit);
            }
        }
        conditions
    }

    /// With the condition of this fault too, where it is `present`.
    #[inline]
    pub fn add_if(&mut self, fault: F, present: bool) {
        self.add_place_if(fault.place(), present);
    }

    /// With the condition of the fault in this place of the declaration too; a place that does not exist changes nothing.
    #[inline]
    pub fn add_place_if(&mut self, place: u16, present: bool) {
        if let Some(word) = self.bits.as_mut().get_mut(usize::from(place / 32)) {
            *word |= u32::from(present).wrapping_shl(u32::from(place % 32));
        }
    }

    /// True when the condition of this fault holds.
    pub fn has(&self, fault: F) -> bool {
        let word = self.bits.as_ref().get(usize::from(fault.place() / 32));
        word.is_some_and(|word| word.wrapping_shr(u32::from(fault.place() % 32)) & 1 != 0)
    }

    /// All bits, the first fault in the lowest bit of the first word.
    pub fn words(&self) -> &[u32] {
        self.bits.as_ref()
    }
}

/// A machine's declared faults.
pub trait FaultSet: Copy {
    /// One bit a fault: as many words as it takes.
    type Bits: FaultBits;
    /// One rule a fault, in the order of declaration.
    const RULES: &'static [FaultRule];
    /// One text a fault, in the same order.
    const INFO: &'static [FaultInfo];

    /// Its place in the order of declaration.
    fn place(self) -> u16;
}

/// The first row whose SPN and FMI stand in an earlier row too.
#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
#[doc(hidden)]
pub const fn first_repeated_code(rules: &[FaultRule]) -> Option<usize> {
    let mut row = 0;
    while row < rules.len() {
        let mut earlier = 0;
        while earlier < row {
            if rules[earlier].spn == rules[row].spn && rules[earlier].fmi == rules[row].fmi {
                return Some(row);
            }
            earlier += 1;
        }
        row += 1;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_repeated_code_is_found() {
        let rule = |spn, fmi| FaultRule {
            spn,
            fmi,
            set_after: Millis::from_ticks(0),
            clear_after: Millis::from_ticks(0),
            latch: Latch::WhilePresent,
            reactions: Reactions::NONE,
            blink: 1,
        };
        assert_eq!(first_repeated_code(&[rule(1, 2), rule(2, 2), rule(1, 3)]), None);
        assert_eq!(first_repeated_code(&[rule(1, 2), rule(2, 2), rule(1, 2)]), Some(2));
    }

    /// Seventy faults: two full words and a bit of a third. Only their places matter here.
    #[derive(Debug, Clone, Copy)]
    struct Many(u16);

    impl FaultSet for Many {
        type Bits = [u32; 3];
        const RULES: &'static [FaultRule] = &[];
        const INFO: &'static [FaultInfo] = &[];

        fn place(self) -> u16 {
            self.0
        }
    }

    #[test]
    fn each_condition_has_its_own_bit_and_an_absent_one_changes_nothing() {
        for place in 0..70 {
            let mut conditions = FaultConditions::<Many>::none();
            conditions.add_if(Many((place + 1) % 70), false);
            assert_eq!(conditions.words(), [0; 3]);
            conditions.add_if(Many(place), true);
            conditions.add_if(Many(place), false);
            for other in 0..70 {
                assert_eq!(conditions.has(Many(other)), other == place, "{place} and {other}");
            }
            let mut flags = [false; 70];
            flags[usize::from(place)] = true;
            assert_eq!(conditions.words(), FaultConditions::<Many>::from_flags(&flags).words());
            conditions.add_place_if((place + 35) % 70, true);
            conditions.add_place_if((place + 35) % 70, true);
            assert!(conditions.has(Many((place + 35) % 70)) && conditions.has(Many(place)));
        }
        let mut conditions = FaultConditions::<Many>::none();
        conditions.add_place_if(96, true);
        assert_eq!((conditions.words(), conditions.has(Many(96))), ([0; 3].as_slice(), false));
    }

    #[test]
    fn reactions_are_sets() {
        for (one, other) in (0..8).flat_map(|one| (0..8).map(move |other| (one, other))) {
            let joined = Reactions(one).union(Reactions(other));
            for bit in [1, 2, 4] {
                let either = Reactions(one).has(Reactions(bit)) || Reactions(other).has(Reactions(bit));
                assert_eq!(joined.has(Reactions(bit)), either, "{one} and {other}");
            }
        }
    }

    #[test]
    fn reaction_sets_join_and_are_asked() {
        let stop = Reactions(1).union(Reactions(4));
        assert!(stop.has(Reactions(4)));
        assert!(!stop.has(Reactions(2)));
        assert!(!Reactions::NONE.has(stop));
    }
}
