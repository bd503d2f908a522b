//! A value that a declaration can hold: a scalar with a unit and a raw integer behind it.

use crate::quantity::{Millis, Ratio};

/// A scalar that can stand in a declared row.
///
/// Its value in [`UNIT`](Self::UNIT) is `raw · NUMERATOR / DENOMINATOR`.
pub trait Field: Copy {
    /// Bytes of its encoding, 1, 2, 4 or 8, little-endian.
    const BYTES: u8;
    /// Unit of the value, empty for a pure number or a choice.
    const UNIT: &'static str;
    /// Numerator of the scale.
    const NUMERATOR: i64;
    /// Denominator of the scale.
    const DENOMINATOR: i64;
    /// Names of the choices by raw value, empty for a number.
    const CHOICES: &'static [&'static str] = &[];
    /// Smallest raw value.
    const MIN_RAW: i64;
    /// Largest raw value.
    const MAX_RAW: i64;

    /// The raw integer.
    fn to_raw(self) -> i64;

    /// From the raw integer; `None` outside the range.
    fn from_raw(raw: i64) -> Option<Self>;

    /// From the raw integer, held at the nearer end of the range when outside of it.
    fn held(raw: i64) -> Self;
}

macro_rules! integer_field {
    ($($type:ty),*) => {$(
        impl Field for $type {
            const BYTES: u8 = size_of::<$type>() as u8;
            const UNIT: &'static str = "";
            const NUMERATOR: i64 = 1;
            const DENOMINATOR: i64 = 1;
            const MIN_RAW: i64 = <$type>::MIN as i64;
            const MAX_RAW: i64 = <$type>::MAX as i64;

            fn to_raw(self) -> i64 {
                self as i64
            }

            fn from_raw(raw: i64) -> Option<Self> {
                <$type>::try_from(raw).ok()
            }

            fn held(raw: i64) -> Self {
                raw.max(Self::MIN_RAW).min(Self::MAX_RAW) as $type
            }
        }
    )*};
}

integer_field!(u8, u16, u32, i8, i16, i32);

/// Eight bytes of a frame, the first in the lowest place. The raw integer has the same bits.
impl Field for u64 {
    const BYTES: u8 = 8;
    const UNIT: &'static str = "";
    const NUMERATOR: i64 = 1;
    const DENOMINATOR: i64 = 1;
    const MIN_RAW: i64 = i64::MIN;
    const MAX_RAW: i64 = i64::MAX;

    fn to_raw(self) -> i64 {
        self.cast_signed()
    }

    fn from_raw(raw: i64) -> Option<Self> {
        Some(raw.cast_unsigned())
    }

    fn held(raw: i64) -> Self {
        raw.cast_unsigned()
    }
}

impl Field for bool {
    const BYTES: u8 = 1;
    const UNIT: &'static str = "";
    const NUMERATOR: i64 = 1;
    const DENOMINATOR: i64 = 1;
    const CHOICES: &'static [&'static str] = &["no", "yes"];
    const MIN_RAW: i64 = 0;
    const MAX_RAW: i64 = 1;

    fn to_raw(self) -> i64 {
        i64::from(self)
    }

    fn from_raw(raw: i64) -> Option<Self> {
        match raw {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        }
    }

    fn held(raw: i64) -> Self {
        raw > 0
    }
}

impl Field for Ratio {
    const BYTES: u8 = 4;
    const UNIT: &'static str = "%";
    const NUMERATOR: i64 = 100;
    const DENOMINATOR: i64 = Ratio::ONE_BITS as i64;
    const MIN_RAW: i64 = -(Ratio::ONE_BITS as i64);
    const MAX_RAW: i64 = Ratio::ONE_BITS as i64;

    fn to_raw(self) -> i64 {
        i64::from(self.to_bits())
    }

    fn from_raw(raw: i64) -> Option<Self> {
        Self::from_bits(i32::try_from(raw).ok()?)
    }

    fn held(raw: i64) -> Self {
        Self::saturating(raw)
    }
}

impl Field for Millis {
    const BYTES: u8 = 4;
    const UNIT: &'static str = "ms";
    const NUMERATOR: i64 = 1;
    const DENOMINATOR: i64 = 1;
    const MIN_RAW: i64 = 0;
    const MAX_RAW: i64 = u32::MAX as i64;

    fn to_raw(self) -> i64 {
        i64::from(self.ticks())
    }

    fn from_raw(raw: i64) -> Option<Self> {
        u32::try_from(raw).ok().map(Self::from_ticks)
    }

    fn held(raw: i64) -> Self {
        Self::from_ticks(raw.max(Self::MIN_RAW).min(Self::MAX_RAW) as u32)
    }
}

