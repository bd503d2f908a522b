//! What becomes of a unit's frames on their way to the bus.

use crate::plant::{BusFrame, SplitMix64};
use crate::run::Way;

/// Frames of a flood in a millisecond: as many as the bus carries (250 kbit/s, 125 to 160 bits each, SAE J1939-11).
pub const FLOOD: usize = 2;

/// The way of one message from its unit to the bus: as it was sent, corrupted, under another address, or as a flood.
#[derive(Debug, Clone)]
pub struct FramePath {
    way: Option<Way>,
    other: u8,
    random: SplitMix64,
    last: Option<BusFrame>,
}

impl FramePath {
    /// A sound one. `other` is the address under which the unit sends when it has a wrong one; the bytes that are corrupted
    /// come from the scenario's `seed` and the message's `name`.
    pub fn new(seed: u64, name: &str, other: u8) -> Self {
        Self { way: None, other, random: SplitMix64::for_part(seed, name), last: None }
    }

    /// Breaks it, or mends it with `None`; ways that are the unit's own do nothing here.
    pub fn set_way(&mut self, way: Option<Way>) {
        self.way = way;
    }

    /// The identifier of its flood, if there is one: frames with a higher one are not heard.
    pub fn flood(&self) -> Option<u32> {
        self.last.filter(|_| self.way == Some(Way::Flooding)).map(|frame| frame.id)
    }

    /// Passes a millisecond, in which the unit sent this: what comes onto the bus.
    pub fn step(&mut self, frame: Option<BusFrame>) -> impl Iterator<Item = BusFrame> + use<> {
        if let Some(sent) = frame {
            self.last = Some(sent);
        }
        let (frame, times) = match self.way {
            Some(Way::Flooding) => (self.last, FLOOD),
            Some(Way::Corrupted) => (frame.map(|frame| self.corrupted(frame)), 1),
            Some(Way::WrongSource) => (frame.map(|frame| self.under_another_address(frame)), 1),
            _ => (frame, 1),
        };
        frame.into_iter().flat_map(move |frame| std::iter::repeat_n(frame, times))
    }

    /// Two of the bytes are anything: what a unit sends whose memory or processor is damaged. Bits that fall over on the wire
    /// are found by the frame's checksum and never arrive.
    fn corrupted(&mut self, frame: BusFrame) -> BusFrame {
        let mut data = frame.data;
        for _ in 0..2 {
            let bits = self.random.next_u64();
            data[(bits % 8) as usize] = (bits >> 8) as u8;
        }
        BusFrame { data, ..frame }
    }

    fn under_another_address(&self, frame: BusFrame) -> BusFrame {
        BusFrame { id: (frame.id & !0xFF) | u32::from(self.other), ..frame }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SENT: BusFrame = BusFrame { id: 0x0CFD_D621, data: [1, 2, 3, 4, 5, 6, 7, 8], at_us: 0 };

    /// What comes of a frame every 10 ms for 100 ms.
    fn frames(way: Option<Way>) -> (FramePath, Vec<BusFrame>) {
        let mut path = FramePath::new(1, "lever", 0x22);
        path.set_way(way);
        let frames = (0..100).flat_map(|at| path.step((at % 10 == 0).then_some(SENT))).collect();
        (path, frames)
    }

    #[test]
    fn a_sound_path_brings_what_was_sent() {
        assert_eq!(frames(None).1, [SENT; 10]);
        assert_eq!(frames(Some(Way::Intermittent)).1, [SENT; 10], "the unit's own");
        assert_eq!(frames(None).0.flood(), None);
    }

    #[test]
    fn a_flood_fills_the_bus_and_drowns_what_has_a_higher_identifier() {
        let (path, frames) = frames(Some(Way::Flooding));
        assert_eq!(frames.len(), 200);
        assert_eq!(path.flood(), Some(SENT.id));
    }

    #[test]
    fn a_corrupted_frame_has_at_most_two_other_bytes_under_its_own_identifier() {
        let (_, frames) = frames(Some(Way::Corrupted));
        let others = |frame: &BusFrame| {
            frame.data.iter().zip(SENT.data).filter(|(one, other)| **one != *other).count()
        };
        assert!(frames.iter().all(|frame| frame.id == SENT.id && others(frame) <= 2));
        assert!(frames.iter().any(|frame| others(frame) > 0) && frames.len() == 10);
    }

    #[test]
    fn a_wrong_source_changes_the_address_and_nothing_else() {
        let (_, frames) = frames(Some(Way::WrongSource));
        assert_eq!(frames, [BusFrame { id: 0x0CFD_D622, ..SENT }; 10]);
    }
}
