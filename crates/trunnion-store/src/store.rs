//! Records in NOR flash, by key, each in two copies.
//!
//! The library below keeps a record whole when the power goes in the midst of a write, but not always when it goes
//! again in the midst of the repair that follows: a half erased unit can hide everything. So the region has two
//! halves, and one is touched only while the other is sound in every record. Each record carries a number that counts up, and the
//! higher one of the two copies counts.

use core::cmp::Ordering;
use core::fmt::Debug;
use core::ops::Range;

use crc::{CRC_32_ISO_HDLC, Crc, NoTable};
use embassy_futures::block_on;
use embedded_storage::nor_flash::NorFlash;
use sequential_storage::cache::{Cache, Uncached};
use sequential_storage::map::{MapConfig, MapConfigError, MapStorage};

use crate::blocking::Blocking;

/// Which record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[repr(u8)]
pub enum Key {
    /// The parameter set.
    Parameters = 1,
    /// The fault log.
    FaultLog = 2,
    /// Wrong access codes since the last right one, and what their lock-out needs.
    AccessAttempts = 3,
    /// Starts of the controller; mixed into challenges so that none comes twice.
    Starts = 4,
}

impl Key {
    const ALL: [Self; 4] = [Self::Parameters, Self::FaultLog, Self::AccessAttempts, Self::Starts];
}

/// Why a flash region was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoreConfigError {
    /// The region does not begin and end at erase units of the flash.
    NotAtEraseUnits {
        /// Size of a unit in bytes.
        unit: u32,
    },
    /// There must be at least four erase units, two for each copy, and an even number of them.
    TooSmall {
        /// Size of a unit in bytes.
        unit: u32,
    },
    /// An erase unit, or a write unit, of this flash cannot hold a record.
    UnfitFlash,
}

impl core::fmt::Display for StoreConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NotAtEraseUnits { unit } => {
                write!(formatter, "the region must begin and end at multiples of {unit} bytes")
            }
            Self::TooSmall { unit } => {
                write!(
                    formatter,
                    "the region must be an even number of erase units of {unit} bytes, at least four"
                )
            }
            Self::UnfitFlash => {
                write!(formatter, "erase units of this flash are too small, or its write units too large")
            }
        }
    }
}

impl core::error::Error for StoreConfigError {}

/// Why a record could not be read or written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoreError<E> {
    /// The flash itself refused.
    Flash(E),
    /// The region is full: it is too small for all records together.
    Full,
    /// The record is larger than the buffer of the store, or than an erase unit.
    TooLarge,
    /// What lies in the flash makes no sense and could not be repaired.
    Damaged,
}

impl<E: Debug> core::fmt::Display for StoreError<E> {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Flash(error) => write!(formatter, "the flash refused: {error:?}"),
            Self::Full => write!(formatter, "the flash region is too small for all records together"),
            Self::TooLarge => {
                write!(formatter, "the record is larger than the store's buffer or an erase unit")
            }
            Self::Damaged => write!(formatter, "what lies in the flash makes no sense; it must be erased"),
        }
    }
}

impl<E: Debug> core::error::Error for StoreError<E> {}

type Map<'a, F> = MapStorage<u8, Blocking<&'a mut F>, Cache<Uncached, Uncached, Uncached, u8>>;

const CHECK: Crc<u32, NoTable> = Crc::<u32, NoTable>::new(&CRC_32_ISO_HDLC);
/// Number and checksum in front of a record.
const HEAD: usize = 8;

/// A half of the region.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Half {
    First,
    Second,
}

impl Half {
    const fn other(self) -> Self {
        match self {
            Self::First => Self::Second,
            Self::Second => Self::First,
        }
    }
}

/// What one half says of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Copied {
    /// Nothing.
    Absent,
    /// Sound, with its number.
    Sound(u32),
    /// Something that is no record of ours, or a half that makes no sense.
    Broken,
}

/// How well a record is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Health {
    /// Both copies agree, or the power went between them.
    Sound,
    /// One copy was damaged; the other one is used and the next write mends it. Tell it.
    OneCopyDamaged,
}

/// A record and how well it is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Record<'a> {
    /// Its bytes.
    pub bytes: &'a [u8],
    /// How well it is kept.
    pub health: Health,
}

/// Records of at most `B - 16` bytes in a region of a NOR flash.
///
/// A write appends to both halves of the region, one after the other; the flash is erased unit by unit in a circle, so
/// all units wear alike. Leans on the crate `sequential-storage` for the layout in flash, which changes only with that
/// crate's major version.
///
/// ```
/// use trunnion_store::store::{Key, Store};
/// # fn demonstrate<F: embedded_storage::nor_flash::NorFlash>(flash: F) -> Result<(), Box<dyn std::error::Error>>
/// # where F::Error: 'static {
///
/// // Four erase units of 4 KiB at the end of the controller's flash.
/// let mut store = Store::<F, 2048>::new(flash, 0xC000..0x1_0000)?;
/// store.write(Key::Starts, &7_u32.to_le_bytes())?;
/// assert_eq!(store.read(Key::Starts)?.unwrap().bytes, 7_u32.to_le_bytes());
/// # Ok(()) }
/// ```
#[derive(Clone)]
pub struct Store<F, const B: usize> {
    flash: F,
    region: Range<u32>,
    middle: u32,
    buffer: [u8; B],
}

