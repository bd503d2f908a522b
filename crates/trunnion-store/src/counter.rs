//! A number that must outlast a power cut.

use core::fmt::Debug;

use embedded_storage::nor_flash::NorFlash;

use crate::store::{Key, Store, StoreError};

/// What was found of a counter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// Never written.
    Never,
    /// The number.
    Value(u32),
    /// Something lies there that is no counter: take the worst for granted.
    Damaged,
}

/// Reads a counter.
pub fn load<F: NorFlash, const B: usize>(store: &mut Store<F, B>, key: Key) -> Counted {
    match store.read(key) {
        Ok(None) => Counted::Never,
        Ok(Some(record)) => match <[u8; 4]>::try_from(record.bytes) {
            Ok(bytes) => Counted::Value(u32::from_le_bytes(bytes)),
            Err(_) => Counted::Damaged,
        },
        Err(_) => Counted::Damaged,
    }
}

/// Writes a counter: when this returns `Ok`, it is there after the next start.
pub fn save<F: NorFlash, const B: usize>(
    store: &mut Store<F, B>,
    key: Key,
    value: u32,
) -> Result<(), StoreError<F::Error>> {
    store.write(key, &value.to_le_bytes())
}
