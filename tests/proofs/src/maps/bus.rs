//! Identifiers, positions and values on the bus, over all words.

use trunnion::quantity::Ratio;
use trunnion_can::engine::{Eec1, SpeedField};
use trunnion_can::id::Id29;
use trunnion_can::joystick::{AxisField, BasicJoystick};

use super::{ONE, RATIO, bits, entry, permille};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{ANY_CHANGE, Order, Shape, Study, is_nearest};

const WORDS: (i64, i64) = (0, u16::MAX as i64);

fn free(domain: (i64, i64), bounds: (i64, i64)) -> Shape {
    Shape { domain, bounds, order: Order::Free, odd: false, largest_change: ANY_CHANGE, breakpoints: vec![] }
}

/// The axis by the tables of SAE J1939-71: ten bits of magnitude above three flags of two bits each.
fn is_position(word: i64, band: i64, answer: Option<i64>) -> bool {
    let flag = |place: i64| (word >> place) & 0b11;
    let (neutral, negative, positive, magnitude) = (flag(0), flag(2), flag(4), word >> 6);
    let valid = magnitude <= 1000 && [neutral, negative, positive].iter().all(|flag| *flag < 2);
    match (valid, neutral, negative, positive) {
        (true, 1, 0, 0) if magnitude <= band => answer == Some(0),
        (true, 0, 1, 0) => {
            answer.is_some_and(|bits| is_nearest(bits, -i128::from(magnitude) * i128::from(ONE), 1000))
        }
        (true, 0, 0, 1) => {
            answer.is_some_and(|bits| is_nearest(bits, i128::from(magnitude) * i128::from(ONE), 1000))
        }
        _ => answer.is_none(),
    }
}

fn position(word: i64, band: i64) -> Option<i64> {
    let [low, high] = (word as u16).to_le_bytes();
    let frame = [low, high, 0, 0, 0, 0, 0, 0];
    let x = BasicJoystick::parse(&frame, permille(band)).x;
    match x {
        AxisField::Position { position, neutral } => {
            (!neutral || position == Ratio::ZERO).then(|| bits(position))
        }
        AxisField::Error | AxisField::NotAvailable | AxisField::Reserved | AxisField::Inconsistent => None,
    }
}

fn axes(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "bus_axis");
    let stride = if study.is_whole() { 1 } else { 25 };
    for band in (0..=200).step_by(stride) {
        study.sweep(
            &format!("neutral band of {band} ‰"),
            &free(WORDS, RATIO),
            |word| position(word, band),
            |word, answer| is_position(word, band, answer),
        );
    }
    study.conclude()
}

fn engine(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "bus_engine_speed");
    let shape = Shape { order: Order::Rises, largest_change: 1, ..free(WORDS, (0, 0xFAFF)) };
    study.sweep(
        "all words",
        &shape,
        |word| {
            let [low, high] = (word as u16).to_le_bytes();
            let message = Eec1::parse(&[0, 0, 0, low, high, 0, 0, 0]);
            match message.speed {
                // What was read is written again as it was.
                SpeedField::Valid(speed) if message.emit()[3..5] == [low, high] => Some(speed.raw().into()),
                SpeedField::Valid(_) => Some(-1),
                SpeedField::Error if high == 0xFE => None,
                SpeedField::NotAvailable if high == 0xFF => None,
                SpeedField::Reserved if (0xFB..=0xFD).contains(&high) => None,
                _ => Some(-2),
            }
        },
        // Up to 0xFAFF is a value (SAE J1939-71).
        |word, answer| answer == (word <= 0xFAFF).then_some(word),
    );
    study.conclude()
}

fn identifiers(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "bus_identifier");
    let domain = (0, u32::MAX.into());
    let shape = Shape {
        order: Order::Rises,
        largest_change: 1,
        breakpoints: vec![1 << 29, 240 << 16, 1 << 26],
        ..free(domain, (0, (1 << 29) - 1))
    };
    study.sweep(
        "all integers",
        &shape,
        |raw| {
            let id = Id29::from_raw(raw as u32)?;
            let parts = i64::from(id.priority()) << 26 | i64::from(id.pgn()) << 8 | i64::from(id.source());
            let destination = id.destination().map_or(0, i64::from) << 8;
            // A group with a destination has no low byte of its own; its format is below 240 (SAE J1939-21).
            let addressed = (raw >> 16) & 0xFF < 240;
            (addressed == id.destination().is_some()).then_some(parts | destination)
        },
        |raw, answer| answer == (raw < 1 << 29).then_some(raw),
    );
    study.conclude()
}

pub(super) fn proofs() -> Vec<Proof> {
    vec![
        entry(
            "bus_axis",
            "can/joystick",
            "all 65 536 words with every neutral band of 0 to 200 ‰",
            &[
                "a position only with a magnitude of up to 1000 and exactly one flag set",
                "neutral only inside the band, and then it is zero",
                "thousandths to nearest; everything else is no position",
            ],
            axes,
        ),
        entry(
            "bus_engine_speed",
            "can/engine",
            "all 65 536 words",
            &[
                "up to 0xFAFF a speed in eighths, above it an error, not available or reserved",
                "written as it was read",
            ],
            engine,
        ),
        entry(
            "bus_identifier",
            "can/id",
            "all 2³² integers",
            &[
                "exactly 29 bits are an identifier",
                "its parts make it up again; a destination only below format 240",
            ],
            identifiers,
        ),
    ]
}