impl<F, const B: usize> Debug for Store<F, B> {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        formatter.debug_struct("Store").field("region", &self.region).finish_non_exhaustive()
    }
}

impl<F: NorFlash, const B: usize> Store<F, B> {
    /// Refuses a region that is not made of an even number of whole erase units, at least four. Reads nothing.
    pub fn new(flash: F, region: Range<u32>) -> Result<Self, StoreConfigError> {
        let unit = F::ERASE_SIZE as u32;
        let halves = region.end.saturating_sub(region.start) / 2;
        let middle = region.start.saturating_add(halves);
        let check = |half: Range<u32>| MapConfig::<Blocking<&mut F>>::try_new(half).map(|_| ());
        check(region.clone())
            .and_then(|()| check(region.start..middle))
            .and_then(|()| check(middle..region.end))
            .map_err(|error| match error {
                MapConfigError::StartRangeNotAtPageBoundary | MapConfigError::EndRangeNotAtPageBoundary
                    if region.start.is_multiple_of(unit) && region.end.is_multiple_of(unit) =>
                {
                    StoreConfigError::TooSmall { unit }
                }
                MapConfigError::StartRangeNotAtPageBoundary | MapConfigError::EndRangeNotAtPageBoundary => {
                    StoreConfigError::NotAtEraseUnits { unit }
                }
                MapConfigError::RangeTooSmall => StoreConfigError::TooSmall { unit },
                MapConfigError::PagesTooSmall | MapConfigError::WordSizeTooLarge => {
                    StoreConfigError::UnfitFlash
                }
            })?;
        Ok(Self { flash, region, middle, buffer: [0; B] })
    }

    /// The record that was written last under this key; `None` when there never was one.
    ///
    /// Fails with [`StoreError::Damaged`] only when something was there and neither copy can be read.
    pub fn read(&mut self, key: Key) -> Result<Option<Record<'_>>, StoreError<F::Error>> {
        let (first, second) = (self.copy(Half::First, key)?, self.copy(Half::Second, key)?);
        let Some(half) = better(first, second) else {
            let absent = first == Copied::Absent && second == Copied::Absent;
            return if absent { Ok(None) } else { Err(StoreError::Damaged) };
        };
        // The first half is written first: only there may a copy be the newer one without damage.
        let health = match (first, second) {
            (Copied::Sound(first), Copied::Sound(second)) if first >= second => Health::Sound,
            (Copied::Sound(1), Copied::Absent) => Health::Sound,
            _ => Health::OneCopyDamaged,
        };
        let length = self.length(half, key)?;
        let bytes = self.buffer.get(HEAD..length).unwrap_or_default();
        Ok(Some(Record { bytes, health }))
    }

    /// Writes a record: when this returns `Ok`, the next start finds it. When the power goes before, the next start
    /// finds this record or the one before, whole.
    pub fn write(&mut self, key: Key, record: &[u8]) -> Result<(), StoreError<F::Error>> {
        for kept in Key::ALL {
            self.agree(kept)?;
        }
        let (first, second) = (self.copy(Half::First, key)?, self.copy(Half::Second, key)?);
        let number = first.number().max(second.number()).saturating_add(1);
        let mut framed = [0; B];
        let length = frame(&mut framed, number, record).ok_or(StoreError::TooLarge)?;
        let framed = framed.get(..length).ok_or(StoreError::TooLarge)?;
        self.put_or_mend(Half::First, key, number, framed)?;
        self.put_or_mend(Half::Second, key, number, framed)
    }

    /// Forgets everything.
    pub fn erase(&mut self) -> Result<(), StoreError<F::Error>> {
        self.erase_half(Half::First)?;
        self.erase_half(Half::Second)
    }

    /// Gives the flash back.
    pub fn into_flash(self) -> F {
        self.flash
    }

    /// The library's view of a half, and the buffer beside it.
    #[allow(clippy::type_complexity)]
    fn map(&mut self, half: Half) -> Result<(Map<'_, F>, &mut [u8; B]), StoreError<F::Error>> {
        let range = match half {
            Half::First => self.region.start..self.middle,
            Half::Second => self.middle..self.region.end,
        };
        let config = MapConfig::try_new(range).map_err(|_| StoreError::Damaged)?;
        Ok((MapStorage::new(Blocking(&mut self.flash), config, Cache::new_uncached()), &mut self.buffer))
    }

    /// What a half says of a record. Repairs the half if a cut left it in disorder.
    fn copy(&mut self, half: Half, key: Key) -> Result<Copied, StoreError<F::Error>> {
        let (mut map, buffer) = self.map(half)?;
        match block_on(map.fetch_item::<&[u8]>(buffer, &(key as u8))).map_err(told) {
            Ok(None) => Ok(Copied::Absent),
            Ok(Some(bytes)) => Ok(sound(bytes)),
            Err(_) => Ok(Copied::Broken),
        }
    }

    /// Brings a record into the front of the buffer; gives its length there.
    fn length(&mut self, half: Half, key: Key) -> Result<usize, StoreError<F::Error>> {
        let mut taken = [0; B];
        let (mut map, buffer) = self.map(half)?;
        let bytes = block_on(map.fetch_item::<&[u8]>(buffer, &(key as u8))).map_err(told)?;
        let bytes = bytes.ok_or(StoreError::Damaged)?;
        let length = bytes.len();
        taken.get_mut(..length).ok_or(StoreError::Damaged)?.copy_from_slice(bytes);
        self.buffer = taken;
        Ok(length)
    }

    /// Brings the older copy up to the newer one, so that the other half may be touched.
    fn agree(&mut self, key: Key) -> Result<(), StoreError<F::Error>> {
        let (first, second) = (self.copy(Half::First, key)?, self.copy(Half::Second, key)?);
        let (first, second) = (first.number(), second.number());
        let (older, number) = match first.cmp(&second) {
            Ordering::Equal => return Ok(()),
            Ordering::Greater => (Half::Second, first),
            Ordering::Less => (Half::First, second),
        };
        let length = self.length(older.other(), key)?;
        let record = self.buffer;
        self.put_or_mend(older, key, number, record.get(..length).ok_or(StoreError::Damaged)?)
    }

    /// Writes one copy and reads it back. A half that does not keep it is erased and filled from the other one first.
    fn put_or_mend(
        &mut self,
        half: Half,
        key: Key,
        number: u32,
        framed: &[u8],
    ) -> Result<(), StoreError<F::Error>> {
        match self.put(half, key, framed) {
            Ok(()) if self.copy(half, key)? == Copied::Sound(number) => return Ok(()),
            Err(StoreError::TooLarge) => return Err(StoreError::TooLarge),
            // A half erased unit may look erased and then refuse to be written.
            Ok(()) | Err(_) => {}
        }
        self.erase_half(half)?;
        for kept in Key::ALL {
            if let Copied::Sound(_) = self.copy(half.other(), kept)? {
                let length = self.length(half.other(), kept)?;
                let record = self.buffer;
                self.put(half, kept, record.get(..length).ok_or(StoreError::Damaged)?)?;
            }
        }
        self.put(half, key, framed)?;
        if self.copy(half, key)? == Copied::Sound(number) { Ok(()) } else { Err(StoreError::Damaged) }
    }

    fn put(&mut self, half: Half, key: Key, framed: &[u8]) -> Result<(), StoreError<F::Error>> {
        let (mut map, buffer) = self.map(half)?;
        block_on(map.store_item(buffer, &(key as u8), &framed)).map_err(told)
    }

    fn erase_half(&mut self, half: Half) -> Result<(), StoreError<F::Error>> {
        let (mut map, _) = self.map(half)?;
        block_on(map.erase_all()).map_err(told)
    }
}

