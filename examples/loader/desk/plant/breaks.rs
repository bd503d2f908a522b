//! What can break on the Q36: two lever units, and every wire of the declaration in every way of its kind.

use loader::Loader;
use trunnion::declare::{Failure, FieldInfo, Record, Wire};
use trunnion::machine::{FastInputs, FastOutputs, Machine};
use trunnion_rig::run::BreakInfo;

/// Where a break is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// The left lever as a unit: both of its messages.
    LeftLever,
    /// The right lever as a unit.
    RightLever,
    /// A wired input, by its place in the inputs.
    Input(u16),
    /// The current sense of a coil.
    Sense(u16),
    /// An on-off output.
    Output(u16),
    /// A proportional coil.
    Coil(u16),
}

const INPUTS: &[FieldInfo] = <Loader as Machine>::Inputs::FIELDS;
const SENSES: &[FieldInfo] = FastInputs::<Loader>::FIELDS;
const OUTPUTS: &[FieldInfo] = <Loader as Machine>::Outputs::FIELDS;
const COILS: &[FieldInfo] = FastOutputs::<Loader>::FIELDS;
const UNITS: usize = 2;

const fn breakable(fields: &[FieldInfo]) -> usize {
    let mut count = 0;
    let mut place = 0;
    while place < fields.len() {
        if !fields[place].wire.failures().is_empty() {
            count += 1;
        }
        place += 1;
    }
    count
}

const COUNT: usize = UNITS + breakable(INPUTS) + breakable(SENSES) + breakable(OUTPUTS) + breakable(COILS);

const NONE: BreakInfo = BreakInfo { signal: "", doc: "", failures: &[] };

/// A coil is called by its name alone: without "_duty".
const fn coil_name(name: &'static str) -> &'static str {
    name.split_at(name.len() - "_duty".len()).0
}

const fn table() -> ([BreakInfo; COUNT], [Place; COUNT]) {
    let mut infos = [NONE; COUNT];
    let mut places = [Place::LeftLever; COUNT];
    let lever = Wire::Frame.failures();
    infos[0] = BreakInfo { signal: "left_lever", doc: "Left lever unit with its plug", failures: lever };
    infos[1] = BreakInfo { signal: "right_lever", doc: "Right lever unit with its plug", failures: lever };
    places[1] = Place::RightLever;
    let tables = [INPUTS, SENSES, OUTPUTS, COILS];
    let (mut next, mut kind) = (UNITS, 0);
    while kind < tables.len() {
        let mut row = 0;
        while row < tables[kind].len() {
            let field = &tables[kind][row];
            if !field.wire.failures().is_empty() {
                let signal = if kind == 3 { coil_name(field.name) } else { field.name };
                infos[next] = BreakInfo { signal, doc: field.doc, failures: field.wire.failures() };
                let index = row as u16;
                places[next] = match kind {
                    0 => Place::Input(index),
                    1 => Place::Sense(index),
                    2 => Place::Output(index),
                    _ => Place::Coil(index),
                };
                next += 1;
            }
            row += 1;
        }
        kind += 1;
    }
    (infos, places)
}

const TABLE: ([BreakInfo; COUNT], [Place; COUNT]) = table();

/// Everything that can break.
pub const BREAKS: &[BreakInfo] = &TABLE.0;

/// Where the break at a place of [`BREAKS`] is.
pub fn place(index: u16) -> Option<Place> {
    TABLE.1.get(usize::from(index)).copied()
}

/// A failure that a place of this kind does not have is a mistake of whoever asks; nothing breaks then.
pub fn is_possible(index: u16, failure: Failure) -> bool {
    BREAKS.get(usize::from(index)).is_some_and(|info| info.failures.contains(&failure))
}
