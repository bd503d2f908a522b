//! Diagnostic trouble codes and the lamps in front of them (SAE J1939-73).

use crate::layout::{FieldLayout, code, lamps};

/// A diagnostic trouble code: what is wrong (SPN), how (FMI), how often it came.
///
/// Sent with conversion method 0, the only one that SAE J1939-73 still allows for new controllers: SPN low byte,
/// SPN middle byte, three high bits of the SPN above the FMI, occurrence count. The bit above the count is 0; a
/// code with the bit set is of an older method and its SPN cannot be known, so `parse` gives nothing.
///
/// ```
/// use trunnion_can::trouble_code::TroubleCode;
///
/// let coil_open = TroubleCode::new(520_192, 4, 1).unwrap();
/// assert_eq!(coil_open.emit(), [0x00, 0xF0, 0xE4, 0x01]);
/// assert_eq!(TroubleCode::parse([0x00, 0xF0, 0xE4, 0x01]), Some(coil_open));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TroubleCode {
    spn: u32,
    fmi: u8,
    count: u8,
}

impl TroubleCode {
    /// Largest suspect parameter number, 19 bits.
    pub const LARGEST_SPN: u32 = 0x7_FFFF;
    /// Largest failure mode identifier, 5 bits.
    pub const LARGEST_FMI: u8 = 31;
    /// Largest count that is one; 127 says "not available" (SAE J1939-73).
    pub const LARGEST_COUNT: u8 = 126;

    /// `None` for an SPN above 19 bits or an FMI above 31. A count above 126 is held there.
    pub const fn new(spn: u32, fmi: u8, count: u8) -> Option<Self> {
        if spn > Self::LARGEST_SPN || fmi > Self::LARGEST_FMI {
            return None;
        }
        let count = if count > Self::LARGEST_COUNT { Self::LARGEST_COUNT } else { count };
        Some(Self { spn, fmi, count })
    }

    /// Reads four bytes; `None` for conversion methods 1 to 3. A count of "not available" is read as 126.
    pub const fn parse(bytes: [u8; 4]) -> Option<Self> {
        let word = u32::from_le_bytes(bytes) as u64;
        if code::METHOD.read(word) != 0 {
            return None;
        }
        let spn = code::SPN_LOW.read(word) | code::SPN_HIGH.read(word) << code::SPN_LOW.bits;
        Self::new(spn as u32, code::FMI.read(word) as u8, code::COUNT.read(word) as u8)
    }

    /// Four bytes as they are sent.
    pub const fn emit(self) -> [u8; 4] {
        let spn = self.spn as u64;
        let word = code::SPN_LOW.put(spn)
            | code::SPN_HIGH.put(spn >> code::SPN_LOW.bits)
            | code::FMI.put(self.fmi as u64)
            | code::COUNT.put(self.count as u64);
        (word as u32).to_le_bytes()
    }

    /// Suspect parameter number, 0 to 524,287.
    pub const fn spn(self) -> u32 {
        self.spn
    }

    /// Failure mode identifier, 0 to 31.
    pub const fn fmi(self) -> u8 {
        self.fmi
    }

    /// How often it came, 0 to 126.
    pub const fn count(self) -> u8 {
        self.count
    }
}

/// How a lamp is driven. The ordinal is the two-bit status and the two-bit flash field together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Lamp {
    /// Dark.
    Off,
    /// Lit without a break.
    On,
    /// Lit, about once a second (1 Hz).
    SlowFlash,
    /// Lit, twice a second or faster (2 Hz).
    FastFlash,
    /// The controller has no such lamp, or does not say.
    #[default]
    NotSupported,
}

impl Lamp {
    /// Status and flash field.
    const fn fields(self) -> (u8, u8) {
        match self {
            Self::Off => (0, 3),
            Self::On => (1, 3),
            Self::SlowFlash => (1, 0),
            Self::FastFlash => (1, 1),
            Self::NotSupported => (3, 3),
        }
    }

    const fn put(self, status: FieldLayout, flash: FieldLayout) -> u64 {
        let (lit, flashing) = self.fields();
        status.put(lit as u64) | flash.put(flashing as u64)
    }

    const fn read(word: u64, status: FieldLayout, flash: FieldLayout) -> Self {
        match (status.read(word), flash.read(word)) {
            (0, _) => Self::Off,
            (1, 0) => Self::SlowFlash,
            (1, 1) => Self::FastFlash,
            (1, _) => Self::On,
            _ => Self::NotSupported,
        }
    }
}

