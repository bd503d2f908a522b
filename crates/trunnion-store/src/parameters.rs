//! A whole parameter set as one record.
//!
//! Bytes: layout (1), version of the declaration (2), count of pairs (2), then identifier (2) and raw value (4) of
//! each, all with the low byte first. The store's checksum covers them.

use embedded_storage::nor_flash::NorFlash;
use trunnion::declare::{Access, ParameterSet};

use crate::store::{Health, Key, Store, StoreError};

/// The layout of the bytes.
const LAYOUT: u8 = 1;
const HEAD: usize = 5;
const PAIR: usize = 6;

/// What a changed declaration makes of a stored value: a new identifier and raw value, or nothing when the parameter
/// is gone. Takes the version of the declaration that wrote it.
pub type Migrate = fn(version: u16, id: u16, raw: i32) -> Option<(u16, i32)>;

/// The declaration that a set is stored by.
#[derive(Debug, Clone, Copy)]
pub struct Schema {
    /// Version of the declaration; raise it when the meaning of a stored value changes.
    pub version: u16,
    /// How values of older versions are read; [`keep`] when nothing changed its meaning.
    pub migrate: Migrate,
}

/// Migration of a declaration that only gained or lost parameters.
pub const fn keep(_: u16, id: u16, raw: i32) -> Option<(u16, i32)> {
    Some((id, raw))
}

/// Where the set in use comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Nothing was ever stored: the defaults.
    NeverStored,
    /// The latest set that was stored.
    Stored,
    /// The same, from one copy; the other one is damaged and mended by the next save. Raise a fault.
    StoredOnce,
    /// Nothing that was stored can be read: the defaults. Raise a fault.
    Damaged,
}

/// A set, and what had to be done to get it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loaded<P> {
    /// The set to run with. Single values are in range; contradictions are for the machine to find.
    pub parameters: P,
    /// Where it comes from.
    pub origin: Origin,
    /// Stored values that are out of range today and were replaced by their defaults. Raise a fault when not 0.
    pub replaced: u16,
    /// The first of them.
    pub first_replaced: Option<u16>,
    /// Stored values whose parameter is no longer declared.
    pub dropped: u16,
    /// Declared parameters that were not stored: at their defaults.
    pub added: u16,
}

impl<P> Loaded<P> {
    /// True when somebody must look at the parameters before the machine works.
    pub const fn is_suspect(&self) -> bool {
        matches!(self.origin, Origin::StoredOnce | Origin::Damaged) || self.replaced > 0
    }
}

/// Bytes that a set takes in the buffer of the store.
pub const fn bytes_of<P: ParameterSet>() -> usize {
    P::RULES.len().saturating_mul(PAIR).saturating_add(HEAD)
}

/// Reads the set. Never fails: what cannot be read is replaced by defaults, and told.
pub fn load<P: ParameterSet, F: NorFlash, const B: usize>(
    store: &mut Store<F, B>,
    schema: Schema,
) -> Loaded<P> {
    match store.read(Key::Parameters) {
        Ok(None) => defaults(Origin::NeverStored),
        Ok(Some(record)) => {
            let origin = match record.health {
                Health::Sound => Origin::Stored,
                Health::OneCopyDamaged => Origin::StoredOnce,
            };
            decode(record.bytes, schema, origin).unwrap_or(defaults(Origin::Damaged))
        }
        Err(_) => defaults(Origin::Damaged),
    }
}

fn defaults<P: ParameterSet>(origin: Origin) -> Loaded<P> {
    Loaded {
        parameters: P::default(),
        origin,
        replaced: 0,
        first_replaced: None,
        dropped: 0,
        added: P::RULES.len() as u16,
    }
}

/// Writes the whole set: when this returns `Ok`, the next start finds it; when the power goes before, the next start
/// finds this set or the one before, whole.
pub fn save<P: ParameterSet, F: NorFlash, const B: usize>(
    store: &mut Store<F, B>,
    schema: Schema,
    parameters: &P,
) -> Result<(), StoreError<F::Error>> {
    let mut record = [0; B];
    let used = encode(parameters, schema.version, &mut record).ok_or(StoreError::TooLarge)?;
    store.write(Key::Parameters, record.get(..used).ok_or(StoreError::TooLarge)?)
}

/// The number of bytes, or `None` when they do not fit.
fn encode<P: ParameterSet>(parameters: &P, version: u16, record: &mut [u8]) -> Option<usize> {
    let (head, body) = record.split_at_mut_checked(HEAD)?;
    let count = u16::try_from(P::RULES.len()).ok()?;
    let fields = [LAYOUT].into_iter().chain(version.to_le_bytes());
    for (place, byte) in head.iter_mut().zip(fields.chain(count.to_le_bytes())) {
        *place = byte;
    }
    let pairs = P::RULES.len().checked_mul(PAIR)?;
    let body = body.get_mut(..pairs)?;
    for ((index, rule), pair) in (0..).zip(P::RULES).zip(body.chunks_exact_mut(PAIR)) {
        let bytes = rule.id.to_le_bytes().into_iter().chain(parameters.raw(index).to_le_bytes());
        for (place, byte) in pair.iter_mut().zip(bytes) {
            *place = byte;
        }
    }
    pairs.checked_add(HEAD)
}

/// `None` when the bytes are no set of a known layout.
fn decode<P: ParameterSet>(bytes: &[u8], schema: Schema, origin: Origin) -> Option<Loaded<P>> {
    let ([layout, v0, v1, c0, c1], pairs) = bytes.split_first_chunk::<HEAD>()?;
    let count = usize::from(u16::from_le_bytes([*c0, *c1]));
    if *layout != LAYOUT || pairs.len() != count.checked_mul(PAIR)? {
        return None;
    }
    let version = u16::from_le_bytes([*v0, *v1]);
    let mut loaded = defaults::<P>(origin);
    for pair in pairs.chunks_exact(PAIR) {
        let &[i0, i1, r0, r1, r2, r3] = pair else { return None };
        let (id, raw) = (u16::from_le_bytes([i0, i1]), i32::from_le_bytes([r0, r1, r2, r3]));
        let kept =
            if version == schema.version { Some((id, raw)) } else { (schema.migrate)(version, id, raw) };
        take(&mut loaded, kept);
    }
    Some(loaded)
}

/// One stored value: one that cannot be used does not touch the others.
fn take<P: ParameterSet>(loaded: &mut Loaded<P>, kept: Option<(u16, i32)>) {
    let rule = kept.and_then(|(id, _)| P::RULES.iter().find(|rule| rule.id == id));
    let (Some((id, raw)), Some(rule)) = (kept, rule) else {
        loaded.dropped = loaded.dropped.saturating_add(1);
        return;
    };
    loaded.added = loaded.added.saturating_sub(1);
    // A constant is the maker's: the program's own value counts, whatever an older program stored.
    if rule.access != Access::Constant && loaded.parameters.stage(id, raw).is_err() {
        loaded.replaced = loaded.replaced.saturating_add(1);
        loaded.first_replaced = loaded.first_replaced.or(Some(id));
    }
}

#[cfg(test)]
mod tests;
