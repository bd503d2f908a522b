//! A period in which the engine controller sends its speed: the mailbox takes it, the engine is read.

use trunnion::quantity::Rpm;
use trunnion::sense::Reading;
use trunnion_can::bus_engine::{BusEngine, BusEngineConfig, EngineReading};
use trunnion_can::engine::{Eec1, SpeedField};
use trunnion_can::id::{Id29, pgn};
use trunnion_can::mailbox::Mailbox;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::lever_frames::{OnTheWire, mailbox};
use crate::subject::{TICK, measured, millis, reading_words};

/// As the loader, but at the pace of these frames, one a period.
const ENGINE: BusEngineConfig =
    BusEngineConfig { period: millis(10), start_up: millis(2_000), most_frames: 4 };
/// The engine's place among the messages that the loader takes.
const PLACE: u8 = 4;

/// All filters of the loader, and its engine.
pub struct Block {
    mailbox: Mailbox<5>,
    engine: BusEngine,
}

/// A speed, and the frame that tells it.
#[derive(Clone, Copy)]
pub struct Told {
    frame: OnTheWire,
    speed: Reading<Rpm>,
}

/// The frame of a speed.
pub fn engine_frame(speed: Reading<Rpm>) -> OnTheWire {
    let field = speed.valid().map_or(SpeedField::NotAvailable, SpeedField::Valid);
    let id = Id29::broadcast(3, pgn::ELECTRONIC_ENGINE_CONTROLLER_1, 0).map_or(0, Id29::to_raw);
    OnTheWire { id, extended: true, data: Eec1 { speed: field }.emit() }
}

impl Subject for Block {
    const NAME: &'static str = "can/engine_frame";
    type Input = Told;
    type Output = EngineReading;

    fn new() -> Self {
        Self { mailbox: mailbox(), engine: built!(BusEngine::new(ENGINE, TICK)) }
    }

    fn input(random: &mut Random, previous: Option<&Told>) -> Told {
        let speed = measured::reading(random, previous.map(|told| told.speed), |random, last| {
            measured::rpm(random, last, (0, 3_000))
        });
        Told { frame: engine_frame(speed), speed }
    }

    fn step(&mut self, told: &Told) -> EngineReading {
        let OnTheWire { id, extended, data } = told.frame;
        self.mailbox.receive(id, extended, &data);
        let slot = self.mailbox.slot(PLACE);
        self.engine.step(slot.data, slot.count)
    }

    fn input_words(told: &Told, into: &mut Words) -> usize {
        OnTheWire::words(Some(&told.frame), into, 0)
    }

    fn output_words(reading: &EngineReading, into: &mut Words) -> usize {
        let place = reading_words::put(reading.speed, Rpm::raw, into, 0);
        into[place] = reading.flaw as i32;
        into[place + 1] = reading.new_frame.into();
        place + 2
    }
}
