use std::fmt;

use serde::{Serialize, Serializer};
use sha2::{Digest, Sha256};
use trunnion::declare::Record;

/// SHA-256 over the encoded raw values of a run: what a host and a controller must agree on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct TraceHash([u8; 32]);

impl TraceHash {
    /// The 32 bytes.
    pub const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Display for TraceHash {
    /// 64 hexadecimal digits.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl Serialize for TraceHash {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// Gathers a [`TraceHash`] record by record, in the order in which they are given.
///
/// For every tick the rig gives the inputs, all fast inputs, all fast outputs, the outputs and the diagnostic
/// signals, each in its little-endian encoding.
#[derive(Debug, Clone, Default)]
pub struct TraceHasher {
    hasher: Sha256,
    buffer: Vec<u8>,
}

impl TraceHasher {
    /// Nothing gathered yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one record.
    pub fn record<R: Record>(&mut self, record: &R) {
        self.buffer.clear();
        self.buffer.resize(usize::from(R::ENCODED_BYTES), 0);
        record.encode(&mut self.buffer);
        self.hasher.update(&self.buffer);
    }

    /// The hash of all records so far.
    pub fn hash(&self) -> TraceHash {
        TraceHash(self.hasher.clone().finalize().into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    trunnion::signals! {
        /// Three bytes.
        pub struct Bytes, pub enum ByteIndex {
            /// The letter a.
            a: u8 = 0x61;
            /// The letters b and c, b in the lower place.
            bc: u16 = 0x6362;
        }
    }

    /// FIPS 180-4, the published example "abc".
    #[test]
    fn the_hash_is_sha_256_of_the_little_endian_encoding() {
        let mut hasher = TraceHasher::new();
        hasher.record(&Bytes::default());
        assert_eq!(
            hasher.hash().to_string(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
