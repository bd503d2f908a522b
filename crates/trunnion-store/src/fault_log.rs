//! First, last and count of each fault, by SPN and FMI so that a changed declaration keeps what it still knows.
//!
//! Bytes of an entry: SPN and FMI as 4 bytes, first (4), last (4), count (1), low byte first. Faults that never came
//! are not written.

use embedded_storage::nor_flash::NorFlash;
use trunnion::declare::FaultSet;
use trunnion::fault::LogEntry;

use crate::store::{Key, Store, StoreError};

const ENTRY: usize = 13;

/// Bytes that a log takes in the buffer of the store.
pub const fn bytes_of<S: FaultSet>() -> usize {
    S::RULES.len().saturating_mul(ENTRY)
}

/// Writes the entries of all faults that came at least once.
pub fn save<S: FaultSet, F: NorFlash, const B: usize>(
    store: &mut Store<F, B>,
    entry: impl Fn(u16) -> LogEntry,
) -> Result<(), StoreError<F::Error>> {
    let mut record = [0; B];
    let mut used = 0_usize;
    for (place, rule) in (0..).zip(S::RULES) {
        let entry = entry(place);
        if entry.count == 0 {
            continue;
        }
        let end = used.saturating_add(ENTRY);
        let room = record.get_mut(used..end).ok_or(StoreError::TooLarge)?;
        let bytes = code(rule.spn, rule.fmi)
            .to_le_bytes()
            .into_iter()
            .chain(entry.first.to_le_bytes())
            .chain(entry.last.to_le_bytes())
            .chain([entry.count]);
        for (place, byte) in room.iter_mut().zip(bytes) {
            *place = byte;
        }
        used = end;
    }
    store.write(Key::FaultLog, record.get(..used).ok_or(StoreError::TooLarge)?)
}

/// What was found of the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LogFound {
    /// Entries given.
    pub entries: u16,
    /// Entries of faults that are no longer declared.
    pub dropped: u16,
    /// Something lies there that is no log.
    pub damaged: bool,
}

/// Gives each stored entry with the place of its fault in today's declaration.
pub fn load<S: FaultSet, F: NorFlash, const B: usize>(
    store: &mut Store<F, B>,
    mut restore: impl FnMut(u16, LogEntry),
) -> LogFound {
    let mut found = LogFound { entries: 0, dropped: 0, damaged: false };
    let bytes = match store.read(Key::FaultLog) {
        Ok(record) => record.map_or(&[][..], |record| record.bytes),
        Err(_) => {
            found.damaged = true;
            return found;
        }
    };
    let mut entries = bytes.chunks_exact(ENTRY);
    for entry in entries.by_ref() {
        let &[c0, c1, c2, c3, f0, f1, f2, f3, l0, l1, l2, l3, count] = entry else { continue };
        let wanted = u32::from_le_bytes([c0, c1, c2, c3]);
        let place = (0..).zip(S::RULES).find(|(_, rule)| code(rule.spn, rule.fmi) == wanted);
        let Some((place, _)) = place else {
            found.dropped = found.dropped.saturating_add(1);
            continue;
        };
        let (first, last) = (u32::from_le_bytes([f0, f1, f2, f3]), u32::from_le_bytes([l0, l1, l2, l3]));
        restore(place, LogEntry { first, last, count });
        found.entries = found.entries.saturating_add(1);
    }
    found.damaged = !entries.remainder().is_empty();
    found
}

/// SPN and FMI in one number: FMI has five bits.
const fn code(spn: u32, fmi: u8) -> u32 {
    (spn << 5) | (fmi & 31) as u32
}

#[cfg(test)]
mod tests;
