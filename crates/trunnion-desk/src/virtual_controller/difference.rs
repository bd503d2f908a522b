//! The first value in which host and board differ.

use std::fmt::{self, Display};

use trunnion::declare::{FieldInfo, Record};
use trunnion::machine::{FastOutputs, Machine};

use super::ControlTick;

/// The first value in which host and board differ, in the order in which a tick drives them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Tick since the start, from 0.
    pub tick: u32,
    /// Step of the fast loop within the tick, from 0; `None` for what the machine's own step drives.
    pub fast_step: Option<usize>,
    /// Name of the signal.
    pub field: &'static str,
    /// The host's raw value.
    pub host: i64,
    /// The board's raw value.
    pub board: i64,
    /// The host's value in its unit.
    host_text: String,
    /// The board's value in its unit.
    board_text: String,
}

impl Difference {
    /// The first difference between what host and board drove in a tick.
    pub fn between<M: Machine>(
        tick: u32,
        host: &ControlTick<'_, M>,
        board: &ControlTick<'_, M>,
    ) -> Option<Self> {
        let host = Driven::<M> {
            fast_outputs: host.fast_outputs.to_vec(),
            outputs: *host.outputs,
            diagnostics: *host.diagnostics,
        };
        host.difference(tick, board.fast_outputs, board.outputs, board.diagnostics)
    }
}

impl Display for Difference {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { tick, field, host, board, host_text, board_text, .. } = self;
        write!(formatter, "tick {tick}")?;
        if let Some(step) = self.fast_step {
            write!(formatter, ", step {step} of the fast loop")?;
        }
        write!(formatter, ": {field} is {host_text} on the host, {board_text} on the board")?;
        write!(formatter, " (raw {host} and {board})")
    }
}

/// What one side drove in one tick.
pub(super) struct Driven<M: Machine> {
    pub fast_outputs: Vec<FastOutputs<M>>,
    pub outputs: M::Outputs,
    pub diagnostics: M::Diagnostics,
}

impl<M: Machine> Driven<M> {
    /// The first difference from what the board drove.
    pub fn difference(
        &self,
        tick: u32,
        fast_outputs: &[FastOutputs<M>],
        outputs: &M::Outputs,
        diagnostics: &M::Diagnostics,
    ) -> Option<Difference> {
        let in_steps = self
            .fast_outputs
            .iter()
            .zip(fast_outputs)
            .enumerate()
            .find_map(|(step, (host, board))| first_difference(tick, Some(step), host, board));
        in_steps
            .or_else(|| first_difference(tick, None, &self.outputs, outputs))
            .or_else(|| first_difference(tick, None, &self.diagnostics, diagnostics))
    }
}

fn first_difference<R: Record>(
    tick: u32,
    fast_step: Option<usize>,
    host: &R,
    board: &R,
) -> Option<Difference> {
    (0_u16..).zip(R::FIELDS).find_map(|(index, field)| {
        let (host, board) = (host.get(index), board.get(index));
        (host != board).then(|| Difference {
            tick,
            fast_step,
            field: field.name,
            host,
            board,
            host_text: in_unit(field, host),
            board_text: in_unit(field, board),
        })
    })
}

/// A raw value as a person reads it.
fn in_unit(field: &FieldInfo, raw: i64) -> String {
    if let Some(choice) = usize::try_from(raw).ok().and_then(|place| field.choices.get(place)) {
        return (*choice).to_owned();
    }
    let number = match (field.numerator, field.denominator) {
        (1, 1) => raw.to_string(),
        (numerator, denominator) => (raw as f64 * numerator as f64 / denominator as f64).to_string(),
    };
    if field.unit.is_empty() { number } else { format!("{number} {}", field.unit) }
}
