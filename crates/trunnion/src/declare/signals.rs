//! Signals: one row each, from which the struct, its safe value, its index and its wiring list follow.

use super::Wire;

/// What a row says of a signal, for traces, wiring lists and reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FieldInfo {
    /// Name in code, traces and scenarios.
    pub name: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// Unit of the value.
    pub unit: &'static str,
    /// The value is `raw · numerator / denominator`.
    pub numerator: i64,
    /// See [`numerator`](Self::numerator).
    pub denominator: i64,
    /// Names by raw value, empty for a number.
    pub choices: &'static [&'static str],
    /// Bytes of its encoding.
    pub bytes: u8,
    /// Smallest raw value that the hardware gives or the program writes.
    pub low: i64,
    /// Largest raw value that the hardware gives or the program writes.
    pub high: i64,
    /// Connector and pin, empty for an internal value.
    pub pin: &'static str,
    /// Electrical kind.
    pub wire: Wire,
}

/// A struct of declared signals, reachable by index.
pub trait Record: Copy + Default + Send + Sync + 'static {
    /// One entry a signal, in the order of declaration.
    const FIELDS: &'static [FieldInfo];

    /// Raw value by index; 0 when there is no such signal.
    fn get(&self, index: u16) -> i64;

    /// Sets a raw value by index; false, and nothing changed, when there is no such signal or the value
    /// is outside its type's range.
    fn set(&mut self, index: u16, raw: i64) -> bool;

    /// Bytes of the whole encoding.
    const ENCODED_BYTES: u16;

    /// Shows every raw value in the order of declaration, with its number of bytes.
    fn visit(&self, see: impl FnMut(u8, i64));

    /// Replaces every value in the order of declaration by what `give` returns for its number of bytes; a
    /// raw value outside its type's range leaves the signal as it is. False when any was left.
    fn fill(&mut self, give: impl FnMut(u8) -> i64) -> bool;

    /// Writes the little-endian encoding; stops where `out` ends. Returns the bytes written.
    fn encode(&self, out: &mut [u8]) -> u16 {
        let mut places = out.iter_mut();
        let mut written = 0_u16;
        self.visit(|bytes, raw| {
            for (place, byte) in places.by_ref().zip(raw.to_le_bytes()).take(bytes.into()) {
                *place = byte;
                written = written.wrapping_add(1);
            }
        });
        written
    }

    /// Reads the little-endian encoding; missing bytes count as zero. False when any value was outside its
    /// type's range (that signal keeps its value).
    fn decode(&mut self, bytes: &[u8]) -> bool {
        let mut rest = bytes.iter().copied();
        self.fill(|count| {
            let mut raw = [0_u8; 8];
            for place in raw.iter_mut().take(count.into()) {
                *place = rest.next().unwrap_or(0);
            }
            // Sign or zero extension is settled by the field: both readings have the same low bytes.
            i64::from_le_bytes(raw)
        })
    }
}

/// Reads a raw value of `bytes` bytes as a field's type does: sign-extended when its range goes below zero.
#[doc(hidden)]
pub const fn extend(raw: i64, bytes: u8, signed: bool) -> i64 {
    if !signed || bytes >= 8 {
        return raw;
    }
    let shift = 64_u32.wrapping_sub((bytes as u32).wrapping_mul(8));
    // The one arithmetic shift: sign extension.
    raw.wrapping_shl(shift).wrapping_shr(shift)
}

