//! State as bytes: what a black box keeps on one processor goes on, bit for bit, on another.
//!
//! With the feature `snapshot`, every block, signal table and parameter set implements `serde`'s `Serialize` and
//! `Deserialize`. Only a program of the same build reads a snapshot back: who keeps one keeps the build's number and a
//! check sum beside it. Signals and parameters are held against their declared ranges when they are read, blocks are not.

use core::fmt::{self, Formatter};
use core::marker::PhantomData;

use serde::de::{Error, SeqAccess, Visitor};
use serde::ser::SerializeTuple;
use serde::{Deserialize, Deserializer, Serializer};

use crate::declare::{Field, ParameterSet, Record};

/// Writes a record: its raw values in the order of declaration.
///
/// # Errors
///
/// What the writer refuses.
pub fn write_record<R: Record, S: Serializer>(record: &R, serializer: S) -> Result<S::Ok, S::Error> {
    let mut tuple = serializer.serialize_tuple(R::FIELDS.len())?;
    let mut written = Ok(());
    record.visit(|_, raw| {
        if written.is_ok() {
            written = tuple.serialize_element(&raw);
        }
    });
    written?;
    tuple.end()
}

/// Reads a record.
///
/// # Errors
///
/// The bytes end early, or a value is outside its declared range.
pub fn read_record<'de, R: Record, D: Deserializer<'de>>(deserializer: D) -> Result<R, D::Error> {
    struct Values<R>(PhantomData<R>);

    impl<'de, R: Record> Visitor<'de> for Values<R> {
        type Value = R;

        fn expecting(&self, formatter: &mut Formatter<'_>) -> fmt::Result {
            write!(formatter, "{} signals", R::FIELDS.len())
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut raws: A) -> Result<R, A::Error> {
            let mut record = R::default();
            let mut read = Ok(());
            let filled = record.fill(|_| match raws.next_element::<i64>() {
                Ok(Some(raw)) => raw,
                Ok(None) => {
                    read = Err(A::Error::invalid_length(0, &"every signal"));
                    0
                }
                Err(error) => {
                    read = Err(error);
                    0
                }
            });
            read?;
            if filled { Ok(record) } else { Err(A::Error::custom("a signal is outside its range")) }
        }
    }

    deserializer.deserialize_tuple(R::FIELDS.len(), Values(PhantomData))
}

/// Writes a parameter set: its raw values in ascending identifier.
///
/// # Errors
///
/// What the writer refuses.
pub fn write_parameters<P: ParameterSet, S: Serializer>(set: &P, serializer: S) -> Result<S::Ok, S::Error> {
    let mut tuple = serializer.serialize_tuple(P::RULES.len())?;
    for rule in P::RULES {
        tuple.serialize_element(&set.read(rule.id).unwrap_or(rule.default))?;
    }
    tuple.end()
}

/// Reads a parameter set.
///
/// # Errors
///
/// The bytes end early, or a value is against its rule.
pub fn read_parameters<'de, P: ParameterSet, D: Deserializer<'de>>(deserializer: D) -> Result<P, D::Error> {
    struct Values<P>(PhantomData<P>);

    impl<'de, P: ParameterSet> Visitor<'de> for Values<P> {
        type Value = P;

        fn expecting(&self, formatter: &mut Formatter<'_>) -> fmt::Result {
            write!(formatter, "{} parameters", P::RULES.len())
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut raws: A) -> Result<P, A::Error> {
            let mut set = P::default();
            for (place, rule) in P::RULES.iter().enumerate() {
                let raw = raws
                    .next_element()?
                    .ok_or_else(|| A::Error::invalid_length(place, &"every parameter"))?;
                set.stage(rule.id, raw).map_err(A::Error::custom)?;
            }
            Ok(set)
        }
    }

    deserializer.deserialize_tuple(P::RULES.len(), Values(PhantomData))
}

/// Writes a declared value as its raw value.
///
/// # Errors
///
/// What the writer refuses.
pub fn write_field<F: Field, S: Serializer>(field: &F, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_i64(field.to_raw())
}

