//! Taking an address on the bus and defending it (SAE J1939-81).

use trunnion::quantity::{Millis, Period};

use crate::frame::Frame;
use crate::id::{Id29, pgn};
use crate::name::{MayMove, Name};
use crate::request::{NOBODY, TO_ALL, asked};

/// How long a claim must stand before the address is used (SAE J1939-81).
const CONTEST: Millis = Millis::from_ticks(250);
/// The addresses for controllers that may move (SAE J1939-81).
const FREE_RANGE: core::ops::RangeInclusive<u8> = 128..=247;
/// Priority of the claim (SAE J1939-81).
const PRIORITY: u8 = 6;

/// Where a controller stands with its address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Standing {
    /// The claim is to be sent, or may still be contested.
    Claiming,
    /// The address is ours.
    Claimed,
    /// Lost, and no other to be had: nothing may be sent but the answer "cannot claim".
    Lost,
}

/// What an [`AddressClaim`] starts with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AddressClaimConfig {
    /// Our NAME.
    pub name: Name,
    /// The address that we would like, 0 to 253.
    pub preferred: u8,
}

/// Why an [`AddressClaimConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AddressClaimConfigError {
    /// 254 and 255 are nobody's address.
    NoAddress {
        /// What was given.
        value: u8,
    },
}

impl core::fmt::Display for AddressClaimConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Self::NoAddress { value } = self;
        write!(formatter, "preferred address is {value}; it must be 0 to 253")
    }
}

impl core::error::Error for AddressClaimConfigError {}

/// Claims an address, answers who asks for it, and gives it up to a lower NAME.
///
/// Give it every frame of a period by `take`, then call `step` once: it gives at most one frame to send. An
/// address of 128 to 247 is used 250 ms after its claim, others at once (from memory). A controller that may move
/// tries the addresses 128 to 247 upwards from its own, past those that it saw claimed; one that may not, or finds
/// none, is [`Standing::Lost`] and says so from address 254, after a pause of up to 153 ms that its NAME decides so
/// that several losers do not answer at once.
///
/// ```
/// use trunnion::quantity::Period;
/// use trunnion_can::address_claim::{AddressClaim, AddressClaimConfig, Standing};
/// use trunnion_can::name::Name;
///
/// let name = Name::parse([0x10, 0xF7, 0x45, 0x01, 0x00, 0x45, 0x00, 0x01]);
/// let tick = Period::from_micros(10_000).unwrap();
/// let mut claim = AddressClaim::new(AddressClaimConfig { name, preferred: 0x27 }, tick).unwrap();
/// let frame = claim.step().unwrap();
/// assert_eq!(frame.id29().unwrap().to_raw(), 0x18EE_FF27);
/// assert_eq!(frame.bytes(), name.emit());
/// assert_eq!((claim.standing(), claim.address()), (Standing::Claimed, Some(0x27)));
/// ```
#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct AddressClaim {
    name: Name,
    preferred: u8,
    period: Period,
    address: u8,
    standing: Standing,
    /// Periods until the claim stands, or until the answer "cannot claim" goes out.
    left: u32,
    /// A claim, or the answer that we cannot, is to be sent.
    due: bool,
    /// Addresses seen claimed by others, one bit each.
    taken: [u32; 8],
}

impl AddressClaim {
    /// Refuses an address above 253.
    pub const fn new(config: AddressClaimConfig, period: Period) -> Result<Self, AddressClaimConfigError> {
        if config.preferred > 253 {
            return Err(AddressClaimConfigError::NoAddress { value: config.preferred });
        }
        Ok(Self {
            name: config.name,
            preferred: config.preferred,
            period,
            address: config.preferred,
            standing: Standing::Claiming,
            left: 0,
            due: true,
            taken: [0; 8],
        })
    }

    /// Takes a new NAME and address as a whole, or refuses them, and claims anew.
    pub fn reconfigure(&mut self, config: AddressClaimConfig) -> Result<(), AddressClaimConfigError> {
        *self = Self::new(config, self.period)?;
        Ok(())
    }

