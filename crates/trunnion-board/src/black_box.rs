//! The black box: what came in during the last seconds before a fault, and the state in which it began.
//!
//! [`Boxed`] is a control program around another one. It keeps two segments: in each the inner program's state as it was
//! when the segment began, and all that came in since, as differences. When the newer segment is full, it takes the place
//! of the older one. So there is always a state with all that followed it, which the same program replays bit for bit
//! elsewhere: [`replay`].
//!
//! - It freezes a while after a fault that its rule names, or when a tester says so, and stays frozen until a tester arms
//!   it again or the controller restarts: it is in RAM.
//! - How long a segment lasts, how long is recorded after the fault and which faults freeze the box are parameters
//!   ([`BlackBoxConfig`]). The first of them is the rate of states, too: one is kept each time a segment begins. The rate of
//!   inputs is none: a step leans on the one before, so with one period left out nothing behind it replays bit for bit.
//! - New parameters begin a new segment and end what was before.
//! - Memory: two copies of the program's state, `2 · BYTES`, and twice 1 KiB in which periods are compared: [`Boxed::MEMORY`].
//! - Recording costs a pass over inputs, reports and outputs each period, and a copy of the state when a segment begins. Reading costs a
//!   pass over the whole state for each part that is read, so the service port reads it from a quiet machine only.
//!
//! The box as a tester reads it, all numbers little-endian:
//!
//! | bytes | what |
//! |---|---|
//! | 48 | [`header`] |
//! | as the header says | periods of the older segment, then of the newer |
//! | as the header says | the state in which the older one begins, or the newer where there is no older |
//!
//! A period is: its number of bytes (two bytes), a sum over its outputs (two bytes), inputs and reports of the fast loop
//! as differences from the period before in its segment, word by word.

pub mod header;
mod memory;
mod period;
pub mod replay;
mod segment;
mod window;

use core::fmt;
use core::mem;
use core::ops::Deref;

use serde::Serialize;
use serde::de::DeserializeOwned;
use trunnion::declare::{FaultSet, Reactions, Refusal};
use trunnion::machine::{Boot, FastLoop, Program, SafeStart};
use trunnion::quantity::{Millis, Period};

use crate::layout::layout;
use crate::state_bytes;
use header::{Cause, Header};
pub use memory::Memory;
use period::Last;
use segment::Segment;

/// Bytes of a segment, below which one period may not fit.
pub const LEAST_BYTES: usize = 2_048;

trunnion::choices! {
    /// Which faults freeze the box.
    pub enum FreezeRule {
        /// None: a tester does.
        Tester = "tester",
        /// Those that make the machine do something: stop, slow down, cut.
        Reacting = "reacting_faults",
        /// All.
        Any = "all_faults",
    }
}

impl FreezeRule {
    /// A fault with these reactions freezes the box.
    pub fn names(self, reactions: Reactions) -> bool {
        match self {
            Self::Tester => false,
            Self::Reacting => reactions != Reactions::NONE,
            Self::Any => true,
        }
    }
}

/// What the box is to keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BlackBoxConfig {
    /// Time that a segment holds at most; it begins anew earlier when its bytes are full. Never less than one period.
    pub depth: Millis,
    /// Time that is recorded after the fault.
    pub after: Millis,
    /// Which faults freeze it.
    pub rule: FreezeRule,
}

/// What a tester asks of the box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
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

/// Why the box gives nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unreadable {
    /// It still records: all changes under the reader's hands.
    NotFrozen,
    /// It ends before.
    Outside,
}

/// A control program whose periods a box keeps.
pub trait Recorded:
    Program<Fast: FastLoop<Report: Serialize + DeserializeOwned>> + Serialize + DeserializeOwned
{
    /// What the box is to keep, with the parameters in effect.
    fn black_box(&self) -> BlackBoxConfig;

    /// What a tester asked in the last step, taken once.
    fn take_asked(&mut self) -> Option<Asked>;

    /// What a read gives.
    fn answer(&mut self, bytes: Result<&[u8], Unreadable>);

    /// The faults that are active, 32 a word, the first of the declaration in the lowest bit of the first: of each what
    /// [`Program::is_fault_active`] says. The box asks every period; a program that has the words gives them at once.
    fn active_faults(&self) -> [u32; FAULT_WORDS] {
        let mut words = [0; FAULT_WORDS];
        let mut first = 0_u16;
        for (word, rules) in words.iter_mut().zip(Self::Faults::RULES.chunks(32)) {
            let mut bit = 1_u32;
            for place in (first..).take(rules.len()) {
                *word |= if self.is_fault_active(place) { bit } else { 0 };
                bit = bit.wrapping_shl(1);
            }
            first = first.wrapping_add(32);
        }
        words
    }
}

