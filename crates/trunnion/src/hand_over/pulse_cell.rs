//! Pulses of a speed pickup.

use core::cell::Cell;

use critical_section::Mutex;

/// What a pulse input has seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Pulses {
    /// Free-running count of edges; wraps.
    pub edges: u16,
    /// Free-running microseconds at the last edge; wraps.
    pub stamp_micros: u32,
}

/// Counts edges in an interrupt, for a loop that reads them once a period.
///
/// Count and stamp are always of the same edge. Both run freely and wrap, so a late loop loses nothing as
/// long as fewer than 65,536 edges fall into one period.
///
/// ```
/// use trunnion::hand_over::PulseCell;
///
/// static ENGINE_PICKUP: PulseCell = PulseCell::new();
///
/// ENGINE_PICKUP.edge(1_000); // in the capture interrupt
/// ENGINE_PICKUP.edge(1_417);
/// let pulses = ENGINE_PICKUP.read(); // in the loop
/// assert_eq!((pulses.edges, pulses.stamp_micros), (2, 1_417));
/// ```
#[derive(Debug)]
pub struct PulseCell(Mutex<Cell<Pulses>>);

impl PulseCell {
    /// No edge yet.
    pub const fn new() -> Self {
        Self(Mutex::new(Cell::new(Pulses { edges: 0, stamp_micros: 0 })))
    }

    /// One edge, in the interrupt.
    pub fn edge(&self, stamp_micros: u32) {
        self.edges(1, stamp_micros);
    }

    /// Several edges that the hardware counted since the last call, and the time of the last of them.
    pub fn edges(&self, edges: u16, stamp_micros: u32) {
        critical_section::with(|section| {
            let cell = self.0.borrow(section);
            let seen = cell.get();
            cell.set(Pulses { edges: seen.edges.wrapping_add(edges), stamp_micros });
        });
    }

    /// Count and stamp of the last edge, in the loop.
    pub fn read(&self) -> Pulses {
        critical_section::with(|section| self.0.borrow(section).get())
    }
}

impl Default for PulseCell {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::super::interleaving::{Turn, each_order};
    use super::*;

    #[test]
    fn in_every_order_the_loop_sees_count_and_stamp_of_the_same_last_edge() {
        each_order(8, 6, |order| {
            let cell = PulseCell::default();
            let mut edges = 0;
            for turn in order {
                match turn {
                    Turn::Interrupt => {
                        edges += 1;
                        cell.edge(u32::from(edges) * 1_000);
                    }
                    Turn::Loop => {
                        assert_eq!(cell.read(), Pulses { edges, stamp_micros: u32::from(edges) * 1_000 });
                    }
                }
            }
        });
    }

    #[test]
    fn counters_run_through_their_end() {
        let cell = PulseCell::new();
        cell.edges(u16::MAX, u32::MAX);
        cell.edges(3, 5);
        assert_eq!(cell.read(), Pulses { edges: 2, stamp_micros: 5 });
    }

    #[test]
    fn a_reader_on_another_core_never_sees_a_torn_pair() {
        static CELL: PulseCell = PulseCell::new();
        let writer = std::thread::spawn(|| (1..=40_000_u32).for_each(|edge| CELL.edge(edge * 3)));
        let mut last = 0;
        while last < 40_000 {
            let pulses = CELL.read();
            assert_eq!(pulses.stamp_micros, u32::from(pulses.edges) * 3);
            assert!(pulses.edges >= last);
            last = pulses.edges;
        }
        writer.join().unwrap();
    }
}
