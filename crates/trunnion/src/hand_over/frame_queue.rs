//! Frames in the order in which they came.

use core::cell::{Cell, RefCell};

use critical_section::Mutex;
use heapless::Deque;

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
pub struct FrameQueue<F, const N: usize> {
    frames: Mutex<RefCell<Deque<F, N>>>,
    refused: Mutex<Cell<u16>>,
}

impl<F: Copy, const N: usize> FrameQueue<F, N> {
    /// Empty.
    pub const fn new() -> Self {
        Self { frames: Mutex::new(RefCell::new(Deque::new())), refused: Mutex::new(Cell::new(0)) }
    }

    /// A frame came, in the interrupt. Says whether it was taken.
    pub fn put(&self, frame: F) -> bool {
        critical_section::with(|section| {
            // Nothing borrows outside of a critical section, so the borrow cannot fail.
            let taken = match self.frames.borrow(section).try_borrow_mut() {
                Ok(mut frames) => frames.push_back(frame).is_ok(),
                Err(_) => false,
            };
            if !taken {
                let refused = self.refused.borrow(section);
                refused.set(refused.get().saturating_add(1));
            }
            taken
        })
    }

    /// The oldest frame, in the loop.
    pub fn take(&self) -> Option<F> {
        critical_section::with(|section| {
            self.frames.borrow(section).try_borrow_mut().ok().and_then(|mut frames| frames.pop_front())
        })
    }

    /// Frames refused since the start because the queue was full; stays at its largest value.
    pub fn refused(&self) -> u16 {
        critical_section::with(|section| self.refused.borrow(section).get())
    }
}

impl<F: Copy, const N: usize> Default for FrameQueue<F, N> {
    fn default() -> Self {
        Self::new()
    }
}