/// Declares a struct of signals: fields, safe values, ranges, pins and electrical kinds in one table.
///
/// A row is `/// text`, then `name: Type = safe value`, then, where they apply, `named "column"` (how traces
/// call it, default: the name), `in low..=high` (raw range, default: that of the type) and
/// `at "connector:pin", Wire::Kind`.
///
/// ```
/// use trunnion::declare::{Record, Wire};
/// use trunnion::quantity::Millivolts;
///
/// trunnion::signals! {
///     /// What the wiring brings.
///     pub struct Inputs, pub enum Input {
///         /// Seat switch, closed while somebody sits.
///         seat_switch: bool = false, at "X1:7", Wire::SwitchToSupply;
///         /// Battery voltage.
///         supply_voltage: Millivolts = Millivolts::ZERO, in 0..=36_000, at "X1:1", Wire::VoltageSense;
///         /// Loops since start.
///         loops: u32 = 0;
///     }
/// }
///
/// let mut inputs = Inputs::default();
/// assert!(inputs.set(Input::supply_voltage as u16, 12_600));
/// assert_eq!(inputs.supply_voltage, Millivolts::new(12_600).unwrap());
/// assert!(!inputs.set(Input::seat_switch as u16, 2), "a switch is open or closed");
/// assert_eq!(Inputs::FIELDS[0].pin, "X1:7");
/// ```
#[macro_export]
macro_rules! signals {
    (
        $(#[$meta:meta])*
        $vis:vis struct $name:ident, $index_vis:vis enum $index:ident {
            $(
                $(#[doc = $doc:literal])+
                $field:ident : $type:ty = $safe:expr $(, named $named:expr)? $(, in $low:literal ..= $high:literal)? $(, at $pin:literal, $wire:expr)? ;
            )*
        }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        $vis struct $name {
            $( $(#[doc = $doc])+ pub $field: $type, )*
        }

        #[doc = concat!("Index of each signal of [`", stringify!($name), "`].")]
        #[allow(non_camel_case_types)]
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[repr(u16)]
        $index_vis enum $index { $( $(#[doc = $doc])+ $field, )* }

        impl Default for $name {
            fn default() -> Self {
                Self { $( $field: $safe, )* }
            }
        }

        impl $crate::declare::Record for $name {
            const FIELDS: &'static [$crate::declare::FieldInfo] = &[$(
                $crate::declare::FieldInfo {
                    name: $crate::first!($($named,)? stringify!($field)),
                    doc: concat!($($doc),+),
                    unit: <$type as $crate::declare::Field>::UNIT,
                    numerator: <$type as $crate::declare::Field>::NUMERATOR,
                    denominator: <$type as $crate::declare::Field>::DENOMINATOR,
                    choices: <$type as $crate::declare::Field>::CHOICES,
                    bytes: <$type as $crate::declare::Field>::BYTES,
                    low: $crate::first!($($low,)? <$type as $crate::declare::Field>::MIN_RAW),
                    high: $crate::first!($($high,)? <$type as $crate::declare::Field>::MAX_RAW),
                    pin: $crate::first!($($pin,)? ""),
                    wire: $crate::first!($($wire,)? $crate::declare::Wire::Internal),
                },
            )*];
            const ENCODED_BYTES: u16 = 0 $( + <$type as $crate::declare::Field>::BYTES as u16 )*;

            fn get(&self, index: u16) -> i64 {
                $( if index == $index::$field as u16 { return $crate::declare::Field::to_raw(self.$field); } )*
                0
            }

            fn set(&mut self, index: u16, raw: i64) -> bool {
                $(
                    if index == $index::$field as u16 {
                        let Some(value) = <$type as $crate::declare::Field>::from_raw(raw) else { return false };
                        self.$field = value;
                        return true;
                    }
                )*
                false
            }

            fn visit(&self, mut see: impl FnMut(u8, i64)) {
                $( see(<$type as $crate::declare::Field>::BYTES, $crate::declare::Field::to_raw(self.$field)); )*
            }

            fn fill(&mut self, mut give: impl FnMut(u8) -> i64) -> bool {
                let mut whole = true;
                $(
                    let bytes = <$type as $crate::declare::Field>::BYTES;
                    let signed = <$type as $crate::declare::Field>::MIN_RAW < 0;
                    let raw = $crate::declare::extend(give(bytes), bytes, signed);
                    match <$type as $crate::declare::Field>::from_raw(raw) {
                        Some(value) => self.$field = value,
                        None => whole = false,
                    }
                )*
                whole
            }
        }

        $crate::in_snapshot!($name, write_record, read_record);

        const _: () = {
            $( $( assert!($low <= $high && $low as i64 >= <$type as $crate::declare::Field>::MIN_RAW && $high as i64 <= <$type as $crate::declare::Field>::MAX_RAW,
                concat!("the range of ", stringify!($field), " is empty or wider than its type's")); )? )*
        };
    };
}

/// The first of its arguments: a given entry of a row, else the default behind it.
#[doc(hidden)]
#[macro_export]
macro_rules! first {
    ($first:expr $(, $rest:expr)*) => {
        $first
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Ratio, Rpm};
    use proptest::prelude::*;

    crate::signals! {
        /// A little of each.
        pub struct Mixed, pub enum MixedIndex {
            /// A level.
            level: bool = false, at "X1:1", Wire::SwitchToGround;
            /// A speed.
            speed: Rpm = Rpm::ZERO, in -20000..=20000;
            /// A command.
            command: Ratio = Ratio::ZERO;
            /// Eight bytes.
            frame: u64 = u64::MAX, at "X9:1", Wire::Frame;
            /// A signed byte.
            small: i8 = -1;
        }
    }

    #[test]
    fn a_raw_value_is_extended_by_its_sign_where_its_range_has_one() {
        assert_eq!([extend(0xFF, 1, false), extend(0xFF, 1, true), extend(0x7F, 1, true)], [255, -1, 127]);
        assert_eq!([extend(0x8000, 2, false), extend(0x8000, 2, true)], [0x8000, -0x8000]);
        assert_eq!([extend(i64::MIN, 8, false), extend(i64::MIN, 8, true)], [i64::MIN; 2]);
    }

    #[test]
    fn the_default_is_the_safe_value_of_each_row() {
        let mixed = Mixed::default();
        assert_eq!(mixed.frame, u64::MAX);
        assert_eq!(mixed.get(MixedIndex::small as u16), -1);
        assert_eq!(mixed.get(99), 0);
        assert_eq!(Mixed::ENCODED_BYTES, 1 + 4 + 4 + 8 + 1);
        assert_eq!(Mixed::FIELDS[1].low, -20000);
    }

    proptest! {
        #[test]
        fn what_was_encoded_decodes_to_the_same(
            level: bool, speed in -524_288..=524_287_i64, command in -1_073_741_824_i64..=1_073_741_824, frame: u64, small: i8
        ) {
            let mut mixed = Mixed { level, frame, small, ..Mixed::default() };
            prop_assert!(mixed.set(MixedIndex::speed as u16, speed));
            prop_assert!(mixed.set(MixedIndex::command as u16, command));
            let mut bytes = [0; Mixed::ENCODED_BYTES as usize];
            prop_assert_eq!(mixed.encode(&mut bytes), Mixed::ENCODED_BYTES);
            let mut back = Mixed::default();
            prop_assert!(back.decode(&bytes));
            prop_assert_eq!(back, mixed);
        }

        #[test]
        fn any_bytes_decode_without_leaving_a_range(bytes in proptest::collection::vec(any::<u8>(), 0..40)) {
            let mut mixed = Mixed::default();
            mixed.decode(&bytes);
            prop_assert!(mixed.command.to_bits().abs() <= Ratio::ONE_BITS);
            prop_assert!(mixed.speed >= Rpm::MIN && mixed.speed <= Rpm::MAX);
        }
    }

    proptest! {
        #[test]
        fn a_value_outside_its_type_is_refused_and_changes_nothing(
            index in 0_u16..8, raw in prop_oneof![-300_i64..300, any::<i64>()]
        ) {
            let before = Mixed { level: true, small: 5, ..Mixed::default() };
            let mut mixed = before;
            let taken = mixed.set(index, raw);
            prop_assert_eq!(taken, Mixed::FIELDS.get(usize::from(index)).is_some() && mixed.get(index) == raw);
            if !taken {
                prop_assert_eq!(mixed, before);
            }
        }
    }

    #[test]
    fn bytes_outside_a_range_leave_that_signal_and_take_the_others() {
        let mut bytes = [0; Mixed::ENCODED_BYTES as usize];
        Mixed { small: 7, ..Mixed::default() }.encode(&mut bytes);
        bytes[0] = 2;
        bytes[5..9].copy_from_slice(&i32::MAX.to_le_bytes());
        let mut mixed = Mixed { level: true, ..Mixed::default() };
        assert!(!mixed.decode(&bytes), "a switch is open or closed");
        assert!(mixed.level && mixed.small == 7);
    }

    #[test]
    fn an_encoding_stops_where_there_is_no_more_room() {
        let mixed = Mixed { small: 7, ..Mixed::default() };
        let mut whole = [0; Mixed::ENCODED_BYTES as usize];
        mixed.encode(&mut whole);
        for room in 0..whole.len() {
            let mut bytes = [0; Mixed::ENCODED_BYTES as usize];
            assert_eq!(usize::from(mixed.encode(&mut bytes[..room])), room);
            assert_eq!(bytes[..room], whole[..room]);
        }
    }
}
