//! Messages of the service port, both ways: what comes whole goes back. A request of one frame a period, answered at once.

use loader::declaration::Fault;
use trunnion::quantity::Millis;
use trunnion_can::frame::Frame;
use trunnion_can::iso_tp::{Addressing, Link, LinkConfig};
use trunnion_service::work::WorkOrder;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::TICK;
use crate::tester::{self, Frames, OWN, SLOTS, Talk, Tester};

/// With the loader's room for requests and answers.
pub struct Block(Link<64, { 3 + 4 * Fault::COUNT }>);

/// What comes in a period.
#[derive(Clone, Copy)]
pub struct Port {
    tester: Tester,
    frames: Frames,
}

impl Subject for Block {
    const NAME: &'static str = "can/iso_tp";
    type Input = Port;
    type Output = [Option<Frame>; 4];

    fn new() -> Self {
        let config = LinkConfig {
            addressing: Addressing::Fixed { address: OWN },
            block: 4,
            separation: Millis::from_ticks(0),
            fill: 0xCC,
        };
        Self(started!(Link::new(config, TICK)))
    }

    fn input(_: &mut Random, _: Option<&Port>) -> Port {
        Port { tester: Tester::new(Talk::Read), frames: [None; SLOTS] }
    }

    fn input_after(random: &mut Random, previous: &Port, sent: &[Option<Frame>; 4]) -> Port {
        let mut next = *previous;
        next.frames = next.tester.after(random, sent, WorkOrder::default());
        next
    }

    fn step(&mut self, port: &Port) -> [Option<Frame>; 4] {
        for frame in port.frames.iter().flatten() {
            self.0.take(frame);
        }
        let mut echo = [0; 64];
        let mut length = 0;
        if let Some(request) = self.0.request()
            && let Some(room) = echo.get_mut(..request.bytes.len())
        {
            room.iter_mut().zip(request.bytes).for_each(|(place, byte)| *place = *byte);
            length = request.bytes.len();
        }
        if let Some(bytes @ [_, ..]) = echo.get(..length)
            && self.0.answer(bytes).is_ok()
        {
            self.0.release();
        }
        [self.0.step(), self.0.more(), self.0.more(), self.0.more()]
    }

    fn input_words(port: &Port, into: &mut Words) -> usize {
        tester::words(&port.frames, into, 0)
    }

    fn output_words(sent: &[Option<Frame>; 4], into: &mut Words) -> usize {
        tester::words(sent, into, 0)
    }
}
