//! A number that tells two declarations apart.
//!
//! Host and image must be built from the same declaration, or equal bytes mean different things. Both compute
//! this number when they are built; the texts that go into it are not part of the image.

use trunnion::declare::{FieldInfo, ParameterSet, Record, Rule};
use trunnion::machine::{FastInputs, FastOutputs, Machine};

/// Raised whenever the messages change.
pub const PROTOCOL_VERSION: u32 = 2;

/// Start value and factor of the 64-bit FNV-1a hash (Fowler, Noll and Vo; public domain).
const FNV_BASIS: u64 = 0xCBF2_9CE4_8422_2325;
const FNV_PRIME: u64 = 0x0000_0100_0000_01B3;

/// The number of a machine's declaration: names, sizes and ranges of all signals and parameters, periods.
pub const fn layout<M: Machine>() -> u64 {
    let mut hash = with_number(FNV_BASIS, PROTOCOL_VERSION as i64);
    hash = with_number(hash, M::PERIOD.micros() as i64);
    hash = with_number(hash, M::FAST_STEPS as i64);
    hash = with_fields(hash, <FastInputs<M> as Record>::FIELDS);
    hash = with_fields(hash, <FastOutputs<M> as Record>::FIELDS);
    hash = with_fields(hash, <M::Inputs as Record>::FIELDS);
    hash = with_fields(hash, <M::Outputs as Record>::FIELDS);
    hash = with_fields(hash, <M::Diagnostics as Record>::FIELDS);
    with_rules(hash, <M::Parameters as ParameterSet>::RULES)
}

#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
const fn with_fields(mut hash: u64, fields: &[FieldInfo]) -> u64 {
    hash = with_number(hash, fields.len() as i64);
    let mut place = 0;
    while place < fields.len() {
        let field = &fields[place];
        hash = with_bytes(hash, field.name.as_bytes());
        hash = with_number(hash, field.bytes as i64);
        hash = with_number(hash, field.low);
        hash = with_number(hash, field.high);
        place += 1;
    }
    hash
}

#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
const fn with_rules(mut hash: u64, rules: &[Rule]) -> u64 {
    hash = with_number(hash, rules.len() as i64);
    let mut place = 0;
    while place < rules.len() {
        let rule = &rules[place];
        hash = with_number(hash, rule.id as i64);
        hash = with_number(hash, rule.low as i64);
        hash = with_number(hash, rule.high as i64);
        hash = with_number(hash, rule.default as i64);
        place += 1;
    }
    hash
}

const fn with_number(hash: u64, number: i64) -> u64 {
    with_bytes(hash, &number.to_le_bytes())
}

#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
const fn with_bytes(mut hash: u64, bytes: &[u8]) -> u64 {
    let mut place = 0;
    while place < bytes.len() {
        hash = (hash ^ bytes[place] as u64).wrapping_mul(FNV_PRIME);
        place += 1;
    }
    hash
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::declare::Wire;

    const FIELD: FieldInfo = FieldInfo {
        name: "one",
        doc: "",
        unit: "",
        numerator: 1,
        denominator: 1,
        choices: &[],
        bytes: 2,
        low: 0,
        high: 9,
        pin: "",
        wire: Wire::Internal,
    };

    #[test]
    fn the_hash_is_the_published_one() {
        // Test vectors "a" and "foobar" of the authors' own test suite, from memory.
        assert_eq!(with_bytes(FNV_BASIS, b"a"), 0xAF63_DC4C_8601_EC8C);
        assert_eq!(with_bytes(FNV_BASIS, b"foobar"), 0x8594_4171_F739_67E8);
    }

    #[test]
    fn another_name_size_range_or_order_gives_another_number() {
        let two = FieldInfo { name: "two", ..FIELD };
        let declarations: [&[FieldInfo]; 6] = [
            &[FIELD],
            &[two],
            &[FieldInfo { bytes: 1, ..FIELD }],
            &[FieldInfo { high: 10, ..FIELD }],
            &[FIELD, two],
            &[two, FIELD],
        ];
        let numbers = declarations.map(|fields| with_fields(FNV_BASIS, fields));
        for (place, number) in numbers.iter().enumerate() {
            assert!(!numbers[..place].contains(number));
        }
    }
}