impl Copied {
    const fn number(self) -> u32 {
        match self {
            Self::Sound(number) => number,
            Self::Absent | Self::Broken => 0,
        }
    }
}

/// The half with the newer sound copy.
const fn better(first: Copied, second: Copied) -> Option<Half> {
    match (first, second) {
        (Copied::Sound(first), Copied::Sound(second)) if second > first => Some(Half::Second),
        (Copied::Sound(_), _) => Some(Half::First),
        (_, Copied::Sound(_)) => Some(Half::Second),
        _ => None,
    }
}

/// Number, checksum over number and bytes, bytes; gives the length.
fn frame(room: &mut [u8], number: u32, record: &[u8]) -> Option<usize> {
    let length = record.len().checked_add(HEAD)?;
    let room = room.get_mut(..length)?;
    let (head, body) = room.split_at_mut_checked(HEAD)?;
    body.copy_from_slice(record);
    let fields = number.to_le_bytes().into_iter().chain(checksum(number, record).to_le_bytes());
    for (place, byte) in head.iter_mut().zip(fields) {
        *place = byte;
    }
    Some(length)
}

fn sound(bytes: &[u8]) -> Copied {
    let Some(([n0, n1, n2, n3, c0, c1, c2, c3], record)) = bytes.split_first_chunk::<HEAD>() else {
        return Copied::Broken;
    };
    let number = u32::from_le_bytes([*n0, *n1, *n2, *n3]);
    let check = u32::from_le_bytes([*c0, *c1, *c2, *c3]);
    if number > 0 && check == checksum(number, record) { Copied::Sound(number) } else { Copied::Broken }
}

fn checksum(number: u32, record: &[u8]) -> u32 {
    let mut digest = CHECK.digest();
    digest.update(&number.to_le_bytes());
    digest.update(record);
    digest.finalize()
}

fn told<E>(error: sequential_storage::Error<E>) -> StoreError<E> {
    use sequential_storage::Error;
    match error {
        Error::Storage { value, .. } => StoreError::Flash(value),
        Error::FullStorage => StoreError::Full,
        Error::BufferTooBig | Error::BufferTooSmall(_) | Error::ItemTooBig => StoreError::TooLarge,
        _ => StoreError::Damaged,
    }
}
