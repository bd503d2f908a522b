//! From interrupts to the loop, without a lost or torn value.
//!
//! | what | carries | when the loop is late |
//! |---|---|---|
//! | [`PulseCell`] | edges and last stamp of a pulse input | nothing is lost: counters run freely |
//! | [`FrameCell`] | the latest of one declared message | older ones are replaced, and counted |
//! | [`FrameQueue`] | every frame of a service or transport protocol | the newest are refused, and counted |
//!
//! Each is a `static` with an interrupt's side and a loop's side; every access is one short critical section,
//! so that a value is seen whole or not yet. An interrupt never shares the machine itself.

mod frame_cell;
mod frame_queue;
mod pulse_cell;

pub use frame_cell::{FrameCell, Latest};
pub use frame_queue::FrameQueue;
pub use pulse_cell::{PulseCell, Pulses};

#[cfg(test)]
mod interleaving {
    //! Every order in which an interrupt and the loop can meet. Each access is one critical section, so the
    //! orders of whole accesses are all there are.

    /// Who has its turn.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub(super) enum Turn {
        Interrupt,
        Loop,
    }

    /// Runs `trial` once with each order of so many turns.
    pub(super) fn each_order(interrupts: u32, loops: u32, mut trial: impl FnMut(&[Turn])) {
        let turns = interrupts + loops;
        let mut orders = 0_u64;
        for pattern in (0_u32..1 << turns).filter(|pattern| pattern.count_ones() == interrupts) {
            let order: std::vec::Vec<Turn> = (0..turns)
                .map(|turn| if pattern >> turn & 1 == 1 { Turn::Interrupt } else { Turn::Loop })
                .collect();
            trial(&order);
            orders += 1;
        }
        let expected = (1..=u64::from(loops)).fold(1, |ways, n| ways * (u64::from(interrupts) + n) / n);
        assert_eq!(orders, expected, "every order once");
    }
}
