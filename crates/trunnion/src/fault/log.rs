//! When each fault was set, and how often.

use super::FaultTable;
use super::table::{bits, firsts};
use crate::declare::FaultSet;

/// History of one fault; times in loops since start, which wrap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LogEntry {
    /// When it was set for the first time.
    pub first: u32,
    /// When it was set for the last time.
    pub last: u32,
    /// How often it was set; 0 is never, 255 is 255 or more.
    pub count: u8,
}

/// The history of a [`FaultTable`]: first, last and count of each fault.
///
/// Changes only when a fault is set, so that a store need not write while one stays active.
///
#[doc = include_str!("../../docs/fault-fault_log.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FaultLog<const N: usize> {
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    entries: [LogEntry; N],
    /// What was active at the last step: a table holds at most 255 faults.
    active: [u32; 8],
}

impl<const N: usize> FaultLog<N> {
    /// Empty.
    pub const fn new() -> Self {
        Self { entries: [LogEntry { first: 0, last: 0, count: 0 }; N], active: [0; 8] }
    }

    /// Empty again; what is active now counts as newly set at the next step.
    pub fn reset(&mut self) {
        *self = Self::new();
    }

    /// Empties one history. A fault that is still active stays known as active: it is not counted again
    /// before it was gone.
    pub fn clear(&mut self, index: u16) {
        if let Some(entry) = self.entries.get_mut(usize::from(index)) {
            *entry = LogEntry::default();
        }
    }

    /// One step after the table's, with the number of loops since start.
    pub fn step<F: FaultSet>(&mut self, table: &FaultTable<F, N>, now_ticks: u32) {
        let words = self.active.iter_mut().zip(table.active_words());
        for (first, (before, active)) in firsts().zip(words) {
            let set = *active & !*before;
            *before = *active;
            for bit in bits(set) {
                let Some(entry) = self.entries.get_mut(usize::from(first.wrapping_add(bit))) else { break };
                if entry.count == 0 {
                    entry.first = now_ticks;
                }
                entry.last = now_ticks;
                entry.count = entry.count.saturating_add(1);
            }
        }
    }

    /// The history of the fault in this place of the declaration; empty when there is no such place.
    pub fn entry(&self, index: u16) -> LogEntry {
        self.entries.get(usize::from(index)).copied().unwrap_or_default()
    }
}

impl<const N: usize> Default for FaultLog<N> {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::declare::{Latch, Reactions};
    use crate::quantity::Period;
    use proptest::prelude::*;

    crate::faults! {
        /// Two without times.
        pub enum Fault {
            /// One.
            One: spn 1, fmi 1, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 1, "here";
            /// Other.
            Other: spn 1, fmi 2, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 2, "here";
        }
    }

    fn table() -> FaultTable<Fault, { Fault::COUNT }> {
        FaultTable::new(Period::from_micros(10_000).unwrap())
    }

    #[test]
    fn the_count_stops_at_its_end_and_the_last_time_goes_on() {
        let (mut table, mut log) = (table(), FaultLog::<{ Fault::COUNT }>::new());
        for now in 0..1_000 {
            table.step(&[now % 2 == 1, false], true);
            log.step(&table, now);
        }
        assert_eq!(log.entry(Fault::One.place()), LogEntry { first: 1, last: 999, count: 255 });
        assert_eq!(log.entry(Fault::Other.place()), LogEntry::default());
        assert_eq!(log.entry(2), LogEntry::default());
    }

    #[test]
    fn clearing_a_history_does_not_count_a_fault_that_is_still_active_again() {
        let (mut table, mut log) = (table(), FaultLog::<{ Fault::COUNT }>::default());
        table.step(&[true, true], true);
        log.step(&table, 5);
        log.clear(Fault::One.place());
        log.clear(9);
        log.step(&table, 6);
        assert_eq!((log.entry(Fault::One.place()).count, log.entry(Fault::Other.place()).count), (0, 1));
        log.reset();
        log.step(&table, 7);
        assert_eq!(log.entry(Fault::One.place()), LogEntry { first: 7, last: 7, count: 1 });
    }

    proptest! {
        #[test]
        fn a_history_is_the_first_and_last_rise_and_their_number(levels in proptest::collection::vec(any::<bool>(), 0..120)) {
            let (mut table, mut log) = (table(), FaultLog::<{ Fault::COUNT }>::new());
            let mut rises = std::vec::Vec::new();
            let mut before = false;
            for (now, level) in (100_u32..).zip(&levels) {
                table.step(&[false, *level], true);
                log.step(&table, now);
                if *level && !before {
                    rises.push(now);
                }
                before = *level;
            }
            let entry = log.entry(Fault::Other.place());
            prop_assert_eq!(usize::from(entry.count), rises.len());
            prop_assert_eq!(entry.first, rises.first().copied().unwrap_or(0));
            prop_assert_eq!(entry.last, rises.last().copied().unwrap_or(0));
            prop_assert_eq!(log.entry(Fault::One.place()), LogEntry::default());
        }
    }
}