/// The four lamps in front of the codes of DM1 and DM2.
///
/// ```
/// use trunnion_can::trouble_code::{Lamp, Lamps};
///
/// let lamps = Lamps { red_stop: Lamp::SlowFlash, ..Lamps::OFF };
/// assert_eq!(Lamps::parse(lamps.emit()), lamps);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Lamps {
    /// Malfunction indicator: emissions.
    pub malfunction: Lamp,
    /// Red: stop the machine.
    pub red_stop: Lamp,
    /// Amber: look at it soon.
    pub amber_warning: Lamp,
    /// Protect: outside the electronics, such as a hot engine.
    pub protect: Lamp,
}

impl Lamps {
    /// All dark.
    pub const OFF: Self =
        Self { malfunction: Lamp::Off, red_stop: Lamp::Off, amber_warning: Lamp::Off, protect: Lamp::Off };

    /// Reads the status byte and the flash byte.
    pub const fn parse(bytes: [u8; 2]) -> Self {
        let word = u16::from_le_bytes(bytes) as u64;
        Self {
            malfunction: Lamp::read(word, lamps::MALFUNCTION, lamps::MALFUNCTION_FLASH),
            red_stop: Lamp::read(word, lamps::RED, lamps::RED_FLASH),
            amber_warning: Lamp::read(word, lamps::AMBER, lamps::AMBER_FLASH),
            protect: Lamp::read(word, lamps::PROTECT, lamps::PROTECT_FLASH),
        }
    }

    /// The status byte and the flash byte.
    pub const fn emit(&self) -> [u8; 2] {
        let word = self.malfunction.put(lamps::MALFUNCTION, lamps::MALFUNCTION_FLASH)
            | self.red_stop.put(lamps::RED, lamps::RED_FLASH)
            | self.amber_warning.put(lamps::AMBER, lamps::AMBER_FLASH)
            | self.protect.put(lamps::PROTECT, lamps::PROTECT_FLASH);
        (word as u16).to_le_bytes()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn published_codes_come_apart_as_published() {
        // Computed with can-j1939 2.0.12, an independent implementation.
        for (spn, fmi, count, bytes) in [
            (520_192, 4, 1, [0x00, 0xF0, 0xE4, 0x01]),
            (190, 0, 1, [0xBE, 0x00, 0x00, 0x01]),
            (1213, 4, 1, [0xBD, 0x04, 0x04, 0x01]),
            // Test data of the j1939-84 project (MIT).
            (1569, 31, 35, [0x21, 0x06, 0x1F, 0x23]),
            (4334, 4, 0, [0xEE, 0x10, 0x04, 0x00]),
        ] {
            let code = TroubleCode::new(spn, fmi, count).unwrap();
            assert_eq!(code.emit(), bytes, "{code:?}");
            assert_eq!(TroubleCode::parse(bytes), Some(code));
        }
        // From the same project: SPN 609, FMI 19, with the bit of the older conversion methods set.
        assert_eq!(TroubleCode::parse([0x61, 0x02, 0x13, 0x81]), None);
    }

    #[test]
    fn published_lamps_light_as_published() {
        // j1939-84 (MIT): 11 CD is MIL off, red slow flash, amber off, protect fast flash.
        let lamps = Lamps::parse([0x11, 0xCD]);
        assert_eq!((lamps.malfunction, lamps.red_stop), (Lamp::Off, Lamp::SlowFlash));
        assert_eq!((lamps.amber_warning, lamps.protect), (Lamp::Off, Lamp::FastFlash));
        // SAE J1939-73: no active fault is sent with lamps 00 FF.
        assert_eq!(Lamps::OFF.emit(), [0x00, 0xFF]);
        assert_eq!(Lamps::default().emit(), [0xFF, 0xFF]);
    }

    #[test]
    fn a_code_that_does_not_fit_is_refused_and_a_count_is_held() {
        assert_eq!(TroubleCode::new(0x8_0000, 0, 0), None);
        assert_eq!(TroubleCode::new(0, 32, 0), None);
        assert_eq!(TroubleCode::new(0, 0, 255).unwrap().count(), 126);
    }

    proptest! {
        #[test]
        fn every_code_survives_the_round_trip(spn in 0..=TroubleCode::LARGEST_SPN, fmi in 0_u8..32, count in 0_u8..127) {
            let code = TroubleCode::new(spn, fmi, count).unwrap();
            prop_assert_eq!(TroubleCode::parse(code.emit()), Some(code));
            prop_assert_eq!((code.spn(), code.fmi(), code.count()), (spn, fmi, count));
        }

        #[test]
        fn every_lamp_survives_the_round_trip(bytes in any::<[u8; 2]>()) {
            let lamps = Lamps::parse(bytes);
            prop_assert_eq!(Lamps::parse(lamps.emit()), lamps);
        }
    }
}
