//! An 11-bit identifier in a snapshot, where its own package writes none.

use embedded_can::StandardId;
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serializer};

/// Writes its 11 bits.
pub(crate) fn serialize<S: Serializer>(id: &StandardId, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_u16(id.as_raw())
}

/// Reads them.
pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<StandardId, D::Error> {
    StandardId::new(u16::deserialize(deserializer)?)
        .ok_or_else(|| D::Error::custom("an identifier has 11 bits"))
}
