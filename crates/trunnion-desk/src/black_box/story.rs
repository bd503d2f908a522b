//! A box told again as a scenario: what hands and switches did, and what broke.
//!
//! The box itself replays bit for bit; a scenario runs against a simulated machine, from its start on. So the story has a
//! lead-in, then moves as the recorded hands moved, within a few units, and breaks what is likely behind the fault.

use std::fmt::Write;

use trunnion::declare::FaultSet;
use trunnion::machine::Machine;
use trunnion_board::black_box::header::Cause;
use trunnion_rig::run::{ActionInfo, Plant};
use trunnion_rig::trace::ColumnKind;

use super::OpenedBox;
use crate::bench::Bench;

/// Gives the value of an action by its name: in its unit, for a choice its place.
pub type Tell<'a> = dyn FnMut(&'static str, f64) + 'a;

/// How a machine tells a box again.
#[derive(Debug)]
pub struct Retelling<M: Machine> {
    /// Where the operator's controls are; what cannot be told in this period is left out.
    pub hands: fn(&M::Inputs, &M::Diagnostics, &mut Tell<'_>),
    /// Lines of a scenario that lead from the start to a machine that is permitted and at rest.
    pub lead_in: &'static str,
    /// How long they take, s.
    pub seconds: f64,
}

/// From the end of the lead-in until the box's first period: hands go where they were, and the machine follows.
const SETTLING_SECONDS: f64 = 2.0;
/// How long hands take for that.
const REACHING_SECONDS: f64 = 0.3;
/// Goes on so long behind the box.
const BEHIND_SECONDS: f64 = 0.5;

/// How far a straight line may be from what was recorded, in the action's unit.
const WITHIN: f64 = 3.0;

/// Something that is done, and when.
type Moment = (f64, String);

/// The text of a scenario; `None` for a machine that tells none.
pub fn told<B: Bench>(opened: &OpenedBox<B::Machine>, name: &str) -> Option<String> {
    let retelling = B::RETELLING?;
    let period = f64::from(opened.header.period_micros) / 1e6;
    let permitted = permitted_at_first::<B>(opened);
    let start = if permitted { retelling.seconds + SETTLING_SECONDS } else { SETTLING_SECONDS };
    let at = |number: usize| start + number as f64 * period;
    let mut first = Vec::new();
    let mut deeds: Vec<Moment> = Vec::new();
    for action in B::Plant::ACTIONS {
        let corners = corners(action, &series(action, retelling, opened));
        let Some((_, begin)) = corners.first() else { continue };
        first.push((action, *begin));
        for pair in corners.windows(2) {
            let [(from, before), (to, value)] = pair else { continue };
            if before == value {
                continue;
            }
            let (when, lasting) = if action.choices.is_empty() {
                (at(*from), (to - from) as f64 * period)
            } else {
                (at(*to), 0.0)
            };
            deeds.push((when, moved(action, *value, lasting)));
        }
    }
    let fault = fault::<B>(opened, at);
    deeds.extend(fault.iter().map(|fault| fault.broken.clone()));
    deeds.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut text = format!(
        "scenario  Told from the black box {name}\nabout     Hands and switches as recorded, against the simulated \
         machine; the box itself replays bit for bit.\nlength    {:.2} s\n",
        at(opened.periods.len()) + BEHIND_SECONDS
    );
    if permitted {
        text += retelling.lead_in;
    }
    // Writing to a text cannot fail.
    for (action, value) in first {
        let _ = if permitted {
            writeln!(text, "at {:.2} s  {}", retelling.seconds, moved(action, value, REACHING_SECONDS))
        } else {
            writeln!(text, "set       {} = {}", action.name, shown(action, value))
        };
    }
    for (when, deed) in deeds {
        let _ = writeln!(text, "at {when:.2} s  {deed}");
    }
    if let Some(Told { came: (when, column), .. }) = fault {
        let _ =
            writeln!(text, "require   B-01 the fault of the box comes again: at {when:.2} s {column} = yes");
    }
    Some(text)
}

fn permitted_at_first<B: Bench>(opened: &OpenedBox<B::Machine>) -> bool {
    let trace = opened.trace();
    B::GROUPS.iter().any(|group| {
        let permission = trace.column(group.permission).and_then(|column| column.values.first());
        permission.is_some_and(|permitted| *permitted != 0.0)
    })
}

/// The fault of a box: what broke and when, and the column that says so and when.
struct Told {
    broken: Moment,
    came: Moment,
}

fn fault<B: Bench>(opened: &OpenedBox<B::Machine>, at: impl Fn(usize) -> f64) -> Option<Told> {
    let Cause::Fault { place, .. } = opened.header.cause else { return None };
    let place = usize::from(place);
    let came = at(opened.fault_period()?);
    let info = <B::Machine as Machine>::Faults::INFO.get(place)?;
    let likely = B::CAMPAIGN?.likely(B::Plant::BREAKS, info.name)?;
    let broken = (came - f64::from(likely.within_ms) / 1e3).max(0.0);
    let column = opened.trace().of_kind(ColumnKind::Fault).nth(place)?.info.name.clone();
    Some(Told {
        broken: (broken, format!("break {}: {}", likely.signal, likely.way.name())),
        came: (came, column),
    })
}

/// An action's value in each period: the last known one where it cannot be told, the first known one before.
fn series<M: Machine>(action: &ActionInfo, retelling: &Retelling<M>, opened: &OpenedBox<M>) -> Vec<f64> {
    let mut last = None;
    let mut values = Vec::new();
    for period in &opened.periods {
        (retelling.hands)(&period.inputs, &period.diagnostics, &mut |name, value| {
            if name == action.name {
                last = Some(value.clamp(action.low, action.high).round());
            }
        });
        values.extend(last);
    }
    let missing = opened.periods.len().saturating_sub(values.len());
    let first = values.first().copied();
    first.into_iter().flat_map(|first| std::iter::repeat_n(first, missing)).chain(values).collect()
}

/// Period and value of a series' corners: straight lines between them, or steps of a choice, are within a few units of it: a lever on the bus is heard in
/// steps.
fn corners(action: &ActionInfo, values: &[f64]) -> Vec<(usize, f64)> {
    let corner = |period: usize| values.get(period).map(|value| (period, *value));
    let mut corners: Vec<(usize, f64)> = corner(0).into_iter().collect();
    let mut begin = 0;
    while begin + 1 < values.len() {
        let mut end = begin + 1;
        while values.get(begin..end + 2).is_some_and(|stretch| is_straight(action, stretch)) {
            end += 1;
        }
        corners.extend(corner(end));
        begin = end;
    }
    corners
}

fn is_straight(action: &ActionInfo, values: &[f64]) -> bool {
    let (Some(first), Some(last)) = (values.first(), values.last()) else { return true };
    if !action.choices.is_empty() {
        return values.iter().all(|value| value == first);
    }
    let steps = values.len().saturating_sub(1) as f64;
    values.iter().enumerate().all(|(step, value)| {
        let line = first + (last - first) * step as f64 / steps;
        (value - line).abs() <= WITHIN
    })
}

fn moved(action: &ActionInfo, value: f64, seconds: f64) -> String {
    let shown = shown(action, value);
    if action.choices.is_empty() {
        format!("{} moves to {shown} over {seconds:.2} s", action.name)
    } else {
        format!("{} = {shown}", action.name)
    }
}

fn shown(action: &ActionInfo, value: f64) -> String {
    match action.choices.get(value as usize) {
        Some(choice) => {
            choice.chars().map(|letter| if letter.is_alphanumeric() { letter } else { '_' }).collect()
        }
        None => format!("{value:.0} {}", action.unit).trim_end().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEVER: ActionInfo = ActionInfo::number("lever", "", "%", -100.0, 100.0, 0.0);
    const SEAT: ActionInfo = ActionInfo::switch("seat", "", false);

    #[test]
    fn a_hand_that_moves_evenly_is_one_stretch_and_a_hand_that_rests_is_one() {
        let values: Vec<f64> = (0..=50)
            .map(f64::from)
            .chain([50.0; 40])
            .chain((0..25).map(|step| 50.0 - 2.0 * f64::from(step)))
            .collect();
        let corners = corners(&LEVER, &values);
        assert!(corners.len() <= 6, "{corners:?}");
        for (period, value) in values.iter().enumerate() {
            let behind = corners.iter().position(|(at, _)| *at >= period).unwrap();
            let line = match behind.checked_sub(1).map(|before| (corners[before], corners[behind])) {
                Some(((from, low), (to, high))) => {
                    low + (high - low) * (period - from) as f64 / (to - from) as f64
                }
                None => corners[0].1,
            };
            assert!((line - value).abs() <= WITHIN, "period {period}: {line} for {value}");
        }
    }

    #[test]
    fn a_switch_has_a_corner_at_each_change() {
        let values = [0.0, 0.0, 0.0, 1.0, 1.0, 0.0];
        let changes: Vec<(usize, f64)> = corners(&SEAT, &values)
            .windows(2)
            .filter(|pair| pair[0].1 != pair[1].1)
            .map(|pair| pair[1])
            .collect();
        assert_eq!(changes, [(3, 1.0), (5, 0.0)]);
        assert_eq!(moved(&SEAT, 1.0, 0.0), "seat = yes");
        assert_eq!(moved(&LEVER, -20.0, 0.5), "lever moves to -20 % over 0.50 s");
    }
}
