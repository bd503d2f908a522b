//! The latest frame of one declared message.

use core::cell::Cell;

use critical_section::Mutex;

/// The latest frame and how many there were.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Latest<F> {
    /// The latest frame; the initial value while `count` has not moved.
    pub frame: F,
    /// Free-running count of frames; wraps.
    pub count: u8,
}

/// Keeps the latest frame of one message for the loop.
///
/// Each declared message has its own, so that a flood of others cannot displace a lever. The count tells the
/// loop how many came since it last looked: none is a silence, too many a second sender.
///
/// ```
/// use trunnion::hand_over::FrameCell;
///
/// static LEFT_LEVER: FrameCell<u64> = FrameCell::new(0);
///
/// LEFT_LEVER.put(0x01); // in the CAN interrupt
/// LEFT_LEVER.put(0x40);
/// let latest = LEFT_LEVER.read(); // in the loop
/// assert_eq!((latest.frame, latest.count), (0x40, 2));
/// ```
#[derive(Debug)]
pub struct FrameCell<F: Copy>(Mutex<Cell<Latest<F>>>);

impl<F: Copy> FrameCell<F> {
    /// No frame yet; `initial` stands in its place.
    pub const fn new(initial: F) -> Self {
        Self(Mutex::new(Cell::new(Latest { frame: initial, count: 0 })))
    }

    /// A frame came, in the interrupt.
    pub fn put(&self, frame: F) {
        critical_section::with(|section| {
            let cell = self.0.borrow(section);
            let count = cell.get().count.wrapping_add(1);
            cell.set(Latest { frame, count });
        });
    }

    /// The latest frame and the count, in the loop.
    pub fn read(&self) -> Latest<F> {
        critical_section::with(|section| self.0.borrow(section).get())
    }
}

#[cfg(test)]
mod tests {
    use super::super::interleaving::{Turn, each_order};
    use super::*;

    #[test]
    fn in_every_order_the_loop_sees_the_latest_frame_with_its_count() {
        each_order(7, 7, |order| {
            let cell = FrameCell::new(0_u64);
            let mut frames = 0_u8;
            for turn in order {
                match turn {
                    Turn::Interrupt => {
                        frames += 1;
                        cell.put(u64::from(frames) << 40);
                    }
                    Turn::Loop => {
                        let expected = Latest { frame: u64::from(frames) << 40, count: frames };
                        assert_eq!(cell.read(), expected);
                    }
                }
            }
        });
    }

    #[test]
    fn the_count_runs_through_its_end() {
        let cell = FrameCell::new(7_u64);
        assert_eq!(cell.read(), Latest { frame: 7, count: 0 });
        (0..300).for_each(|frame| cell.put(frame));
        assert_eq!(cell.read(), Latest { frame: 299, count: 44 });
    }
}