    /// Forgets who else was seen and claims anew.
    pub const fn reset(&mut self) {
        self.address = self.preferred;
        self.standing = Standing::Claiming;
        self.left = 0;
        self.due = true;
        self.taken = [0; 8];
    }

    /// Where we stand.
    pub const fn standing(&self) -> Standing {
        self.standing
    }

    /// Our address once it is ours; nothing else may be sent before.
    pub const fn address(&self) -> Option<u8> {
        match self.standing {
            Standing::Claimed => Some(self.address),
            Standing::Claiming | Standing::Lost => None,
        }
    }

    /// Takes a frame of the bus: claims of others, and requests for ours.
    pub fn take(&mut self, frame: &Frame) {
        let Some(id) = frame.id29() else { return };
        if id.pgn() == pgn::ADDRESS_CLAIMED {
            if let Some(bytes) = frame.eight() {
                self.claimed(id.source(), Name::parse(*bytes));
            }
            return;
        }
        let ours = if self.standing == Standing::Lost { NOBODY } else { self.address };
        if asked(frame, ours).is_some_and(|request| request.pgn == pgn::ADDRESS_CLAIMED) {
            self.due = true;
            if self.standing == Standing::Lost && self.left == 0 {
                self.left = self.pause();
            }
        }
    }

    fn claimed(&mut self, source: u8, theirs: Name) {
        if source >= NOBODY || theirs == self.name {
            return;
        }
        if let Some(word) = self.taken.get_mut(usize::from(source / 32)) {
            *word |= 1 << (source % 32);
        }
        if source != self.address || self.standing == Standing::Lost {
            return;
        }
        self.due = true;
        if self.name < theirs {
            return;
        }
        match self.next_free() {
            Some(address) => {
                self.address = address;
                self.standing = Standing::Claiming;
                self.left = 0;
            }
            None => {
                self.standing = Standing::Lost;
                self.left = self.pause();
            }
        }
    }

    /// The next address upwards, round the range, that nobody was seen to claim.
    fn next_free(&self) -> Option<u8> {
        if self.name.may_move() == MayMove::No {
            return None;
        }
        let above = FREE_RANGE.filter(|address| *address > self.address);
        let below = FREE_RANGE.filter(|address| *address < self.address);
        above.chain(below).find(|address| !self.is_taken(*address))
    }

    fn is_taken(&self, address: u8) -> bool {
        self.taken.get(usize::from(address / 32)).is_some_and(|word| word & (1 << (address % 32)) != 0)
    }

    /// 0 to 153 ms (SAE J1939-81): 0.6 ms for each step of a byte that the NAME decides.
    fn pause(&self) -> u32 {
        let byte = self.name.emit().iter().fold(0_u8, |sum, byte| sum.wrapping_mul(31).wrapping_add(*byte));
        self.period.steps(Millis::from_ticks(u32::from(byte).saturating_mul(6) / 10))
    }

    /// One period: the claim, or the answer that we cannot, when it is due.
    pub fn step(&mut self) -> Option<Frame> {
        if self.standing == Standing::Lost {
            self.left = self.left.saturating_sub(1);
            if !self.due || self.left > 0 {
                return None;
            }
            self.due = false;
            return self.claim_from(NOBODY);
        }
        if self.due {
            self.due = false;
            if self.standing == Standing::Claiming {
                let contested = FREE_RANGE.contains(&self.address);
                self.left = if contested { self.period.steps(CONTEST) } else { 0 };
                if !contested {
                    self.standing = Standing::Claimed;
                }
            }
            return self.claim_from(self.address);
        }
        if self.standing == Standing::Claiming {
            self.left = self.left.saturating_sub(1);
            if self.left == 0 {
                self.standing = Standing::Claimed;
            }
        }
        None
    }

    fn claim_from(&self, address: u8) -> Option<Frame> {
        let id = Id29::addressed(PRIORITY, pgn::ADDRESS_CLAIMED, TO_ALL, address)?;
        Some(Frame::group(id, self.name.emit()))
    }
}

#[cfg(test)]
mod tests;
