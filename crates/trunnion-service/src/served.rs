//! What a machine shows to a tester and lets it do.

use core::marker::PhantomData;

use trunnion::declare::{FaultSet, ParameterSet, Record, Refusal};
use trunnion::fault::LogEntry;
use trunnion_can::trouble_code::Lamps;

use crate::identifier::{Signals, signal_place};
use crate::level::{Level, Standing};
use crate::routine::RoutineReport;

/// Signals that a record may have for a tester to read them.
const MOST_SHOWN: usize = 256;

/// A text or number that says which unit this is (ISO 14229-1, identifiers F180 to F19F).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Identification {
    /// Part number of the controller's program (F188).
    ProgramNumber,
    /// Version of the program (F195).
    ProgramVersion,
    /// Serial number of the unit (F18C).
    SerialNumber,
    /// Who made the machine (F18A).
    Maker,
    /// Name of the machine (F197).
    MachineName,
}

/// A value that a tester reads: how many bytes of it, high byte first, and the raw value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reading {
    /// 1 to 8.
    pub bytes: u8,
    /// Raw value; its low bytes are sent.
    pub raw: i64,
}

/// A declared signal by its identifier.
///
/// ```
/// use trunnion_service::served::{Reading, signal};
///
/// trunnion::signals! {
///     /// One of a kind.
///     pub struct Few, pub enum FewIndex {
///         /// A slope.
///         slope: i16 = 0;
///     }
/// }
///
/// let (inside, inputs, outputs) = (Few::default(), Few { slope: -2 }, Few::default());
/// assert_eq!(signal(&inside, &inputs, &outputs, 0xA000), Some(Reading { bytes: 2, raw: -2 }));
/// assert_eq!(signal(&inside, &inputs, &outputs, 0xA001), None);
/// ```
pub fn signal(
    diagnostics: &impl Record,
    inputs: &impl Record,
    outputs: &impl Record,
    identifier: u16,
) -> Option<Reading> {
    let (record, place) = signal_place(identifier)?;
    match record {
        Signals::Diagnostics => reading(diagnostics, place),
        Signals::Inputs => reading(inputs, place),
        Signals::Outputs => reading(outputs, place),
    }
}

fn reading<R: Record>(record: &R, place: u16) -> Option<Reading> {
    let bytes = *Widths::<R>::ALL.get(usize::from(place)).filter(|bytes| **bytes > 0)?;
    Some(Reading { bytes, raw: record.get(place) })
}

/// How many bytes each signal of a record has; 0 behind the last. A table of its own, so that names and texts of the
/// signals stay out of a controller's flash.
struct Widths<R>(PhantomData<R>);

impl<R: Record> Widths<R> {
    const ALL: [u8; MOST_SHOWN] = {
        assert!(R::FIELDS.len() <= MOST_SHOWN, "a record has at most 256 signals");
        let mut all = [0; MOST_SHOWN];
        let (mut places, mut fields) = (all.as_mut_slice(), R::FIELDS);
        while let ([place, places_left @ ..], [field, fields_left @ ..]) = (places, fields) {
            *place = field.bytes;
            (places, fields) = (places_left, fields_left);
        }
        all
    };
}

/// A routine or an output that a tester may drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Motion {
    /// Its identifier.
    pub id: u16,
    /// The level that it needs.
    pub level: Level,
    /// What it needs of the machine.
    pub needs: Needs,
}

/// What a motion on purpose needs of the machine when it starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// At rest and in neutral: nothing will move.
    Quiet,
    /// At rest, in neutral and permitted: something will move.
    Permitted,
    /// At rest, in neutral, with nothing permitted and every last gate closed: levers will be moved, and nothing may
    /// follow them.
    Withheld,
}

/// Parameters that a routine has learnt: identifier and raw value.
pub type Learnt = [Option<(u16, i32)>; 3];

/// What the machine's own part says of a routine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Progress {
    /// Never started, or stopped.
    #[default]
    Idle = 0,
    /// Under way.
    Running = 1,
    /// Ended well.
    Done = 2,
    /// Ended because something was not as it must be.
    Failed = 3,
}

impl Progress {
    /// By its raw value on the wire.
    pub const fn of(raw: u8) -> Option<Self> {
        match raw {
            0 => Some(Self::Idle),
            1 => Some(Self::Running),
            2 => Some(Self::Done),
            3 => Some(Self::Failed),
            _ => None,
        }
    }
}

/// What a machine shows and what it can do for a tester.
pub trait Served {
    /// Its parameter set.
    type Parameters: ParameterSet;
    /// Its faults.
    type Faults: FaultSet;

    /// Routines, in ascending identifier.
    const ROUTINES: &'static [Motion];
    /// Outputs that may be controlled, in ascending identifier.
    const CONTROLS: &'static [Motion];
    /// The board keeps a black box, which a tester reads as memory.
    const BLACK_BOX: bool = false;

    /// The parameters in effect.
    fn parameters(&self) -> &Self::Parameters;

    /// Whether the machine would run with this set.
    fn check(&self, parameters: &Self::Parameters) -> Result<(), Refusal>;

    /// A signal by its identifier, if there is one.
    fn signal(&self, identifier: u16) -> Option<Reading>;

    /// What this unit is.
    fn identification(&self, what: Identification) -> &[u8];

    /// True while the fault in this place of the table is active.
    fn is_fault_active(&self, place: u16) -> bool;

    /// The same for all of them, 32 a word from the lowest bit of the first.
    fn active_faults(&self) -> [u32; 8];

    /// How the lamps of DM1 stand.
    fn lamps(&self) -> Lamps;

    /// When and how often it was set.
    fn fault_entry(&self, place: u16) -> LogEntry;

    /// What the machine is doing.
    fn standing(&self) -> Standing;

    /// How a routine is doing, and what it found.
    fn routine(&self, id: u16) -> RoutineReport;

    /// What a routine that is done has learnt. The server stages it, all of it or nothing, and forgets it like any
    /// staged value when the session ends before a commit. Each value is in the declared range of a parameter that the
    /// routine's own level may write.
    fn learnt(&self, id: u16) -> Learnt {
        let _ = id;
        [None; 3]
    }
}

/// What a tester asks of the black box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub enum BoxOrder {
    /// So many bytes from this place on.
    Read {
        /// The first byte.
        place: u32,
        /// How many.
        length: u16,
    },
    /// Keep what is there.
    Freeze,
    /// Forget what is there and record anew.
    Arm,
}

/// What the machine is to do now. It comes once, and the machine's own guards still apply to all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Nothing.
    None,
    /// Take the set that [`take_committed`](crate::server::Server::take_committed) gives, and put it into effect at the
    /// start of the next period; it is in flash already.
    Commit,
    /// Clear the history of all faults, or of the one in this place. Active faults and latches stay.
    ClearFaults(Option<u16>),
    /// Clear the history of the faults that are not active.
    ClearPreviousFaults,
    /// Start a routine.
    Start(u16),
    /// Stop it: asked, or because the tester fell silent.
    Stop(u16),
    /// Drive an output to this raw value, held by the machine's cap and last gate.
    Control {
        /// The output.
        id: u16,
        /// What was asked for.
        value: i32,
    },
    /// Give the output back: asked, or because the tester fell silent.
    Release(u16),
    /// Something for the black box; a read is answered by [`Server::answer_box`](crate::server::Server::answer_box).
    Box(BoxOrder),
}
