//! A frame of the controller in the words of its declaration.

use trunnion::declare::FaultSet;
use trunnion::machine::Machine;
use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;
use trunnion_can::layout::{Direction, FieldLayout, Meaning, MessageLayout};

use crate::bench::Bench;

/// A field of a message, as two frames have it; `None` where a frame is missing or too short for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decoded {
    /// Its name, as in the database of the bus.
    pub name: &'static str,
    /// What the real controller sent.
    pub recorded: Option<String>,
    /// What this program sends.
    pub replayed: Option<String>,
}

/// The message that a frame of the controller is, if the machine declares it.
pub fn message<B: Bench>(frame: &Frame) -> Option<&'static MessageLayout> {
    let group = frame.id29()?.pgn();
    B::MESSAGES
        .iter()
        .find(|row| row.direction == Direction::Sent && row.layout.pgn == group)
        .map(|row| row.layout)
}

/// The fields of a message in both frames, at least one of which there is.
pub fn fields<B: Bench>(recorded: Option<&Frame>, replayed: Option<&Frame>) -> Vec<Decoded> {
    let Some(layout) = recorded.or(replayed).and_then(message::<B>) else { return Vec::new() };
    let row = |field: &FieldLayout| Decoded {
        name: field.name,
        recorded: recorded.and_then(|frame| shown(field, frame)),
        replayed: replayed.and_then(|frame| shown(field, frame)),
    };
    let mut all: Vec<Decoded> = layout.fields.iter().map(row).collect();
    let (recorded, replayed) =
        (recorded.and_then(fault::<B::Machine>), replayed.and_then(fault::<B::Machine>));
    if recorded.is_some() || replayed.is_some() {
        all.push(Decoded { name: "Fault", recorded, replayed });
    }
    all
}

fn shown(field: &FieldLayout, frame: &Frame) -> Option<String> {
    if usize::from(field.first) + usize::from(field.bits) > frame.bytes().len() * 8 {
        return None;
    }
    let mut word = [0; 8];
    word.iter_mut().zip(frame.bytes()).for_each(|(place, byte)| *place = *byte);
    let raw = field.read(u64::from_le_bytes(word));
    Some(match field.meaning {
        Meaning::Choice(names) => {
            let name = usize::try_from(raw).ok().and_then(|place| names.get(place));
            name.map_or_else(|| raw.to_string(), |name| (*name).to_owned())
        }
        Meaning::Number { highest, .. } if raw > u64::from(highest) => format!("no value (raw {raw})"),
        Meaning::Number { numerator, denominator, offset, unit, .. } => {
            let value = raw as f64 * f64::from(numerator) / f64::from(denominator) + f64::from(offset);
            format!("{value} {unit}").trim_end().to_owned()
        }
    })
}

/// The fault of a message with one trouble code.
fn fault<M: Machine>(frame: &Frame) -> Option<String> {
    let groups = [pgn::ACTIVE_TROUBLE_CODES, pgn::PREVIOUS_TROUBLE_CODES];
    frame.id29().filter(|id| groups.contains(&id.pgn()))?;
    let [_, _, low, middle, high, ..] = frame.eight()?;
    let spn = u32::from_le_bytes([*low, *middle, *high >> 5, 0]);
    let fmi = *high & 0x1F;
    let rules = M::Faults::RULES.iter().zip(M::Faults::INFO);
    let known = rules.into_iter().find(|(rule, _)| rule.spn == spn && rule.fmi == fmi);
    Some(match known {
        Some((_, info)) => info.name.to_owned(),
        None if spn == 0 => "none".to_owned(),
        None => format!("unknown, SPN {spn} FMI {fmi}"),
    })
}
