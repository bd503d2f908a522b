//! Parameters: one row each, from which the set, its rules, its getters and its sheet follow.

use core::fmt::Display;

/// Who may change a parameter, and when.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Access {
    /// The operator's own preference.
    Operator,
    /// Commissioning: an unlocked level, machine at rest.
    Tune,
    /// Changes what keeps people safe: the highest level, machine at rest.
    Safety,
    /// Fixed by the maker; shown, never written.
    Constant,
}

/// What every write is held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Identifier, ascending over the table.
    pub id: u16,
    /// Smallest raw value.
    pub low: i32,
    /// Largest raw value.
    pub high: i32,
    /// Raw value at delivery.
    pub default: i32,
    /// Who may write it.
    pub access: Access,
}

/// What a row says of a parameter, for sheets and tools.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ParameterInfo {
    /// Name in code, files and tools.
    pub name: &'static str,
    /// What it does.
    pub doc: &'static str,
    /// Unit of the value.
    pub unit: &'static str,
    /// The value is `raw · numerator / denominator`.
    pub numerator: i64,
    /// See [`numerator`](Self::numerator).
    pub denominator: i64,
    /// Names by raw value, empty for a number.
    pub choices: &'static [&'static str],
}

/// Why a parameter write or a whole set was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Refusal {
    /// No parameter has this identifier.
    Unknown {
        /// What was asked for.
        id: u16,
    },
    /// The value is outside the parameter's range.
    OutOfRange {
        /// The parameter.
        id: u16,
        /// What was asked for.
        value: i32,
        /// Smallest value.
        low: i32,
        /// Largest value.
        high: i32,
    },
    /// The parameter is fixed by the maker.
    Constant {
        /// The parameter.
        id: u16,
    },
    /// Each value is in range, but they contradict one another.
    Contradiction {
        /// The parameter to change.
        id: u16,
        /// Its value.
        value: i32,
        /// Which rule is broken.
        rule: &'static str,
    },
}

impl Display for Refusal {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match *self {
            Self::Unknown { id } => write!(formatter, "there is no parameter 0x{id:04X}"),
            Self::OutOfRange { id, value, low, high } => {
                write!(formatter, "parameter 0x{id:04X}: {value} is outside {low}..={high}")
            }
            Self::Constant { id } => write!(formatter, "parameter 0x{id:04X} is fixed by the maker"),
            Self::Contradiction { id, value, rule } => {
                write!(formatter, "parameter 0x{id:04X} = {value}: {rule}")
            }
        }
    }
}

impl core::error::Error for Refusal {}

/// A set of parameters: every value is inside its rule at any time.
pub trait ParameterSet: Copy + Default + PartialEq {
    /// One rule a parameter, in ascending identifier.
    const RULES: &'static [Rule];
    /// One text a parameter, in the order of the rules.
    const INFO: &'static [ParameterInfo];

    /// Raw value by place in the table; 0 when there is no such place.
    fn raw(&self, index: u16) -> i32;

    /// Raw value by identifier.
    fn read(&self, id: u16) -> Option<i32>;

    /// Sets one raw value by identifier, held against its rule.
    ///
    /// # Errors
    ///
    /// [`Refusal`]: there is no such parameter, it is fixed, or the value is outside its rule; nothing changes then.
    fn stage(&mut self, id: u16, raw: i32) -> Result<(), Refusal>;
}

/// Finds the place of an identifier in rules of ascending identifier.
pub fn place_of(rules: &[Rule], id: u16) -> Option<usize> {
    rules.binary_search_by_key(&id, |rule| rule.id).ok()
}

/// Refuses a table whose identifiers do not ascend or whose default is outside its range: `None` is right,
/// else the place of the first wrong row.
#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
#[doc(hidden)]
pub const fn first_wrong_row(rules: &[Rule]) -> Option<usize> {
    let mut row = 0;
    while row < rules.len() {
        let rule = &rules[row];
        if rule.low > rule.default || rule.default > rule.high || (row > 0 && rules[row - 1].id >= rule.id) {
            return Some(row);
        }
        row += 1;
    }
    None
}

