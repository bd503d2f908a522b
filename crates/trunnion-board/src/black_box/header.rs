//! What the box holds, in its first bytes.

/// Bytes of a header.
pub const HEADER_BYTES: usize = 48;
/// The first bytes of every box.
const MARK: [u8; 4] = *b"trun";
/// Raised whenever the bytes of a box change.
const VERSION: u16 = 2;

/// Why the box froze.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// It has not.
    None,
    /// A tester said so.
    Tester,
    /// A fault.
    Fault {
        /// Its place in the declaration.
        place: u16,
        /// Periods that were recorded after the one in which it became active.
        periods_after: u32,
    },
}

/// What the box holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Header {
    /// The number of the machine's declaration.
    pub layout: u64,
    /// The control period.
    pub period_micros: u32,
    /// It no longer records.
    pub frozen: bool,
    /// Why.
    pub cause: Cause,
    /// Periods of the older segment.
    pub older_periods: u32,
    /// Periods of the newer one.
    pub newer_periods: u32,
    /// Bytes of the older segment.
    pub older_bytes: u32,
    /// Bytes of the newer one.
    pub newer_bytes: u32,
    /// Bytes of the state in which the first of them begins.
    pub state_bytes: u32,
}

/// Why bytes are no box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoBox {
    /// They end too early.
    TooShort,
    /// They begin otherwise.
    NoMark,
    /// They were written by another version.
    OtherVersion(u16),
}

impl Header {
    /// All bytes of the box.
    pub const fn total_bytes(&self) -> u32 {
        (HEADER_BYTES as u32)
            .saturating_add(self.older_bytes)
            .saturating_add(self.newer_bytes)
            .saturating_add(self.state_bytes)
    }

    /// All periods.
    pub const fn periods(&self) -> u32 {
        self.older_periods.saturating_add(self.newer_periods)
    }

    /// As it is read.
    pub fn to_bytes(&self) -> [u8; HEADER_BYTES] {
        let (cause, place, after) = match self.cause {
            Cause::None => (0, 0, 0),
            Cause::Tester => (1, 0, 0),
            Cause::Fault { place, periods_after } => (2_u8, place, periods_after),
        };
        let mut bytes = [0; HEADER_BYTES];
        let mut places = bytes.iter_mut();
        let mut put = |value: &[u8]| value.iter().zip(&mut places).for_each(|(byte, place)| *place = *byte);
        put(&MARK);
        put(&VERSION.to_le_bytes());
        put(&[u8::from(self.frozen), cause]);
        put(&self.layout.to_le_bytes());
        put(&self.period_micros.to_le_bytes());
        put(&place.to_le_bytes());
        put(&[0, 0]);
        for number in [
            after,
            self.older_periods,
            self.newer_periods,
            self.older_bytes,
            self.newer_bytes,
            self.state_bytes,
        ] {
            put(&number.to_le_bytes());
        }
        bytes
    }

    /// Reads it.
    ///
    /// # Errors
    ///
    /// [`NoBox`]: this is not the beginning of a box.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, NoBox> {
        let bytes = bytes.first_chunk::<HEADER_BYTES>().ok_or(NoBox::TooShort)?;
        let number = |place: usize| {
            let four = bytes.get(place..place.saturating_add(4)).and_then(|four| four.first_chunk::<4>());
            four.map_or(0, |four| u32::from_le_bytes(*four))
        };
        let [m0, m1, m2, m3, v0, v1, frozen, cause, ..] = *bytes;
        if [m0, m1, m2, m3] != MARK {
            return Err(NoBox::NoMark);
        }
        let version = u16::from_le_bytes([v0, v1]);
        if version != VERSION {
            return Err(NoBox::OtherVersion(version));
        }
        let place = number(20) as u16;
        Ok(Self {
            layout: u64::from(number(8)) | (u64::from(number(12)) << 32),
            period_micros: number(16),
            frozen: frozen != 0,
            cause: match cause {
                0 => Cause::None,
                1 => Cause::Tester,
                _ => Cause::Fault { place, periods_after: number(24) },
            },
            older_periods: number(28),
            newer_periods: number(32),
            older_bytes: number(36),
            newer_bytes: number(40),
            state_bytes: number(44),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_header_is_read_back(
            layout: u64, period_micros: u32, frozen: bool, place: u16, numbers: [u32; 6], kind in 0..3
        ) {
            let [periods_after, older_periods, newer_periods, older_bytes, newer_bytes, state_bytes] = numbers;
            let cause = match kind {
                0 => Cause::None,
                1 => Cause::Tester,
                _ => Cause::Fault { place, periods_after },
            };
            let header = Header {
                layout, period_micros, frozen, cause, older_periods, newer_periods, older_bytes, newer_bytes, state_bytes
            };
            prop_assert_eq!(Header::from_bytes(&header.to_bytes()), Ok(header));
        }
    }

    #[test]
    fn what_is_no_box_is_told() {
        assert_eq!(Header::from_bytes(&[0; 47]), Err(NoBox::TooShort));
        assert_eq!(Header::from_bytes(&[0; 48]), Err(NoBox::NoMark));
        let mut bytes = [0; 48];
        bytes[..6].copy_from_slice(b"trun\x09\x00");
        assert_eq!(Header::from_bytes(&bytes), Err(NoBox::OtherVersion(9)));
    }
}
