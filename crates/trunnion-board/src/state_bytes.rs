//! A state as bytes, for `serde`: every number in its own length, least byte first, nothing in front of it.
//!
//! | what | bytes |
//! |---|---|
//! | number | its type's, a `bool` one, a `char` four |
//! | option | one: 0 or 1, then the value |
//! | series, map, text, bytes | two with the length, then the elements |
//! | tuple, array, struct | the elements |
//! | choice | one with its place, then its fields |
//!
//! Numbers keep their length, since the writer then runs on a controller without a look at a slice that could panic, and
//! in the same time whatever the state is. There are no names in it: only a program of the same build reads it back.

mod read;
mod write;

pub use read::read;
pub use write::{size, write};

use core::fmt::{self, Display, Formatter};

/// The value has no such bytes, or the bytes are none of such a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoState;

impl Display for NoState {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> fmt::Result {
        formatter.write_str("these bytes are not a state of this build")
    }
}

impl core::error::Error for NoState {}

impl serde::ser::Error for NoState {
    fn custom<T: Display>(_: T) -> Self {
        Self
    }
}

impl serde::de::Error for NoState {
    fn custom<T: Display>(_: T) -> Self {
        Self
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;
    use std::string::String;
    use std::vec::Vec;

    use proptest::prelude::*;
    use serde::{Deserialize, Serialize};

    use super::*;

    #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
    enum Choice {
        Nothing,
        One(i8),
        Two(u16, i64),
        Named { level: bool, depth: u64 },
    }

    #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
    struct Unit;

    #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
    struct Wrapped(i32);

    #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
    struct All {
        unit: Unit,
        wrapped: Wrapped,
        choices: Vec<Choice>,
        maybe: Option<u32>,
        letter: char,
        text: String,
        map: BTreeMap<u8, i16>,
        pair: (u128, i128),
        array: [u16; 3],
        real: (f32, f64),
    }

    fn choice() -> impl Strategy<Value = Choice> {
        prop_oneof![
            Just(Choice::Nothing),
            any::<i8>().prop_map(Choice::One),
            any::<(u16, i64)>().prop_map(|(first, second)| Choice::Two(first, second)),
            any::<(bool, u64)>().prop_map(|(level, depth)| Choice::Named { level, depth }),
        ]
    }

    prop_compose! {
        fn all()(
            wrapped: i32,
            choices in prop::collection::vec(choice(), 0..6),
            maybe: Option<u32>,
            letter: char,
            text: String,
            map: BTreeMap<u8, i16>,
            pair: (u128, i128),
            array: [u16; 3],
            real in (prop::num::f32::NORMAL, prop::num::f64::NORMAL),
        ) -> All {
            All { unit: Unit, wrapped: Wrapped(wrapped), choices, maybe, letter, text, map, pair, array, real }
        }
    }

    fn written(value: &(impl Serialize + ?Sized)) -> Vec<u8> {
        let mut bytes = Vec::new();
        write(value, |more| bytes.extend_from_slice(more)).unwrap();
        bytes
    }

    proptest! {
        #[test]
        fn what_was_written_is_read_back(value in all()) {
            let bytes = written(&value);
            prop_assert_eq!(size(&value) as usize, bytes.len());
            prop_assert_eq!(read::<All>(&bytes), Ok((value, &[][..])));
        }

        #[test]
        fn bytes_that_end_early_are_refused(value in all(), cut: prop::sample::Index) {
            let bytes = written(&value);
            prop_assert_eq!(read::<All>(&bytes[..cut.index(bytes.len())]).map(|(_, rest)| rest), Err(NoState));
        }

        /// Whatever the bytes are, they are read or refused.
        #[test]
        fn no_bytes_are_too_strange(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            if let Ok((value, rest)) = read::<All>(&bytes) {
                prop_assert!(rest.len() < bytes.len());
                prop_assert_eq!(written(&value).len(), bytes.len() - rest.len());
            }
        }
    }

    #[test]
    fn numbers_stand_in_their_own_length_least_byte_first() {
        assert_eq!(written(&0x0102_0304_u32), [4, 3, 2, 1]);
        assert_eq!(written(&-2_i16), [0xFE, 0xFF]);
        assert_eq!(written(&Some(7_u8)), [1, 7]);
        assert_eq!(written(&Choice::One(3)), [1, 3]);
        assert_eq!(written(&[5_u8, 6][..]), [2, 0, 5, 6]);
        assert_eq!(written(&(1_u8, true, 'a')), [1, 1, b'a', 0, 0, 0]);
    }
}