/// Declares a parameter set: identifier, name, type, default, range and access in one table.
///
/// ```
/// use trunnion::declare::{Access, ParameterSet, Refusal};
/// use trunnion::quantity::{Millis, Permille};
///
/// trunnion::parameters! {
///     /// What the roller's owner may tune.
///     pub struct Parameters, pub enum Parameter {
///         /// Largest travel speed.
///         0x0101 travel_maximum: Permille = 1000, in 200..=1000, Access::Tune;
///         /// Time from standstill to full speed.
///         0x0102 travel_rise: Millis = 1500, in 300..=10_000, Access::Tune;
///     }
/// }
///
/// let mut staged = Parameters::default();
/// staged.stage(0x0102, 2_000).unwrap();
/// assert_eq!(staged.travel_rise(), Millis::millis(2_000));
/// assert_eq!(
///     staged.stage(0x0101, 50),
///     Err(Refusal::OutOfRange { id: 0x0101, value: 50, low: 200, high: 1000 })
/// );
/// ```
#[macro_export]
macro_rules! parameters {
    (
        $(#[$meta:meta])*
        $vis:vis struct $name:ident, $index_vis:vis enum $index:ident {
            $(
                $(#[doc = $doc:literal])+
                $id:literal $field:ident : $type:ty = $default:literal, in $low:literal ..= $high:literal, $access:expr ;
            )*
        }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        $vis struct $name {
            values: [i32; <Self as $crate::declare::ParameterSet>::RULES.len()],
        }

        #[doc = concat!("Place of each parameter of [`", stringify!($name), "`].")]
        #[allow(non_camel_case_types)]
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[repr(u16)]
        $index_vis enum $index { $( $(#[doc = $doc])+ $field, )* }

        impl $index {
            /// The identifier that tools use.
            pub const fn id(self) -> u16 {
                match self { $( Self::$field => $id, )* }
            }
        }

        impl Default for $name {
            fn default() -> Self {
                Self { values: [$($default),*] }
            }
        }

        impl $name {
            $(
                $(#[doc = $doc])+
                pub fn $field(&self) -> $type {
                    let raw = self.values[$index::$field as usize];
                    <$type as $crate::declare::Field>::held(raw as i64)
                }
            )*

            /// The refusal of a set in which this parameter contradicts another: `rule` says what it must be.
            #[allow(dead_code, reason = "a private set may have no rule between its parameters")]
            pub fn contradiction(&self, parameter: $index, rule: &'static str) -> $crate::declare::Refusal {
                let value = $crate::declare::ParameterSet::raw(self, parameter as u16);
                $crate::declare::Refusal::Contradiction { id: parameter.id(), value, rule }
            }
        }

        impl $crate::declare::ParameterSet for $name {
            const RULES: &'static [$crate::declare::Rule] = &[$(
                $crate::declare::Rule { id: $id, low: $low, high: $high, default: $default, access: $access },
            )*];
            const INFO: &'static [$crate::declare::ParameterInfo] = &[$(
                $crate::declare::ParameterInfo {
                    name: stringify!($field),
                    doc: concat!($($doc),+),
                    unit: <$type as $crate::declare::Field>::UNIT,
                    numerator: <$type as $crate::declare::Field>::NUMERATOR,
                    denominator: <$type as $crate::declare::Field>::DENOMINATOR,
                    choices: <$type as $crate::declare::Field>::CHOICES,
                },
            )*];

            fn raw(&self, index: u16) -> i32 {
                self.values.get(usize::from(index)).copied().unwrap_or(0)
            }

            fn read(&self, id: u16) -> Option<i32> {
                self.values.get($crate::declare::place_of(Self::RULES, id)?).copied()
            }

            fn stage(&mut self, id: u16, raw: i32) -> Result<(), $crate::declare::Refusal> {
                use $crate::declare::{Access, Refusal};
                let place = $crate::declare::place_of(Self::RULES, id).ok_or(Refusal::Unknown { id })?;
                let (Some(rule), Some(value)) = (Self::RULES.get(place), self.values.get_mut(place)) else {
                    return Err(Refusal::Unknown { id });
                };
                if rule.access == Access::Constant && raw != rule.default {
                    return Err(Refusal::Constant { id });
                }
                if raw < rule.low || raw > rule.high {
                    return Err(Refusal::OutOfRange { id, value: raw, low: rule.low, high: rule.high });
                }
                *value = raw;
                Ok(())
            }
        }

        $crate::in_snapshot!($name, write_parameters, read_parameters);

        const _: () = {
            $( assert!($low as i64 >= <$type as $crate::declare::Field>::MIN_RAW && $high as i64 <= <$type as $crate::declare::Field>::MAX_RAW,
                concat!("the range of ", stringify!($field), " is wider than its type's")); )*
            $( assert!($low <= $default && $default <= $high, concat!("the default of ", stringify!($field), " is outside its range")); )*
            assert!($crate::declare::first_wrong_row(<$name as $crate::declare::ParameterSet>::RULES).is_none(),
                concat!("identifiers of ", stringify!($name), " must ascend"));
        };
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Millis, Permille};
    use proptest::prelude::*;

    crate::parameters! {
        /// Three of a kind.
        pub struct Three, pub enum ThreeIndex {
            /// First.
            0x0001 first: Permille = 10, in -100..=100, Access::Tune;
            /// Second.
            0x0005 second: Millis = 10, in 0..=100, Access::Safety;
            /// Third.
            0x0100 third: u8 = 7, in 0..=255, Access::Constant;
        }
    }

    #[test]
    fn a_constant_is_read_and_never_written() {
        let mut three = Three::default();
        assert_eq!(three.read(0x0100), Some(7));
        assert_eq!(three.stage(0x0100, 8), Err(Refusal::Constant { id: 0x0100 }));
        assert_eq!(three.stage(0x0100, 7), Ok(()));
        assert_eq!(ThreeIndex::third.id(), 0x0100);
        assert_eq!((three.first().raw(), three.second().ticks(), three.third()), (10, 10, 7));
    }

    #[test]
    fn a_contradiction_names_the_parameter_its_value_and_the_rule() {
        let mut three = Three::default();
        three.stage(0x0005, 70).unwrap();
        let refusal = three.contradiction(ThreeIndex::second, "is longer than the first");
        assert_eq!(std::format!("{refusal}"), "parameter 0x0005 = 70: is longer than the first");
    }

    #[test]
    fn a_table_with_a_wrong_row_is_found() {
        let rule = |id, default| Rule { id, low: 0, high: 10, default, access: Access::Tune };
        assert_eq!(first_wrong_row(&[rule(1, 0), rule(2, 10)]), None);
        assert_eq!(first_wrong_row(&[rule(1, 0), rule(1, 0)]), Some(1));
        assert_eq!(first_wrong_row(&[rule(1, 11)]), Some(0));
    }

    proptest! {
        #[test]
        fn no_write_leaves_a_value_outside_its_rule(writes in proptest::collection::vec((0_u16..0x110, any::<i32>()), 0..50)) {
            let mut three = Three::default();
            for (id, raw) in writes {
                let before = three;
                if three.stage(id, raw).is_err() {
                    prop_assert_eq!(three, before);
                }
            }
            for (place, rule) in Three::RULES.iter().enumerate() {
                let raw = three.raw(place as u16);
                prop_assert!(raw >= rule.low && raw <= rule.high);
            }
        }
    }

    #[test]
    fn a_refusal_names_the_parameter_and_what_is_allowed() {
        let words = |refusal: Refusal| std::format!("{refusal}");
        assert_eq!(words(Three::default().stage(0x0102, 1).unwrap_err()), "there is no parameter 0x0102");
        assert_eq!(
            words(Three::default().stage(5, 101).unwrap_err()),
            "parameter 0x0005: 101 is outside 0..=100"
        );
        assert_eq!(
            words(Three::default().stage(0x0100, 8).unwrap_err()),
            "parameter 0x0100 is fixed by the maker"
        );
        assert_eq!(
            words(Refusal::Contradiction { id: 1, value: 30, rule: "low is above high" }),
            "parameter 0x0001 = 30: low is above high"
        );
    }
}
