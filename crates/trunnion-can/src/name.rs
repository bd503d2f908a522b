//! The 64-bit NAME of a controller (SAE J1939-81).

use crate::layout::name;

/// Who a controller is on the bus. The lower NAME, read as a number, wins an address.
///
/// ```
/// use trunnion_can::name::Name;
///
/// let name = Name::parse([0x10, 0xF7, 0x45, 0x01, 0x00, 0x45, 0x00, 0x01]);
/// assert_eq!((name.identity(), name.manufacturer(), name.function()), (390_928, 10, 69));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Name(u64);

/// The fields that a NAME is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct NameFields {
    /// Serial number of the unit within its maker, 21 bits.
    pub identity: u32,
    /// Maker, assigned by SAE, 11 bits.
    pub manufacturer: u16,
    /// Which of several controllers of this function, 3 bits.
    pub controller_instance: u8,
    /// Which of several such functions, 5 bits.
    pub function_instance: u8,
    /// What it does, 8 bits.
    pub function: u8,
    /// Kind of vehicle system, 7 bits.
    pub vehicle_system: u8,
    /// Which of several such systems, 4 bits.
    pub vehicle_system_instance: u8,
    /// Industry group, 3 bits: 3 is construction equipment (from memory).
    pub industry_group: u8,
    /// Whether it may take another address when it loses its own.
    pub may_move: MayMove,
}

/// What a controller does when its address goes to a lower NAME.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MayMove {
    /// It is silent from then on.
    No,
    /// It looks for another address, 128 to 247.
    Yes,
}

/// Why [`NameFields`] are no NAME.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NameError {
    /// A field has more bits than there is room for.
    TooLarge {
        /// Which.
        field: &'static str,
        /// What was given.
        value: u32,
        /// The most that fits.
        largest: u32,
    },
}

impl core::fmt::Display for NameError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Self::TooLarge { field, value, largest } = self;
        write!(formatter, "{field} of the NAME is {value}; it must be at most {largest}")
    }
}

impl core::error::Error for NameError {}

impl Name {
    /// Puts the fields together; refuses one that does not fit its bits.
    pub const fn new(fields: NameFields) -> Result<Self, NameError> {
        macro_rules! field {
            ($name:ident, $place:expr) => {{
                let value = fields.$name as u32;
                let largest = $place.mask() as u32;
                if value > largest {
                    return Err(NameError::TooLarge { field: stringify!($name), value, largest });
                }
                $place.put(value as u64)
            }};
        }
        let moves = match fields.may_move {
            MayMove::No => 0,
            MayMove::Yes => 1,
        };
        Ok(Self(
            field!(identity, name::IDENTITY)
                | field!(manufacturer, name::MANUFACTURER)
                | field!(controller_instance, name::CONTROLLER_INSTANCE)
                | field!(function_instance, name::FUNCTION_INSTANCE)
                | field!(function, name::FUNCTION)
                | field!(vehicle_system, name::VEHICLE_SYSTEM)
                | field!(vehicle_system_instance, name::VEHICLE_SYSTEM_INSTANCE)
                | field!(industry_group, name::INDUSTRY_GROUP)
                | name::MAY_MOVE.put(moves),
        ))
    }

    /// Reads eight bytes; any are a NAME.
    pub const fn parse(bytes: [u8; 8]) -> Self {
        Self(u64::from_le_bytes(bytes))
    }

    /// Eight bytes as they are sent.
    pub const fn emit(self) -> [u8; 8] {
        self.0.to_le_bytes()
    }

    /// As a number: the lower one wins.
    pub const fn to_raw(self) -> u64 {
        self.0
    }

    /// Serial number of the unit within its maker.
    pub const fn identity(self) -> u32 {
        name::IDENTITY.read(self.0) as u32
    }

    /// Maker, assigned by SAE.
    pub const fn manufacturer(self) -> u16 {
        name::MANUFACTURER.read(self.0) as u16
    }

    /// What it does.
    pub const fn function(self) -> u8 {
        name::FUNCTION.read(self.0) as u8
    }

    /// Which of several vehicle systems.
    pub const fn vehicle_system_instance(self) -> u8 {
        name::VEHICLE_SYSTEM_INSTANCE.read(self.0) as u8
    }

    /// Whether it may take another address.
    pub const fn may_move(self) -> MayMove {
        if name::MAY_MOVE.read(self.0) == 0 { MayMove::No } else { MayMove::Yes }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const FIELDS: NameFields = NameFields {
        identity: 390_928,
        manufacturer: 10,
        controller_instance: 0,
        function_instance: 0,
        function: 69,
        vehicle_system: 0,
        vehicle_system_instance: 1,
        industry_group: 0,
        may_move: MayMove::No,
    };

    #[test]
    fn published_names_come_apart_as_published() {
        // Test data of the j1939-84 project (MIT).
        let bytes = [0x10, 0xF7, 0x45, 0x01, 0x00, 0x45, 0x00, 0x01];
        assert_eq!(Name::new(FIELDS).unwrap().emit(), bytes);
        assert_eq!(Name::parse(bytes).vehicle_system_instance(), 1);
        let name = Name::parse([0x43, 0x47, 0x60, 0x05, 0x00, 0x13, 0x00, 0x00]);
        assert_eq!((name.identity(), name.manufacturer(), name.function()), (18_243, 43, 19));
    }

    #[test]
    fn a_field_that_does_not_fit_is_named() {
        let error = Name::new(NameFields { manufacturer: 2048, ..FIELDS }).unwrap_err();
        assert_eq!(error, NameError::TooLarge { field: "manufacturer", value: 2048, largest: 2047 });
        assert!(Name::new(NameFields { vehicle_system: 128, ..FIELDS }).is_err());
        assert!(Name::new(NameFields { controller_instance: 8, ..FIELDS }).is_err());
        assert!(Name::new(NameFields { function_instance: 32, ..FIELDS }).is_err());
        assert!(Name::new(NameFields { industry_group: 8, ..FIELDS }).is_err());
    }

    proptest! {
        #[test]
        fn each_field_has_bits_of_its_own(
            identity in 0_u32..1 << 21, manufacturer in 0_u16..1 << 11, controller_instance in 0_u8..8,
            function_instance in 0_u8..32, function: u8, vehicle_system in 0_u8..128,
            vehicle_system_instance in 0_u8..16, industry_group in 0_u8..8, moves: bool
        ) {
            let may_move = if moves { MayMove::Yes } else { MayMove::No };
            let name = Name::new(NameFields {
                identity, manufacturer, controller_instance, function_instance, function, vehicle_system,
                vehicle_system_instance, industry_group, may_move,
            }).unwrap();
            prop_assert_eq!((name.identity(), name.manufacturer(), name.function()), (identity, manufacturer, function));
            prop_assert_eq!((name.vehicle_system_instance(), name.may_move()), (vehicle_system_instance, may_move));
            let instances = name.emit()[4];
            prop_assert_eq!((instances % 8, instances / 8), (controller_instance, function_instance));
            prop_assert_eq!(name.emit()[6], vehicle_system * 2);
            prop_assert_eq!(name.emit()[7] / 16 % 8, industry_group);
            prop_assert_eq!(Name::parse(name.emit()), name);
        }
    }
}
