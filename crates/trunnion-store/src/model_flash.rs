//! A NOR flash that refuses what real flash refuses, and whose power can be cut at any operation.

use std::vec;
use std::vec::Vec;

use embedded_storage::nor_flash::{ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash};

/// Bytes of an erase unit.
pub const UNIT: usize = 1024;
/// Bytes of a write unit.
pub const WORD: usize = 4;

/// Why an operation was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refused {
    /// Outside, or not at a unit's border.
    Place,
    /// A word that was not erased before.
    NotErased,
    /// The power is off.
    NoPower,
}

impl NorFlashError for Refused {
    fn kind(&self) -> NorFlashErrorKind {
        NorFlashErrorKind::Other
    }
}

/// The flash.
#[derive(Debug, Clone)]
pub struct ModelFlash {
    /// What lies in it.
    pub bytes: Vec<u8>,
    erased: Vec<bool>,
    /// Times each unit was erased.
    pub erases: Vec<u32>,
    /// Words written and units erased so far.
    pub operations: u64,
    /// Operations until the power goes, in the midst of one.
    pub until_cut: Option<u64>,
    powered: bool,
    noise: u64,
}

impl ModelFlash {
    /// An erased flash of so many units; the seed decides what a cut leaves half done.
    pub fn new(units: usize, seed: u64) -> Self {
        Self {
            bytes: vec![0xFF; units * UNIT],
            erased: vec![true; units * UNIT / WORD],
            erases: vec![0; units],
            operations: 0,
            until_cut: None,
            powered: true,
            noise: seed | 1,
        }
    }

    /// Switches the power on again.
    pub fn restore_power(&mut self) {
        self.powered = true;
        self.until_cut = None;
    }

    fn random(&mut self) -> u64 {
        self.noise ^= self.noise << 13;
        self.noise ^= self.noise >> 7;
        self.noise ^= self.noise << 17;
        self.noise
    }

    /// Counts an operation; true when the power goes in the midst of it.
    fn cut(&mut self) -> Result<bool, Refused> {
        if !self.powered {
            return Err(Refused::NoPower);
        }
        self.operations += 1;
        match &mut self.until_cut {
            Some(0) => {
                self.powered = false;
                Ok(true)
            }
            Some(left) => {
                *left -= 1;
                Ok(false)
            }
            None => Ok(false),
        }
    }
}

impl ErrorType for ModelFlash {
    type Error = Refused;
}

impl ReadNorFlash for ModelFlash {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Refused> {
        if !self.powered {
            return Err(Refused::NoPower);
        }
        let start = offset as usize;
        let stored = self.bytes.get(start..start + bytes.len()).ok_or(Refused::Place)?;
        bytes.copy_from_slice(stored);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl NorFlash for ModelFlash {
    const WRITE_SIZE: usize = WORD;
    const ERASE_SIZE: usize = UNIT;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Refused> {
        let (from, to) = (from as usize, to as usize);
        if !from.is_multiple_of(UNIT) || !to.is_multiple_of(UNIT) || from > to || to > self.bytes.len() {
            return Err(Refused::Place);
        }
        for unit in from / UNIT..to / UNIT {
            let torn = self.cut()?;
            self.erases[unit] += 1;
            for place in unit * UNIT..(unit + 1) * UNIT {
                // Torn, each bit is erased or not.
                self.bytes[place] |= if torn { self.random() as u8 } else { 0xFF };
            }
            self.erased[unit * UNIT / WORD..(unit + 1) * UNIT / WORD].fill(!torn);
            if torn {
                return Err(Refused::NoPower);
            }
        }
        Ok(())
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Refused> {
        let start = offset as usize;
        if !start.is_multiple_of(WORD)
            || !bytes.len().is_multiple_of(WORD)
            || start + bytes.len() > self.bytes.len()
        {
            return Err(Refused::Place);
        }
        for (index, word) in bytes.chunks(WORD).enumerate() {
            let place = start + index * WORD;
            // All ones may be written anywhere: that changes nothing.
            if !self.erased[place / WORD] && word != [0xFF; WORD] {
                return Err(Refused::NotErased);
            }
            let torn = self.cut()?;
            self.erased[place / WORD] = false;
            for (stored, byte) in self.bytes[place..].iter_mut().zip(word) {
                let kept = if torn {
                    self.noise = self.noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    (self.noise >> 33) as u8
                } else {
                    0
                };
                *stored &= byte | kept;
            }
            if torn {
                return Err(Refused::NoPower);
            }
        }
        Ok(())
    }
}
