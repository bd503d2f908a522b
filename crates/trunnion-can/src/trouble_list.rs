//! The message of active and of previously active trouble codes: DM1, DM2 (SAE J1939-73).

use trunnion::quantity::{Millis, Period};

use crate::trouble_code::{Lamps, TroubleCode};

/// Time between two messages while a code is active (SAE J1939-73, DM1).
const BETWEEN_MESSAGES: Millis = Millis::from_ticks(1000);
/// Bytes of the lamps.
const LAMP_BYTES: usize = 2;
/// Bytes of a code.
const CODE_BYTES: usize = 4;

/// Lamps and codes as the bytes of DM1 or DM2 carry them.
///
/// `N` bytes hold `(N - 2) / 4` codes; further ones are left out and counted. With no code or one, the message is a
/// single frame of eight bytes; else it goes by the [transport protocol](crate::transport).
///
/// ```
/// use trunnion_can::trouble_code::{Lamps, TroubleCode};
/// use trunnion_can::trouble_list::TroubleList;
///
/// let mut list = TroubleList::<42>::new(Lamps::OFF);
/// assert_eq!(list.bytes(), [0x00, 0xFF, 0, 0, 0, 0, 0xFF, 0xFF]); // no fault
/// list.push(TroubleCode::new(520_192, 4, 1).unwrap());
/// assert_eq!(list.bytes(), [0x00, 0xFF, 0x00, 0xF0, 0xE4, 0x01, 0xFF, 0xFF]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TroubleList<const N: usize> {
    bytes: [u8; N],
    codes: u16,
    left_out: u16,
}

impl<const N: usize> TroubleList<N> {
    /// Lamps and no code.
    pub fn new(lamps: Lamps) -> Self {
        const { assert!(N >= 8 && N <= 1785, "a list has 8 to 1785 bytes") };
        let mut bytes = [0xFF; N];
        for (place, byte) in bytes.iter_mut().zip(lamps.emit().into_iter().chain([0; CODE_BYTES])) {
            *place = byte;
        }
        Self { bytes, codes: 0, left_out: 0 }
    }

    /// Adds a code at the end; one that does not fit is counted as left out.
    pub fn push(&mut self, code: TroubleCode) {
        let start = usize::from(self.codes).saturating_mul(CODE_BYTES).saturating_add(LAMP_BYTES);
        let end = start.saturating_add(CODE_BYTES);
        match self.bytes.get_mut(start..end) {
            Some(room) => {
                for (place, byte) in room.iter_mut().zip(code.emit()) {
                    *place = byte;
                }
                self.codes = self.codes.saturating_add(1);
            }
            None => self.left_out = self.left_out.saturating_add(1),
        }
    }

    /// The bytes to send: at least eight.
    pub fn bytes(&self) -> &[u8] {
        let used = usize::from(self.codes).saturating_mul(CODE_BYTES).saturating_add(LAMP_BYTES);
        self.bytes.get(..used.max(8)).unwrap_or(&self.bytes)
    }

    /// How many codes are in.
    pub const fn codes(&self) -> u16 {
        self.codes
    }

    /// How many had no room.
    pub const fn left_out(&self) -> u16 {
        self.left_out
    }
}

/// Reads lamps and codes; `None` below six bytes. A code of an older conversion method, whose SPN cannot be known,
/// is passed over; all zeros are no code.
pub fn parse(bytes: &[u8]) -> Option<(Lamps, impl Iterator<Item = TroubleCode> + '_)> {
    let (lamps, rest) = bytes.split_first_chunk::<LAMP_BYTES>()?;
    if rest.len() < CODE_BYTES {
        return None;
    }
    let codes = rest
        .chunks_exact(CODE_BYTES)
        .filter_map(|code| <[u8; CODE_BYTES]>::try_from(code).ok())
        .filter(|code| *code != [0; CODE_BYTES] && *code != [0xFF; CODE_BYTES])
        .filter_map(TroubleCode::parse);
    Some((Lamps::parse(*lamps), codes))
}

/// When DM1 is due: every second while a code is active, and at a change of a code, but for each code at most once a
/// second (SAE J1939-73).
///
/// Takes the active set as bits, one a fault in the order of declaration, `W` words of 32. A change that comes too
/// soon after the last one of the same code is told by the next message of the second. At start nothing was told, so
/// the first message goes out when a code is active.
///
/// ```
/// use trunnion::quantity::Period;
/// use trunnion_can::trouble_list::ActiveTroubleTiming;
///
/// let mut timing = ActiveTroubleTiming::<1>::new(Period::from_micros(10_000).unwrap());
/// assert!(!timing.step(&[0]));
/// assert!(timing.step(&[0b100]), "a code became active");
/// let sent = (0..200).filter(|_| timing.step(&[0b100])).count();
/// assert_eq!(sent, 2, "then once a second");
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ActiveTroubleTiming<const W: usize> {
    second: u32,
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    told: [u32; W],
    /// Codes whose change was told in this second and in the one before.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    fresh: [u32; W],
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    stale: [u32; W],
    /// Periods since the last message, and since the seconds of the codes were turned over.
    since_message: u32,
    since_turn: u32,
}

impl<const W: usize> ActiveTroubleTiming<W> {
    /// Nothing told yet.
    pub const fn new(period: Period) -> Self {
        let zero = [0; W];
        let second = period.steps(BETWEEN_MESSAGES);
        Self { second, told: zero, fresh: zero, stale: zero, since_message: 0, since_turn: 0 }
    }

    /// As after a restart.
    pub const fn reset(&mut self) {
        self.told = [0; W];
        self.fresh = [0; W];
        self.stale = [0; W];
        self.since_message = 0;
        self.since_turn = 0;
    }

    /// One period: true when the message is to be sent now, with exactly this active set.
    pub fn step(&mut self, active: &[u32; W]) -> bool {
        self.since_message = self.since_message.saturating_add(1);
        self.since_turn = self.since_turn.saturating_add(1);
        if self.since_turn >= self.second {
            self.since_turn = 0;
            self.stale = self.fresh;
            self.fresh = [0; W];
        }
        let any = active.iter().any(|word| *word != 0);
        let regular = any && self.since_message >= self.second;
        let mut at_once = false;
        for ((now, told), (fresh, stale)) in
            active.iter().zip(&self.told).zip(self.fresh.iter_mut().zip(&self.stale))
        {
            let changed = (now ^ told) & !*fresh & !stale;
            *fresh |= changed;
            at_once |= changed != 0;
        }
        // The last code went while it was too soon to say so: the next regular message says it.
        let late = !any && self.told != *active && self.since_message >= self.second;
        let due = regular || at_once || late;
        if due {
            self.told = *active;
            self.since_message = 0;
        }
        due
    }
}

#[cfg(test)]
mod tests;
