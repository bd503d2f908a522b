//! All that the loader hears of its own units: the mailbox with both levers and the engine. Levers send in every other
//! period, as the engine does; so in the longest all five messages come.

use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;
use trunnion_can::bus_engine::{BusEngine, BusEngineConfig, EngineReading};
use trunnion_can::bus_lever::{BusLever, LeverReading};
use trunnion_can::mailbox::Mailbox;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::can::engine_frame::engine_frame;
use crate::subject::lever_frames::{
    LEFT_LEVER, LEVER, OnTheWire, RIGHT_LEVER, basic_frame, extended_frame, mailbox,
    reading_words as lever_words,
};
use crate::subject::{TICK, measured, millis, reading_words};

/// Messages that the loader takes.
const MESSAGES: usize = 5;

/// Mailbox, levers, engine.
pub struct Block {
    mailbox: Mailbox<MESSAGES>,
    left: BusLever,
    right: BusLever,
    engine: BusEngine,
}

/// What comes in a period.
#[derive(Clone, Copy)]
pub struct Traffic {
    frames: [Option<OnTheWire>; MESSAGES],
    axes: [Ratio; 6],
    speed: Reading<Rpm>,
    /// Levers send in this period, and the engine does.
    sends: [bool; 2],
}

/// What was heard.
#[derive(Clone, Copy)]
pub struct Heard {
    levers: [LeverReading; 2],
    engine: EngineReading,
}

impl Subject for Block {
    const NAME: &'static str = "can/reader";
    type Input = Traffic;
    type Output = Heard;

    fn new() -> Self {
        let lever = built!(BusLever::new(LEVER, TICK));
        let engine = BusEngineConfig { period: millis(20), start_up: millis(2_000), most_frames: 4 };
        Self { mailbox: mailbox(), left: lever, right: lever, engine: started!(BusEngine::new(engine, TICK)) }
    }

    fn input(random: &mut Random, previous: Option<&Traffic>) -> Traffic {
        let mut next = previous.copied().unwrap_or(Traffic {
            frames: [None; MESSAGES],
            axes: [Ratio::ZERO; 6],
            speed: Reading::Valid(Rpm::ZERO),
            sends: [false; 2],
        });
        next.axes = next.axes.map(|axis| random.ratio(Some(axis)));
        next.speed = measured::reading(random, Some(next.speed), |random, last| {
            measured::rpm(random, last, (0, 3_000))
        });
        // Each sends in every other period; seldom one is late, and from then on they meet or miss each other.
        next.sends = next.sends.map(|sent| if random.once_in(100) { sent } else { !sent });
        let [x, y, wheel, right_x, right_y, right_wheel] = next.axes;
        let [levers, engine] = next.sends;
        next.frames = [None; MESSAGES];
        if levers {
            next.frames = [
                basic_frame(random, LEFT_LEVER, [x, y]),
                extended_frame(LEFT_LEVER, wheel),
                basic_frame(random, RIGHT_LEVER, [right_x, right_y]),
                extended_frame(RIGHT_LEVER, right_wheel),
                None,
            ];
        }
        if engine {
            next.frames[4] = Some(engine_frame(next.speed));
        }
        next
    }

    fn step(&mut self, traffic: &Traffic) -> Heard {
        for OnTheWire { id, extended, data } in traffic.frames.iter().flatten() {
            self.mailbox.receive(*id, *extended, data);
        }
        let [left, left_extended, right, right_extended, engine] =
            [0, 1, 2, 3, 4].map(|place| self.mailbox.slot(place)).map(|slot| (slot.data, slot.count));
        Heard {
            levers: [self.left.step(left, left_extended), self.right.step(right, right_extended)],
            engine: self.engine.step(engine.0, engine.1),
        }
    }

    fn input_words(traffic: &Traffic, into: &mut Words) -> usize {
        traffic.frames.iter().fold(0, |place, frame| OnTheWire::words(frame.as_ref(), into, place))
    }

    fn output_words(heard: &Heard, into: &mut Words) -> usize {
        let place = heard.levers.iter().fold(0, |place, lever| lever_words(lever, into, place));
        let place = reading_words::put(heard.engine.speed, Rpm::raw, into, place);
        into[place] = heard.engine.flaw as i32;
        place + 1
    }
}
