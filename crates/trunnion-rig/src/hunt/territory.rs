use thiserror::Error;
use trunnion::declare::ParameterInfo;

use crate::language::nearest;
use crate::run::{ActionInfo, BreakInfo};
use crate::trace::ColumnInfo;

/// What may be tried on a machine, by the names that scenarios use. A machine declares it beside its requirements.
#[derive(Debug, Clone, Copy)]
pub struct Territory {
    /// Situations from which stories begin; one is drawn.
    pub openings: &'static [Opening],
    /// Controls that spring back: moved anywhere in their range, and let go of.
    pub levers: &'static [&'static str],
    /// Controls with positions: thrown and left, or thrown back after a while.
    pub switches: &'static [&'static str],
    /// Pressed for a moment; the first is what an operator presses to start anew.
    pub buttons: &'static [&'static str],
    /// Numbers that change on the way, for a while or for good.
    pub dials: &'static [Range],
    /// Numbers of the surroundings that are drawn at the beginning.
    pub surroundings: &'static [Range],
    /// Parameters that are drawn at the beginning, in some of the stories; bounds in their raw unit.
    pub parameters: &'static [Range],
    /// Signals and devices that break, in every way of theirs.
    pub breaks: &'static [&'static str],
    /// Columns that tell one situation from another.
    pub situations: &'static [&'static str],
    /// Legs of a story: in each, somebody does something and time passes.
    pub legs: usize,
    /// Most seconds that pass in a leg.
    pub longest_leg: f64,
    /// Seconds at the end in which nothing more happens.
    pub tail: f64,
}

/// How stories begin.
#[derive(Debug, Clone, Copy)]
pub struct Opening {
    /// What it is called.
    pub name: &'static str,
    /// Lines of a scenario: `set` and `at`, without title, seed and length.
    pub text: &'static str,
    /// When it is over and the hunt begins, in seconds.
    pub seconds: f64,
}

/// A name and its bounds.
#[derive(Debug, Clone, Copy)]
pub struct Range {
    /// The name.
    pub name: &'static str,
    /// Smallest value that is tried.
    pub low: f64,
    /// Largest value that is tried.
    pub high: f64,
}

/// What is wrong in a machine's territory.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TerritoryError {
    /// A name that the machine does not have.
    #[error("the territory names the {kind} `{name}`, which the machine does not have{hint}")]
    Unknown {
        /// What it should be.
        kind: &'static str,
        /// As written.
        name: String,
        /// The nearest name.
        hint: String,
    },
    /// An opening that cannot be read or run.
    #[error("opening `{0}`: {1}")]
    Opening(String, String),
    /// Nothing to do.
    #[error("the territory has no {0}: nothing could be tried")]
    Empty(&'static str),
}

/// What a machine on its plant offers.
pub(super) struct Offered<'a> {
    pub(super) actions: &'static [ActionInfo],
    pub(super) breaks: &'static [BreakInfo],
    pub(super) parameters: &'static [ParameterInfo],
    pub(super) columns: &'a [ColumnInfo],
}

/// A territory with its names looked up.
#[derive(Debug, Clone)]
pub(super) struct Places {
    pub(super) levers: Vec<usize>,
    /// Switches by action and number of choices.
    pub(super) switches: Vec<usize>,
    pub(super) buttons: Vec<usize>,
    pub(super) dials: Vec<(usize, Range)>,
    pub(super) surroundings: Vec<(usize, Range)>,
    pub(super) parameters: Vec<(usize, Range)>,
    pub(super) breaks: Vec<usize>,
    /// Columns, and what their numbers are divided by; 0 for choices.
    pub(super) situations: Vec<(usize, f64)>,
}

impl Offered<'_> {
    pub(super) fn places(&self, territory: &Territory) -> Result<Places, TerritoryError> {
        for (what, empty) in [
            ("openings", territory.openings.is_empty()),
            ("levers", territory.levers.is_empty()),
            ("buttons", territory.buttons.is_empty()),
            ("legs", territory.legs == 0),
        ] {
            if empty {
                return Err(TerritoryError::Empty(what));
            }
        }
        let action = |name: &&'static str| place("control", name, self.actions.iter().map(|info| info.name));
        let ranged = |range: &Range| action(&range.name).map(|place| (place, *range));
        let parameter = |range: &Range| {
            let known = self.parameters.iter().map(|info| info.name);
            place("parameter", range.name, known).map(|place| (place, *range))
        };
        let broken =
            |name: &&'static str| place("breakable signal", name, self.breaks.iter().map(|info| info.signal));
        let column = |name: &&'static str| {
            let found = place("column", name, self.columns.iter().map(|column| column.name.as_str()))?;
            Ok((
                found,
                self.columns
                    .get(found)
                    .map_or(0.0, |column| span_of(&column.unit, !column.choices.is_empty())),
            ))
        };
        Ok(Places {
            levers: territory.levers.iter().map(action).collect::<Result<_, _>>()?,
            switches: territory.switches.iter().map(action).collect::<Result<_, _>>()?,
            buttons: territory.buttons.iter().map(action).collect::<Result<_, _>>()?,
            dials: territory.dials.iter().map(ranged).collect::<Result<_, _>>()?,
            surroundings: territory.surroundings.iter().map(ranged).collect::<Result<_, _>>()?,
            parameters: territory.parameters.iter().map(parameter).collect::<Result<_, _>>()?,
            breaks: territory.breaks.iter().map(broken).collect::<Result<_, _>>()?,
            situations: territory.situations.iter().map(column).collect::<Result<_, _>>()?,
        })
    }
}

fn place<'a>(
    kind: &'static str,
    name: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Result<usize, TerritoryError> {
    known.clone().position(|other| other == name).ok_or_else(|| TerritoryError::Unknown {
        kind,
        name: name.to_owned(),
        hint: nearest(name, known).map_or_else(String::new, |near| format!("; did you mean `{near}`?")),
    })
}

/// What a signal of a unit usually spans, so that margins of different units can be set side by side: an order of
/// magnitude, our own. 0 for a choice.
pub(super) fn span_of(unit: &str, choice: bool) -> f64 {
    match unit {
        _ if choice => 0.0,
        "%" => 100.0,
        "‰" | "mA" | "ms" => 1_000.0,
        "rpm" | "kPa" => 2_000.0,
        "mV" => 12_000.0,
        "V" => 12.0,
        "deg/s" | "deg" => 90.0,
        "bar" => 200.0,
        "m/s" => 4.0,
        "m/s²" => 10.0,
        _ => 1.0,
    }
}
