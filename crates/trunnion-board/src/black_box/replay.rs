//! The box on a laptop: the same program goes through the same periods.

use trunnion::machine::{FastLoop, SafeStart};

use super::header::{HEADER_BYTES, Header, NoBox};
use super::period::{Last, PERIOD_HEAD, sum};
use super::{Asked, Recorded, Unreadable};
use crate::layout::layout;
use crate::state_bytes;

/// Why a box cannot be replayed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoReplay {
    /// The bytes are none of a box.
    NoBox(NoBox),
    /// The box is of another machine, or of one with another declaration.
    OtherDeclaration {
        /// The box's number.
        found: u64,
        /// This program's.
        expected: u64,
    },
    /// It was still recording when it was read.
    NotFrozen,
    /// It holds no period.
    Empty,
    /// It has fewer or more bytes than its header says.
    OtherLength {
        /// Its bytes.
        found: u32,
        /// As the header says.
        expected: u32,
    },
    /// The state is none of this program: another build wrote it.
    OtherState,
    /// The bytes of this period are damaged.
    Damaged {
        /// The period, the first is 0.
        period: u32,
    },
}

/// One period of a replay.
#[derive(Clone, Copy)]
pub struct Replayed<P: Recorded> {
    /// What came in.
    pub inputs: P::Inputs,
    /// What the fast loop had to report.
    pub report: <P::Fast as FastLoop>::Report,
    /// What the replayed program drives.
    pub outputs: P::Outputs,
    /// Its internal points.
    pub diagnostics: P::Diagnostics,
    /// The recorded machine drove the same.
    pub same: bool,
}

/// Goes through a box, period by period. A copy is a place to come back to.
pub struct Replay<'a, P: Recorded> {
    program: P,
    last: Last,
    header: Header,
    bytes: &'a [u8],
    /// The period that comes next.
    period: u32,
}

impl<P: Recorded> Clone for Replay<'_, P> {
    fn clone(&self) -> Self {
        Self { program: self.program.clone(), last: self.last.clone(), ..*self }
    }
}

impl<'a, P: Recorded> Replay<'a, P> {
    /// Reads the state in which the box begins.
    ///
    /// # Errors
    ///
    /// [`NoReplay`]: what is wrong with these bytes.
    pub fn new(bytes: &'a [u8]) -> Result<Self, NoReplay> {
        let header = Header::from_bytes(bytes).map_err(NoReplay::NoBox)?;
        let expected = const { layout::<SafeStart<P>>() };
        if header.layout != expected {
            return Err(NoReplay::OtherDeclaration { found: header.layout, expected });
        }
        if !header.frozen {
            return Err(NoReplay::NotFrozen);
        }
        if header.periods() == 0 {
            return Err(NoReplay::Empty);
        }
        let other_length =
            NoReplay::OtherLength { found: bytes.len() as u32, expected: header.total_bytes() };
        if bytes.len() as u32 != header.total_bytes() {
            return Err(other_length);
        }
        let (_, rest) = bytes.split_at_checked(HEADER_BYTES).ok_or(other_length)?;
        let recorded = header.older_bytes.saturating_add(header.newer_bytes) as usize;
        let (periods, state) = rest.split_at_checked(recorded).ok_or(other_length)?;
        let Ok((program, [])) = state_bytes::read::<P>(state) else { return Err(NoReplay::OtherState) };
        Ok(Self { program, last: Last::new(), header, bytes: periods, period: 0 })
    }

    /// What the box says of itself.
    pub const fn header(&self) -> &Header {
        &self.header
    }

    /// The program as it is before the next period.
    pub const fn program(&self) -> &P {
        &self.program
    }

    /// One period; `None` behind the last one.
    ///
    /// # Errors
    ///
    /// [`NoReplay::Damaged`]: the period cannot be read.
    #[allow(
        clippy::should_implement_trait,
        reason = "an iterator would have to hide the place to come back to"
    )]
    pub fn next(&mut self) -> Result<Option<Replayed<P>>, NoReplay> {
        if self.period >= self.header.periods() {
            return Ok(None);
        }
        let damaged = NoReplay::Damaged { period: self.period };
        if self.period > 0 && self.period == self.header.older_periods {
            self.last.clear();
        }
        let [l0, l1, s0, s1, rest @ ..] = self.bytes else { return Err(damaged) };
        let length = usize::from(u16::from_le_bytes([*l0, *l1]));
        let (bytes, _) = rest.split_at_checked(length).ok_or(damaged)?;
        let (inputs, report) = self.last.take::<P>(bytes).ok_or(damaged)?;
        // As the box does while it records.
        if let Some(Asked::Read { .. }) = self.program.take_asked() {
            self.program.answer(Err(Unreadable::NotFrozen));
        }
        let outputs = self.program.step(&inputs, &report);
        self.bytes = self.bytes.get(PERIOD_HEAD.saturating_add(length)..).unwrap_or(&[]);
        self.period = self.period.saturating_add(1);
        Ok(Some(Replayed {
            inputs,
            report,
            outputs,
            diagnostics: self.program.diagnostics(),
            same: sum(&outputs) == u16::from_le_bytes([*s0, *s1]),
        }))
    }
}
