//! A black box that was read from a controller, gone through on this computer.
//!
//! The control program of this build starts in the state that the box kept and takes what the box recorded, period by
//! period. Each period says whether the program drives what the recorded one drove.

mod story;

use trunnion::machine::Machine;
use trunnion_board::black_box::header::{Cause, Header, NoBox};
use trunnion_board::black_box::replay::{NoReplay, Replay};
use trunnion_board::black_box::{Boxed, Memory, Recorded};
use trunnion_rig::trace::{Recording, Trace};

pub use story::{Retelling, Tell, told};

/// One period of a box.
#[derive(Clone)]
pub struct BoxPeriod<M: Machine> {
    /// What came in.
    pub inputs: M::Inputs,
    /// What the program drives.
    pub outputs: M::Outputs,
    /// Its internal points.
    pub diagnostics: M::Diagnostics,
    /// Which faults are active, in the order of the declaration.
    pub faults: Vec<bool>,
    /// The recorded machine drove the same.
    pub same: bool,
}

/// A box with all its periods.
pub struct OpenedBox<M: Machine> {
    /// What it says of itself.
    pub header: Header,
    /// What happened, from its beginning on.
    pub periods: Vec<BoxPeriod<M>>,
    /// It cannot be read from this period on.
    pub damaged_at: Option<u32>,
}

/// Goes through the bytes of a box of this machine.
pub type BoxOpener<M> = fn(&[u8]) -> Result<OpenedBox<M>, NoReplay>;

/// The black box of a machine.
#[derive(Clone, Copy)]
pub struct BlackBox<M: Machine> {
    /// Goes through its bytes.
    pub open: BoxOpener<M>,
    /// The memory that it takes in the controller.
    pub memory: Memory,
}

impl<M: Machine> BlackBox<M> {
    /// The box of two segments of `BYTES` each around the program `P`, the part of the machine that is recorded.
    pub const fn of<P, const BYTES: usize>() -> Self
    where
        P: Recorded<
                Inputs = M::Inputs,
                Outputs = M::Outputs,
                Diagnostics = M::Diagnostics,
                Faults = M::Faults,
            >,
    {
        Self { open: open::<M, P>, memory: Boxed::<P, BYTES>::MEMORY }
    }
}

/// Goes through the bytes of a box whose program is `P`, the part of the machine `M` that is recorded.
///
/// # Errors
/// [`NoReplay`]: what is wrong with these bytes. Damage further behind is told in what is opened.
pub fn open<M, P>(bytes: &[u8]) -> Result<OpenedBox<M>, NoReplay>
where
    P: Recorded,
    M: Machine<Inputs = P::Inputs, Outputs = P::Outputs, Diagnostics = P::Diagnostics, Faults = P::Faults>,
{
    use trunnion::declare::FaultSet;

    let mut replay = Replay::<P>::new(bytes)?;
    let faults = u16::try_from(P::Faults::RULES.len()).unwrap_or(u16::MAX);
    let mut opened = OpenedBox { header: *replay.header(), periods: Vec::new(), damaged_at: None };
    loop {
        match replay.next() {
            Ok(Some(period)) => opened.periods.push(BoxPeriod {
                inputs: period.inputs,
                outputs: period.outputs,
                diagnostics: period.diagnostics,
                faults: (0..faults).map(|fault| replay.program().is_fault_active(fault)).collect(),
                same: period.same,
            }),
            Ok(None) => return Ok(opened),
            Err(NoReplay::Damaged { period }) => {
                opened.damaged_at = Some(period);
                return Ok(opened);
            }
            Err(other) => return Err(other),
        }
    }
}

impl<M: Machine> OpenedBox<M> {
    /// All periods in columns.
    pub fn trace(&self) -> Trace {
        let mut recording = Recording::<M>::new();
        for period in &self.periods {
            recording.push(&period.inputs, &period.outputs, &period.diagnostics, &period.faults);
        }
        recording.finish()
    }

    /// The period in which the fault came that froze it; `None` where a tester did.
    pub fn fault_period(&self) -> Option<usize> {
        let Cause::Fault { periods_after, .. } = self.header.cause else { return None };
        self.header.periods().checked_sub(periods_after)?.checked_sub(1).map(|period| period as usize)
    }

    /// The first period that does not drive what was recorded.
    pub fn first_other(&self) -> Option<usize> {
        self.periods.iter().position(|period| !period.same)
    }
}

/// Why a box cannot be replayed, and what to do.
pub fn refusal(reason: NoReplay) -> (String, &'static str) {
    const OTHER_BUILD: &str = "use the desk program of the same version as the controller's; see `unit who`";
    const AGAIN: &str = "read it again with `unit box --to FILE`";
    match reason {
        NoReplay::NoBox(NoBox::TooShort) => ("the file is shorter than a black box".to_owned(), AGAIN),
        NoReplay::NoBox(NoBox::NoMark) => ("the file does not begin as a black box does".to_owned(), AGAIN),
        NoReplay::NoBox(NoBox::OtherVersion(found)) => (
            format!("the box is written in version {found} of its layout, which is not this one"),
            OTHER_BUILD,
        ),
        NoReplay::OtherDeclaration { found, expected } => (
            format!("the box has declaration {found:016x}, this program {expected:016x}"),
            "it is of another machine, or of another version of it; see `unit who`",
        ),
        NoReplay::NotFrozen => (
            "the box was still recording when it was read".to_owned(),
            "freeze it first: `unit box --freeze --to FILE`",
        ),
        NoReplay::Empty => ("the box holds no period".to_owned(), "arm it, and read it after a fault"),
        NoReplay::OtherLength { found, expected } => {
            (format!("the file has {found} bytes, its header says {expected}"), AGAIN)
        }
        NoReplay::OtherState => ("the state in the box is none of this program".to_owned(), OTHER_BUILD),
        NoReplay::Damaged { period } => (format!("the box is damaged from period {period} on"), AGAIN),
    }
}