/// Words of 32 faults, all that a machine may have.
pub const FAULT_WORDS: usize = 8;
/// Most bytes that one read gives.
pub const MOST_READ: usize = 512;

/// What the box is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mode {
    Recording,
    /// So many periods are still to come.
    Closing(u32),
    Frozen,
}

/// A control program with its black box of two segments of `BYTES` each.
#[derive(Clone)]
pub struct Boxed<P: Program, const BYTES: usize> {
    program: P,
    segments: [Segment<P, BYTES>; 2],
    last: Last,
    /// Which of the two is the newer.
    newer: bool,
    mode: Mode,
    cause: Cause,
    /// The faults that are active, a bit each.
    faults: [u32; FAULT_WORDS],
}

impl<P: Program + fmt::Debug, const BYTES: usize> fmt::Debug for Boxed<P, BYTES> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter
            .debug_struct("Boxed")
            .field("program", &self.program)
            .field("mode", &self.mode)
            .finish_non_exhaustive()
    }
}

impl<P: Program, const BYTES: usize> Deref for Boxed<P, BYTES> {
    type Target = P;

    fn deref(&self) -> &P {
        &self.program
    }
}

impl<P: Recorded, const BYTES: usize> Boxed<P, BYTES> {
    /// What the box holds.
    pub fn header(&self) -> Header {
        let [older, newer] = self.in_order();
        let state = if self.mode == Mode::Frozen { state_bytes::size(self.first_state()) } else { 0 };
        Header {
            layout: const { layout::<SafeStart<P>>() },
            period_micros: P::PERIOD.micros(),
            frozen: self.mode == Mode::Frozen,
            cause: self.cause,
            older_periods: older.map_or(0, Segment::periods),
            newer_periods: newer.map_or(0, Segment::periods),
            older_bytes: older.map_or(0, |segment| segment.bytes().len() as u32),
            newer_bytes: newer.map_or(0, |segment| segment.bytes().len() as u32),
            state_bytes: state,
        }
    }

    /// Fills `out` with the box from this place on; what is behind its end is left. Gives the bytes filled.
    ///
    /// # Errors
    ///
    /// [`Unreadable`]: it still records, or ends before this place.
    pub fn read<'a>(&self, place: u32, out: &'a mut [u8]) -> Result<&'a [u8], Unreadable> {
        if self.mode != Mode::Frozen {
            return Err(Unreadable::NotFrozen);
        }
        let header = self.header();
        if place.saturating_add(out.len() as u32) > header.total_bytes() {
            return Err(Unreadable::Outside);
        }
        let mut window = window::Window::new(place, out);
        window.show(&header.to_bytes());
        for segment in self.in_order().into_iter().flatten() {
            window.show(segment.bytes());
        }
        if !window.is_full() {
            window.show_state(self.first_state());
        }
        Ok(out)
    }

    /// The segments that hold something, the older first.
    fn in_order(&self) -> [Option<&Segment<P, BYTES>>; 2] {
        let [first, second] = &self.segments;
        let (older, newer) = if self.newer { (first, second) } else { (second, first) };
        [
            Some(older).filter(|segment| segment.periods() > 0),
            Some(newer).filter(|segment| segment.periods() > 0),
        ]
    }

    fn first_state(&self) -> &P {
        let first = self.in_order().into_iter().flatten().next();
        first.and_then(Segment::state).unwrap_or(&self.program)
    }

    fn newer_mut(&mut self) -> &mut Segment<P, BYTES> {
        let [first, second] = &mut self.segments;
        if self.newer { second } else { first }
    }

    fn serve_asked(&mut self) {
        match self.program.take_asked() {
            None => {}
            Some(Asked::Read { place, length }) => {
                let mut bytes = [0; MOST_READ];
                let given = match bytes.get_mut(..usize::from(length)) {
                    Some(out) => self.read(place, out),
                    None => Err(Unreadable::Outside),
                };
                self.program.answer(given);
            }
            Some(Asked::Freeze) if self.mode == Mode::Frozen => {}
            Some(Asked::Freeze) => {
                self.cause = Cause::Tester;
                self.mode = Mode::Frozen;
            }
            Some(Asked::Arm) => self.arm(),
        }
    }

    fn arm(&mut self) {
        self.segments.iter_mut().for_each(Segment::clear);
        self.mode = Mode::Recording;
        self.cause = Cause::None;
        // What is wrong already is not what it waits for.
        self.freezing_fault();
    }

    fn record(&mut self, inputs: &P::Inputs, report: &<P::Fast as FastLoop>::Report) {
        let most = P::PERIOD.steps(self.program.black_box().depth);
        let newer = usize::from(self.newer);
        let Self { program, segments, last, .. } = self;
        let Some(segment) = segments.get_mut(newer) else { return };
        if segment.periods() == 0 {
            segment.begin(program);
            last.clear();
        }
        if segment.periods() < most.max(1) && segment.put(last, inputs, report) {
            return;
        }
        self.newer = !self.newer;
        let Some(segment) = segments.get_mut(usize::from(self.newer)) else { return };
        segment.begin(program);
        last.clear();
        segment.put(last, inputs, report);
    }

    /// Faults that became active in this period and that the rule names: the first of them.
    fn freezing_fault(&mut self) -> Option<u16> {
        let before = mem::replace(&mut self.faults, self.program.active_faults());
        let fresh = self.faults.iter().zip(&before).fold(0, |any, (active, before)| any | (active & !before));
        if fresh == 0 { None } else { self.named_fault(&before) }
    }

    /// Seldom: kept out of the way of the period in which no fault comes.
    #[cold]
    #[inline(never)]
    fn named_fault(&self, before: &[u32; FAULT_WORDS]) -> Option<u16> {
        let rule = self.program.black_box().rule;
        let mut first = 0_u16;
        for (rules, (active, before)) in P::Faults::RULES.chunks(32).zip(self.faults.iter().zip(before)) {
            let fresh = active & !before;
            let named = (0_u16..).zip(rules).find(|(place, rules)| {
                fresh.wrapping_shr(u32::from(*place)) & 1 == 1 && rule.names(rules.reactions)
            });
            if let Some((place, _)) = named {
                return Some(first.wrapping_add(place));
            }
            first = first.wrapping_add(32);
        }
        None
    }

    fn close(&mut self) {
        let fault = self.freezing_fault();
        match (self.mode, fault) {
            (Mode::Recording, Some(fault)) => {
                self.cause = Cause::Fault { place: fault, periods_after: 0 };
                let after = P::PERIOD.steps(self.program.black_box().after);
                self.mode = if after == 0 { Mode::Frozen } else { Mode::Closing(after) };
            }
            (Mode::Closing(left), _) => {
                if let Cause::Fault { periods_after, .. } = &mut self.cause {
                    *periods_after = periods_after.saturating_add(1);
                }
                self.mode = if left <= 1 { Mode::Frozen } else { Mode::Closing(left.saturating_sub(1)) };
            }
            _ => {}
        }
    }
}