/// Declares an enum whose variants have names that traces, parameters and reports show.
///
/// The first variant is the safe one and the default. A name is one word of letters, digits and `_`, so that
/// formulas and files can hold it; another one fails the build.
///
/// ```
/// trunnion::choices! {
///     /// Which way the drum turns.
///     pub enum Turning {
///         /// Standing.
///         Still = "still",
///         /// With the direction of travel.
///         Forward = "forward",
///     }
/// }
/// use trunnion::declare::Field;
/// assert_eq!(Turning::default(), Turning::Still);
/// assert_eq!(Turning::from_raw(1), Some(Turning::Forward));
/// assert_eq!(Turning::from_raw(2), None);
/// assert_eq!(Turning::CHOICES, ["still", "forward"]);
/// ```
#[macro_export]
macro_rules! choices {
    ($(#[$meta:meta])* $vis:vis enum $name:ident { $(#[$first_meta:meta])* $first:ident = $first_text:literal, $($(#[$variant_meta:meta])* $variant:ident = $text:literal),* $(,)? }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
        #[repr(u8)]
        $vis enum $name {
            $(#[$first_meta])*
            #[default]
            $first,
            $($(#[$variant_meta])* $variant,)*
        }

        impl $name {
            /// All variants, in the order of their raw values.
            pub const ALL: &'static [Self] = &[Self::$first, $(Self::$variant),*];
        }

        impl $crate::declare::Field for $name {
            const BYTES: u8 = 1;
            const UNIT: &'static str = "";
            const NUMERATOR: i64 = 1;
            const DENOMINATOR: i64 = 1;
            const CHOICES: &'static [&'static str] = &[$first_text, $($text),*];
            const MIN_RAW: i64 = 0;
            const MAX_RAW: i64 = Self::ALL.len() as i64 - 1;

            fn to_raw(self) -> i64 {
                self as i64
            }

            fn from_raw(raw: i64) -> Option<Self> {
                Self::ALL.iter().copied().find(|choice| *choice as i64 == raw)
            }

            fn held(raw: i64) -> Self {
                Self::from_raw(raw.max(Self::MIN_RAW).min(Self::MAX_RAW)).unwrap_or_default()
            }
        }

        $crate::in_snapshot!($name, write_field, read_field);

        const _: () = {
            assert!($crate::declare::is_word($first_text), concat!("the name of ", stringify!($first), " is not one word"));
            $( assert!($crate::declare::is_word($text), concat!("the name of ", stringify!($variant), " is not one word")); )*
        };
    };
}

/// True for a name of letters, digits and `_`.
#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
#[doc(hidden)]
pub const fn is_word(name: &str) -> bool {
    let bytes = name.as_bytes();
    let mut place = 0;
    while place < bytes.len() {
        if !bytes[place].is_ascii_alphanumeric() && bytes[place] != b'_' {
            return false;
        }
        place += 1;
    }
    !bytes.is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Celsius, Duty, Rpm};
    use proptest::prelude::*;

    crate::choices! {
        /// Which way the drum turns.
        pub enum Turning {
            /// Standing.
            Still = "still",
            /// With the direction of travel.
            Forward = "forward",
            /// Against it.
            Backward = "backward",
        }
    }

    /// A raw value inside the range is a value that gives it back; outside there is none, and the nearer end is held.
    fn keeps_its_range<F: Field + PartialEq + core::fmt::Debug>(raw: i64) -> Result<(), TestCaseError> {
        let inside = raw >= F::MIN_RAW && raw <= F::MAX_RAW;
        prop_assert_eq!(F::from_raw(raw).map(F::to_raw), inside.then_some(raw));
        prop_assert_eq!(F::held(raw).to_raw(), raw.max(F::MIN_RAW).min(F::MAX_RAW));
        Ok(())
    }

    fn raws() -> impl Strategy<Value = i64> {
        let ends = [
            0,
            1,
            2,
            3,
            127,
            255,
            32_767,
            65_535,
            i64::from(u32::MAX),
            i64::from(i32::MIN),
            i64::MAX,
            i64::MIN,
        ];
        prop_oneof![
            any::<i64>(),
            -300_i64..300,
            (proptest::sample::select(ends.to_vec()), -2_i64..=2)
                .prop_map(|(end, beside)| end.saturating_add(beside)),
        ]
    }

    proptest! {
        #[test]
        fn every_kind_of_field_keeps_its_range(raw in raws()) {
            keeps_its_range::<bool>(raw)?;
            keeps_its_range::<u8>(raw)?;
            keeps_its_range::<i8>(raw)?;
            keeps_its_range::<u16>(raw)?;
            keeps_its_range::<i16>(raw)?;
            keeps_its_range::<u32>(raw)?;
            keeps_its_range::<i32>(raw)?;
            keeps_its_range::<u64>(raw)?;
            keeps_its_range::<Ratio>(raw)?;
            keeps_its_range::<Millis>(raw)?;
            keeps_its_range::<Rpm>(raw)?;
            keeps_its_range::<Celsius>(raw)?;
            keeps_its_range::<Duty>(raw)?;
            keeps_its_range::<Turning>(raw)?;
        }

        #[test]
        fn a_word_is_letters_digits_and_underscores_only(name in "[a-zA-Z0-9_]{1,9}", other in "[^a-zA-Z0-9_]") {
            prop_assert!(is_word(&name));
            for place in [0, name.len() / 2, name.len()] {
                let mut broken = name.clone();
                broken.insert_str(place, &other);
                prop_assert!(!is_word(&broken));
            }
        }
    }

    #[test]
    fn no_letter_at_all_is_no_word() {
        assert!(!is_word(""));
    }
}