/// Reads a declared value.
///
/// # Errors
///
/// The raw value is outside its range.
pub fn read_field<'de, F: Field, D: Deserializer<'de>>(deserializer: D) -> Result<F, D::Error> {
    F::from_raw(i64::deserialize(deserializer)?)
        .ok_or_else(|| D::Error::custom("a value is outside its range"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::declare::Access;
    use crate::quantity::{Millis, Period, Ratio, Rpm};
    use crate::timing::{Flasher, FlasherConfig};
    use proptest::prelude::*;

    crate::signals! {
        /// A little of each.
        pub struct Mixed, pub enum MixedIndex {
            /// A level.
            level: bool = false;
            /// A command.
            command: Ratio = Ratio::ZERO;
            /// Eight bytes.
            frame: u64 = 0;
        }
    }

    crate::parameters! {
        /// Two of a kind.
        pub struct Two, pub enum TwoIndex {
            /// First.
            0x0001 first: Rpm = 10, in -100..=100, Access::Tune;
            /// Second.
            0x0005 second: Millis = 10, in 0..=100, Access::Safety;
        }
    }

    fn written<T: serde::Serialize>(value: &T) -> std::vec::Vec<u8> {
        let mut bytes = [0; 256];
        postcard::to_slice(value, &mut bytes).unwrap().to_vec()
    }

    proptest! {
        #[test]
        fn what_was_written_is_read_back(level: bool, command in -1_000_000_i32..1_000_000, frame: u64, first in -100..=100) {
            let mixed = Mixed { level, command: Ratio::from_bits(command).unwrap(), frame };
            prop_assert_eq!(postcard::from_bytes::<Mixed>(&written(&mixed)).unwrap(), mixed);
            let mut two = Two::default();
            two.stage(TwoIndex::first.id(), first).unwrap();
            let back: Two = postcard::from_bytes(&written(&two)).unwrap();
            prop_assert_eq!((back.first().raw(), back.second()), (first, Millis::millis(10)));
        }

        /// Whatever the bytes are, what comes of them keeps its declaration.
        #[test]
        fn a_value_outside_its_declaration_is_never_read(bytes in proptest::collection::vec(any::<u8>(), 0..40)) {
            if let Ok(two) = postcard::from_bytes::<Two>(&bytes) {
                for rule in Two::RULES {
                    let raw = two.read(rule.id).unwrap();
                    prop_assert!(raw >= rule.low && raw <= rule.high);
                }
            }
            if let Ok(ratio) = postcard::from_bytes::<Ratio>(&bytes) {
                prop_assert!(ratio >= Ratio::ONE.reversed() && ratio <= Ratio::ONE);
            }
        }

        #[test]
        fn a_block_goes_on_from_its_snapshot(before in 0_usize..400, after in 1_usize..400) {
            let period = Period::from_micros(10_000).unwrap();
            let config = FlasherConfig { half: Millis::millis(300) };
            let mut flasher = Flasher::new(config, period).unwrap();
            for _ in 0..before {
                flasher.step(true);
            }
            let mut other: Flasher = postcard::from_bytes(&written(&flasher)).unwrap();
            for _ in 0..after {
                prop_assert_eq!(flasher.step(true), other.step(true));
            }
        }
    }

    /// A refusal in words.
    #[derive(Debug)]
    struct Words(std::string::String);

    impl fmt::Display for Words {
        fn fmt(&self, formatter: &mut Formatter<'_>) -> fmt::Result {
            formatter.write_str(&self.0)
        }
    }

    impl core::error::Error for Words {}

    impl Error for Words {
        fn custom<T: fmt::Display>(words: T) -> Self {
            Self(std::format!("{words}"))
        }
    }

    #[test]
    fn what_is_no_list_is_refused_with_what_was_expected() {
        let nothing = serde::de::value::UnitDeserializer::<Words>::new;
        let refused = [
            read_record::<Mixed, _>(nothing()).unwrap_err().0,
            read_parameters::<Two, _>(nothing()).unwrap_err().0,
        ];
        let expected = ["3 signals", "2 parameters"]
            .map(|expected| std::format!("invalid type: unit value, expected {expected}"));
        assert_eq!(refused, expected);
    }

    #[test]
    fn bytes_that_end_early_are_refused() {
        let bytes = written(&Two::default());
        assert!(postcard::from_bytes::<Two>(&bytes[..bytes.len() - 1]).is_err());
        let bytes = written(&Mixed::default());
        assert!(postcard::from_bytes::<Mixed>(&bytes[..bytes.len() - 1]).is_err());
    }
}