impl<P: Recorded, const BYTES: usize> Program for Boxed<P, BYTES> {
    const PERIOD: Period = P::PERIOD;
    const FAST_STEPS: u8 = P::FAST_STEPS;
    type Parameters = P::Parameters;
    type Fast = P::Fast;
    type Inputs = P::Inputs;
    type Outputs = P::Outputs;
    type Diagnostics = P::Diagnostics;
    type Faults = P::Faults;

    fn new(boot: &Boot<P::Parameters>, replaced: bool) -> Result<Self, Refusal> {
        const { assert!(BYTES >= LEAST_BYTES, "a segment of the black box is too small for one period") };
        Ok(Self {
            program: P::new(boot, replaced)?,
            segments: [Segment::new(), Segment::new()],
            last: Last::new(),
            newer: false,
            mode: Mode::Recording,
            cause: Cause::None,
            faults: [0; FAULT_WORDS],
        })
    }

    fn fast(parameters: &P::Parameters) -> Result<P::Fast, Refusal> {
        P::fast(parameters)
    }

    fn idle_fast() -> P::Fast {
        P::idle_fast()
    }

    fn step(&mut self, inputs: &P::Inputs, report: &<P::Fast as FastLoop>::Report) -> P::Outputs {
        self.serve_asked();
        let recording = self.mode != Mode::Frozen;
        if recording {
            self.record(inputs, report);
        }
        let outputs = self.program.step(inputs, report);
        if recording {
            self.newer_mut().close(&outputs);
            self.close();
        }
        outputs
    }

    fn set_points(&self) -> <P::Fast as FastLoop>::SetPoints {
        self.program.set_points()
    }

    fn reconfigure(&mut self, parameters: &P::Parameters) -> Result<(), Refusal> {
        self.program.reconfigure(parameters)?;
        match self.mode {
            Mode::Recording => self.arm(),
            // What follows could not be replayed.
            Mode::Closing(_) => self.mode = Mode::Frozen,
            Mode::Frozen => {}
        }
        Ok(())
    }

    fn reconfigure_fast(fast: &mut P::Fast, parameters: &P::Parameters) -> Result<(), Refusal> {
        P::reconfigure_fast(fast, parameters)
    }

    fn committed(&mut self) -> Option<P::Parameters> {
        self.program.committed()
    }

    fn is_fault_active(&self, index: u16) -> bool {
        self.program.is_fault_active(index)
    }

    fn diagnostics(&self) -> P::Diagnostics {
        self.program.diagnostics()
    }
}
