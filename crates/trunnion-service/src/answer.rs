//! An answer being put together.

use crate::negative::Negative;

/// Bytes of an answer, up to `S`.
#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct Answer<const S: usize> {
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    bytes: [u8; S],
    used: u16,
    overflow: bool,
}

impl<const S: usize> Answer<S> {
    pub const fn new() -> Self {
        Self { bytes: [0; S], used: 0, overflow: false }
    }

    /// Begins anew with the positive response to a service.
    pub fn begin(&mut self, service: u8) -> &mut Self {
        self.used = 0;
        self.overflow = false;
        self.put(&[service | 0x40])
    }

    pub fn put(&mut self, bytes: &[u8]) -> &mut Self {
        let start = usize::from(self.used);
        let end = start.saturating_add(bytes.len());
        match self.bytes.get_mut(start..end) {
            Some(room) => {
                for (place, byte) in room.iter_mut().zip(bytes) {
                    *place = *byte;
                }
                self.used = end as u16;
            }
            None => self.overflow = true,
        }
        self
    }

    /// The low `count` bytes of a raw value, high byte first.
    pub fn put_raw(&mut self, count: u8, raw: i64) -> &mut Self {
        let bytes = raw.to_be_bytes();
        let skip = 8_usize.saturating_sub(usize::from(count));
        self.put(bytes.get(skip..).unwrap_or(&bytes))
    }

    /// Replaces everything by a negative response.
    pub fn refuse(&mut self, service: u8, reason: Negative) {
        self.used = 0;
        self.overflow = false;
        self.put(&[0x7F, service, reason as u8]);
    }

    pub fn finish(&self) -> Result<&[u8], Negative> {
        if self.overflow {
            return Err(Negative::ResponseTooLong);
        }
        self.bytes.get(..usize::from(self.used)).ok_or(Negative::ResponseTooLong)
    }
}
