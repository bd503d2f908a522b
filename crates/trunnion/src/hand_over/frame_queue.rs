//! Frames in the order in which they came.

use core::cell::Cell;

use critical_section::Mutex;

/// Keeps up to `N` frames in order between an interrupt and the loop.
///
/// For protocols in which each frame counts. When it is full the frame that comes is refused and counted:
/// what was taken stays in order, and the protocol's own time-out meets the gap.
///
/// ```
/// use trunnion::hand_over::FrameQueue;
///
/// static SERVICE: FrameQueue<u64, 2> = FrameQueue::new();
///
/// for frame in [10, 11, 12] {
///     SERVICE.put(frame); // in the CAN interrupt
/// }
/// assert_eq!((SERVICE.take(), SERVICE.take(), SERVICE.take()), (Some(10), Some(11), None)); // in the loop
/// assert_eq!(SERVICE.refused(), 1);
/// ```
#[derive(Debug)]
pub struct FrameQueue<F: Copy, const N: usize>(Mutex<Ring<F, N>>);

/// Frames in a circle. Cells instead of one borrowed whole: nothing can be found borrowed.
#[derive(Debug)]
struct Ring<F: Copy, const N: usize> {
    frames: [Cell<Option<F>>; N],
    /// Place of the oldest frame.
    oldest: Cell<u16>,
    waiting: Cell<u16>,
    refused: Cell<u16>,
}

impl<F: Copy, const N: usize> FrameQueue<F, N> {
    /// Empty. More than 65,535 places fail the build.
    pub const fn new() -> Self {
        const { assert!(N <= u16::MAX as usize, "a frame queue has at most 65535 places") };
        Self(Mutex::new(Ring {
            frames: [const { Cell::new(None) }; N],
            oldest: Cell::new(0),
            waiting: Cell::new(0),
            refused: Cell::new(0),
        }))
    }

    /// A frame came, in the interrupt. Says whether it was taken.
    pub fn put(&self, frame: F) -> bool {
        critical_section::with(|section| self.0.borrow(section).put(frame))
    }

    /// The oldest frame, in the loop.
    pub fn take(&self) -> Option<F> {
        critical_section::with(|section| self.0.borrow(section).take())
    }

    /// Frames refused since the start because the queue was full; stays at its largest value.
    pub fn refused(&self) -> u16 {
        critical_section::with(|section| self.0.borrow(section).refused.get())
    }
}

impl<F: Copy, const N: usize> Ring<F, N> {
    const PLACES: u16 = N as u16;

    fn put(&self, frame: F) -> bool {
        let waiting = self.waiting.get();
        let free = self.frames.get(usize::from(self.place_after(waiting)));
        if let (true, Some(place)) = (waiting < Self::PLACES, free) {
            place.set(Some(frame));
            self.waiting.set(waiting.saturating_add(1));
            return true;
        }
        self.refused.set(self.refused.get().saturating_add(1));
        false
    }

    fn take(&self) -> Option<F> {
        let frame = self.frames.get(usize::from(self.oldest.get()))?.take()?;
        self.oldest.set(self.place_after(1));
        self.waiting.set(self.waiting.get().saturating_sub(1));
        Some(frame)
    }

    /// The place so many frames after the oldest one, at most a whole turn.
    fn place_after(&self, frames: u16) -> u16 {
        let place = u32::from(self.oldest.get()).saturating_add(u32::from(frames));
        let turned = place.checked_sub(u32::from(Self::PLACES)).unwrap_or(place);
        turned as u16
    }
}

impl<F: Copy, const N: usize> Default for FrameQueue<F, N> {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::super::interleaving::{Turn, each_order};
    use super::*;
    use std::collections::VecDeque;

    #[test]
    fn in_every_order_frames_come_out_as_they_went_in_and_the_refused_are_counted() {
        each_order(9, 7, |order| {
            let queue = FrameQueue::<u32, 3>::default();
            let (mut expected, mut refused, mut sent) = (VecDeque::new(), 0, 0);
            for turn in order {
                match turn {
                    Turn::Interrupt => {
                        let fits = expected.len() < 3;
                        if fits {
                            expected.push_back(sent);
                        } else {
                            refused += 1;
                        }
                        assert_eq!(queue.put(sent), fits);
                        sent += 1;
                    }
                    Turn::Loop => assert_eq!(queue.take(), expected.pop_front()),
                }
                assert_eq!(queue.refused(), refused);
            }
        });
    }

    #[test]
    fn between_two_cores_every_frame_is_taken_in_order_or_counted() {
        static QUEUE: FrameQueue<u32, 8> = FrameQueue::new();
        let writer = std::thread::spawn(|| (0..20_000).filter(|frame| QUEUE.put(*frame)).count());
        let mut taken = std::vec::Vec::new();
        let accepted = loop {
            let done = writer.is_finished();
            while let Some(frame) = QUEUE.take() {
                taken.push(frame);
            }
            if done {
                break writer.join().unwrap();
            }
        };
        assert!(taken.is_sorted_by(|earlier, later| earlier < later));
        assert_eq!(taken.len(), accepted);
        assert_eq!(accepted + usize::from(QUEUE.refused()), 20_000);
    }

    #[test]
    fn the_count_of_refused_frames_stays_at_its_end() {
        let queue = FrameQueue::<u8, 1>::new();
        let accepted = (0..70_000).filter(|_| queue.put(1)).count();
        assert_eq!(accepted, 1);
        assert_eq!(queue.refused(), u16::MAX);
    }
}
