use std::collections::VecDeque;

use trunnion_can::bus_slot::BusSlot;
use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;

/// Frames that wait for the next periods: four periods' worth. What comes on top is lost, counted and told.
pub const QUEUE_DEPTH: usize = 32;

/// Groups that a station takes, whoever sends them: requests, transport protocol, claims, and a tester's two.
const TAKEN: [u32; 6] = [
    pgn::REQUEST,
    pgn::TRANSPORT_PACKET,
    pgn::TRANSPORT_CONTROL,
    pgn::ADDRESS_CLAIMED,
    // ISO 15765-2, normal fixed addressing, to one and to all.
    0xDA00,
    0xDB00,
];

/// Frames between the bus controller and the control program's eight slots of a period.
///
/// Behind acceptance filters: levers and engine have slots of their own and never wait here.
#[derive(Debug, Clone, Default)]
pub struct FrameQueue {
    waiting: VecDeque<Frame>,
    lost: u8,
}

impl FrameQueue {
    /// Takes a frame of the bus, if it is one of those that a station takes.
    pub fn take(&mut self, frame: &Frame) {
        if !frame.id29().is_some_and(|id| TAKEN.contains(&id.pgn())) {
            return;
        }
        if self.waiting.len() == QUEUE_DEPTH {
            self.lost = self.lost.wrapping_add(1);
        } else {
            self.waiting.push_back(*frame);
        }
    }

    /// The slots of a period, oldest frame first.
    pub fn slots(&mut self) -> [BusSlot; 8] {
        std::array::from_fn(|_| BusSlot::of(self.waiting.pop_front().as_ref()))
    }

    /// Frames that were lost, counted on.
    pub const fn lost(&self) -> u8 {
        self.lost
    }

    /// Forgets what waits: the controller left the bus, or started anew.
    pub fn clear(&mut self) {
        self.waiting.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion_can::id::Id29;

    fn frame(raw: u32, number: u8) -> Frame {
        Frame::group(Id29::from_raw(raw).unwrap(), [number; 8])
    }

    #[test]
    fn frames_keep_their_order_and_what_is_too_much_is_counted() {
        let mut queue = FrameQueue::default();
        (0..40).for_each(|number| queue.take(&frame(0x18DA_27F9, number)));
        assert_eq!(queue.lost(), 8);
        let numbers: Vec<u8> = (0..5)
            .flat_map(|_| queue.slots())
            .filter_map(|slot| slot.frame())
            .map(|frame| frame.bytes()[0])
            .collect();
        assert_eq!(numbers, (0..32).collect::<Vec<u8>>());
    }

    #[test]
    fn a_lever_and_a_frame_of_eleven_bits_do_not_wait_here() {
        let mut queue = FrameQueue::default();
        queue.take(&frame(0x0CFD_D621, 1));
        queue.take(&Frame::with_bytes(trunnion_can::frame::standard(0x7E0).unwrap(), &[1]).unwrap());
        assert!(queue.slots().iter().all(|slot| slot.frame().is_none()));
    }
}
