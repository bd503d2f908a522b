use std::fmt::Write;

use serde::{Deserialize, Serialize};
use trunnion::declare::ParameterInfo;

use super::Opening;
use crate::requirement::{choice_word, show_number};
use crate::run::{ActionInfo, BreakInfo, Change};

/// What happens in a hunted run, in places and ticks.
#[derive(Debug, Clone, PartialEq)]
pub struct Story {
    pub(super) seed: u64,
    pub(super) opening: usize,
    /// Places of parameters and raw values.
    pub(super) parameters: Vec<(usize, i32)>,
    /// Places of actions and values.
    pub(super) surroundings: Vec<(usize, f64)>,
    pub(super) deeds: Vec<(u32, Act)>,
    pub(super) ticks: u32,
}

/// Something that happens.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) enum Act {
    Move { place: usize, value: f64, ticks: u32 },
    Break { place: u16, way: usize },
    Mend { place: u16 },
}

/// The names that a story is told with.
#[derive(Debug, Clone, Copy)]
pub(super) struct Names {
    pub(super) openings: &'static [Opening],
    pub(super) actions: &'static [ActionInfo],
    pub(super) breaks: &'static [BreakInfo],
    pub(super) parameters: &'static [ParameterInfo],
    /// Seconds of a tick.
    pub(super) period: f64,
}

impl Act {
    /// What it changes in a run; `None` for a way of failing that there is not.
    pub(super) fn change(&self, breaks: &[BreakInfo]) -> Option<Change> {
        match *self {
            Self::Move { place, value, ticks } => Some(Change::Action { place, target: value, ticks }),
            Self::Break { place, way } => {
                let failure = *breaks.get(usize::from(place))?.failures.get(way)?;
                Some(Change::Break { place, way: failure.into() })
            }
            Self::Mend { place } => Some(Change::Mend { place }),
        }
    }
}

impl Names {
    /// The story as the text of a scenario.
    pub(super) fn tell(&self, story: &Story, title: &str) -> String {
        let mut text = format!("scenario  {title}\nseed      {}\n", story.seed);
        let _ = writeln!(text, "length    {} s", self.seconds(story.ticks));
        for (place, raw) in &story.parameters {
            if let Some(info) = self.parameters.get(*place) {
                let _ = writeln!(text, "parameter {} = {}", info.name, parameter_value(info, *raw));
            }
        }
        if let Some(opening) = self.openings.get(story.opening) {
            for line in opening.text.lines().map(str::trim_end).filter(|line| !line.trim().is_empty()) {
                let _ = writeln!(text, "{line}");
            }
        }
        for (place, value) in &story.surroundings {
            if let Some(info) = self.actions.get(*place) {
                let _ = writeln!(text, "set       {} = {}", info.name, action_value(info, *value));
            }
        }
        for (tick, act) in &story.deeds {
            let _ = writeln!(text, "at {} s {}", self.seconds(*tick), self.deed(act));
        }
        text
    }

    fn seconds(&self, ticks: u32) -> String {
        show_number(f64::from(ticks) * self.period)
    }

    fn deed(&self, act: &Act) -> String {
        match *act {
            Act::Move { place, value, ticks } => {
                let Some(info) = self.actions.get(place) else { return String::new() };
                let value = action_value(info, value);
                if ticks == 0 {
                    format!("{} = {value}", info.name)
                } else {
                    format!("{} moves to {value} over {} s", info.name, self.seconds(ticks))
                }
            }
            Act::Break { place, way } => {
                let Some(info) = self.breaks.get(usize::from(place)) else { return String::new() };
                let failure = info.failures.get(way).map_or("", |failure| failure.name());
                format!("break {}: {failure}", info.signal)
            }
            Act::Mend { place } => {
                format!("mend {}", self.breaks.get(usize::from(place)).map_or("", |info| info.signal))
            }
        }
    }
}

fn with_unit(value: f64, unit: &str) -> String {
    let number = show_number(value);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

fn action_value(info: &ActionInfo, value: f64) -> String {
    match info.choices.get(value as usize) {
        Some(choice) => choice_word(choice),
        None => with_unit(value, info.unit),
    }
}

fn parameter_value(info: &ParameterInfo, raw: i32) -> String {
    match usize::try_from(raw).ok().and_then(|place| info.choices.get(place)) {
        Some(choice) => choice_word(choice),
        None => with_unit(f64::from(raw) * info.numerator as f64 / info.denominator as f64, info.unit),
    }
}
