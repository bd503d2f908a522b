//! A lever from the wire to its reading, as the loader has it.
//!
//! A period with a frame (`can/lever_frame`) less one without (`can/lever_silence`) is what a frame costs: the lever is read
//! once a period in any case.

use core::marker::PhantomData;

use loader::declaration::Parameters;
use trunnion::quantity::{Permille, Ratio};
use trunnion_can::bus_lever::{BusLever, BusLeverConfig, LeverReading, WheelAxis};
use trunnion_can::id::{Id29, pgn};
use trunnion_can::joystick::{AxisField, BasicJoystick, ButtonField, ExtendedJoystick, FlagField};
use trunnion_can::mailbox::Mailbox;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis, permille};

/// Messages that the loader takes.
const MESSAGES: usize = 5;
/// The right lever's places among them.
const PLACES: [u8; 2] = [2, 3];
/// Address of the left lever.
pub const LEFT_LEVER: u8 = 0x21;
/// Of the right one.
pub const RIGHT_LEVER: u8 = 0x22;
/// Largest position that says that it is neutral.
const NEUTRAL_BAND: Permille = permille(50);

/// How often a frame comes.
pub trait Pace {
    /// Name of the subject.
    const NAME: &'static str;
    /// Once in so many periods.
    const ONCE_IN: u32;
}

/// A frame as the controller of the bus hands it over.
#[derive(Debug, Clone, Copy)]
pub struct OnTheWire {
    /// Identifier.
    pub id: u32,
    /// It has 29 bits.
    pub extended: bool,
    /// Bytes.
    pub data: [u8; 8],
}

impl OnTheWire {
    /// In words from this place on; gives the next place.
    pub fn words(frame: Option<&Self>, into: &mut Words, place: usize) -> usize {
        let words = frame.map_or([0; 4], |Self { id, extended, data }| {
            let data = u64::from_le_bytes(*data);
            [id.cast_signed(), 1 + i32::from(*extended), data as i32, (data >> 32) as i32]
        });
        into.iter_mut().skip(place).zip(words).for_each(|(there, word)| *there = word);
        place.wrapping_add(words.len())
    }
}

/// All filters of the loader, and one of its levers.
pub struct Block<P> {
    mailbox: Mailbox<MESSAGES>,
    lever: BusLever,
    pace: PhantomData<P>,
}

/// What comes in a period.
#[derive(Clone, Copy)]
pub struct Moved {
    frame: Option<OnTheWire>,
    axes: [Ratio; 3],
}

/// The mailbox with what the loader takes.
pub fn mailbox() -> Mailbox<MESSAGES> {
    Mailbox::new(loader::filters(&Parameters::default()))
}

/// How the loader reads a lever.
pub const LEVER: BusLeverConfig = BusLeverConfig {
    period: millis(20),
    start_up: millis(2_000),
    neutral_band: NEUTRAL_BAND,
    most_frames: 4,
    wheel: WheelAxis::GripX,
    fitted_buttons: 0b11,
};

fn field(position: Ratio) -> AxisField {
    let neutral = position.magnitude() <= Ratio::from(NEUTRAL_BAND);
    // A lever that is broken stands at its end.
    if position == Ratio::MINUS_ONE { AxisField::Error } else { AxisField::Position { position, neutral } }
}

fn frame(group: u32, source: u8, data: [u8; 8]) -> Option<OnTheWire> {
    Id29::broadcast(3, group, source).map(|id| OnTheWire { id: id.to_raw(), extended: true, data })
}

/// The basic message of a lever with these axes; seldom with its first button.
pub fn basic_frame(random: &mut Random, source: u8, [x, y]: [Ratio; 2]) -> Option<OnTheWire> {
    let mut buttons = [ButtonField::Released; 12];
    if random.once_in(20) {
        buttons[0] = ButtonField::Pressed;
    }
    let (x, y, detent) = (field(x), field(y), FlagField::No);
    let basic = BasicJoystick { x, y, x_detent: detent, y_detent: detent, buttons };
    frame(pgn::BASIC_JOYSTICK_1, source, basic.emit())
}

/// The extended message of a lever with this wheel.
pub fn extended_frame(source: u8, wheel: Ratio) -> Option<OnTheWire> {
    let extended = ExtendedJoystick {
        grip_x: field(wheel),
        grip_y: AxisField::NotAvailable,
        theta: AxisField::NotAvailable,
        x_detent: FlagField::No,
        y_detent: FlagField::NotAvailable,
    };
    frame(pgn::EXTENDED_JOYSTICK_1, source, extended.emit())
}

/// One of both, at random.
pub fn lever_frame(random: &mut Random, source: u8, [x, y, wheel]: [Ratio; 3]) -> Option<OnTheWire> {
    if random.once_in(2) { basic_frame(random, source, [x, y]) } else { extended_frame(source, wheel) }
}

impl<P: Pace> Subject for Block<P> {
    const NAME: &'static str = P::NAME;
    type Input = Moved;
    type Output = LeverReading;

    fn new() -> Self {
        Self { mailbox: mailbox(), lever: built!(BusLever::new(LEVER, TICK)), pace: PhantomData }
    }

    fn input(random: &mut Random, previous: Option<&Moved>) -> Moved {
        let axes = previous.map_or([Ratio::ZERO; 3], |last| last.axes.map(|axis| random.ratio(Some(axis))));
        let comes = random.once_in(P::ONCE_IN);
        Moved { frame: if comes { lever_frame(random, RIGHT_LEVER, axes) } else { None }, axes }
    }

    fn step(&mut self, moved: &Moved) -> LeverReading {
        if let Some(OnTheWire { id, extended, data }) = moved.frame {
            self.mailbox.receive(id, extended, &data);
        }
        let [basic, extended] = PLACES.map(|place| self.mailbox.slot(place));
        self.lever.step((basic.data, basic.count), (extended.data, extended.count))
    }

    fn input_words(moved: &Moved, into: &mut Words) -> usize {
        OnTheWire::words(moved.frame.as_ref(), into, 0)
    }

    fn output_words(reading: &LeverReading, into: &mut Words) -> usize {
        reading_words(reading, into, 0)
    }
}

/// A reading from this place on.
pub fn reading_words(reading: &LeverReading, into: &mut Words, place: usize) -> usize {
    let flags =
        [reading.neutral, reading.fresh, reading.new_frame, reading.wheel_neutral, reading.wheel_fresh];
    let words = [
        reading.x.to_bits(),
        reading.y.to_bits(),
        reading.wheel.to_bits(),
        flags.into_iter().fold(0, |word, flag| (word << 1) | i32::from(flag)),
        reading.buttons.into_iter().fold(0, |word, pressed| (word << 1) | i32::from(pressed)),
        reading.flaw as i32,
        reading.wheel_flaw as i32,
    ];
    into.iter_mut().skip(place).zip(words).for_each(|(there, word)| *there = word);
    place.wrapping_add(words.len())
}
