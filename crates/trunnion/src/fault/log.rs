//! When each fault was set, and how often.

use super::FaultTable;
use crate::declare::FaultSet;

/// History of one fault; times in loops since start, which wrap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LogEntry {
    /// When it was set for the first time.
    pub first: u32,
    /// When it was set for the last time.
    pub last: u32,
    /// How often it was set; 0 is never, 255 is 255 or more.
    pub count: u8,
}

#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Line {
    entry: LogEntry,
    active: bool,
}

/// The history of a [`FaultTable`]: first, last and count of each fault.
///
/// Changes only when a fault is set, so that a store need not write while one stays active.
///
/// ```
/// use trunnion::declare::{FaultSet, Latch, Reactions};
/// use trunnion::fault::{FaultLog, FaultTable};
/// use trunnion::quantity::Period;
///
/// trunnion::faults! {
///     /// What can go wrong on the roller.
///     pub enum Fault {
///         /// The drum coil draws no current. Check its plug.
///         DrumCoilOpen: spn 520_200, fmi 5, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 21, "drum coil, X3:4";
///     }
/// }
///
/// let mut table = FaultTable::<Fault, 1>::new(Period::from_micros(10_000).unwrap());
/// let mut log = FaultLog::<1>::new();
/// for (now, open) in [(100, true), (101, true), (102, false), (103, true)] {
///     table.step(&[open], true);
///     log.step(&table, now);
/// }
/// let entry = log.entry(Fault::DrumCoilOpen.place());
/// assert_eq!((entry.first, entry.last, entry.count), (100, 103, 2));
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FaultLog<const N: usize> {
    lines: [Line; N],
}

impl<const N: usize> FaultLog<N> {
    const EMPTY: Line = Line { entry: LogEntry { first: 0, last: 0, count: 0 }, active: false };

    /// Empty.
    pub const fn new() -> Self {
        Self { lines: [Self::EMPTY; N] }
    }

    /// Empty again; what is active now counts as newly set at the next step.
    pub fn reset(&mut self) {
        self.lines = [Self::EMPTY; N];
    }

    /// Empties one history. A fault that is still active stays known as active: it is not counted again
    /// before it was gone.
    pub fn clear(&mut self, index: u16) {
        if let Some(line) = self.lines.get_mut(usize::from(index)) {
            line.entry = LogEntry::default();
        }
    }

    /// One step after the table's, with the number of loops since start.
    pub fn step<F: FaultSet>(&mut self, table: &FaultTable<F, N>, now_ticks: u32) {
        for (place, line) in (0_u16..).zip(&mut self.lines) {
            let active = table.is_active(place);
            if active && !line.active {
                if line.entry.count == 0 {
                    line.entry.first = now_ticks;
                }
                line.entry.last = now_ticks;
                line.entry.count = line.entry.count.saturating_add(1);
            }
            line.active = active;
        }
    }

    /// The history of the fault in this place of the declaration; empty when there is no such place.
    pub fn entry(&self, index: u16) -> LogEntry {
        self.lines.get(usize::from(index)).map_or(LogEntry::default(), |line| line.entry)
    }
}

impl<const N: usize> Default for FaultLog<N> {
    fn default() -> Self {
        Self::new()
    }
}
