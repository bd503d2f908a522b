//! What a picture shows: curves over one axis, and levels below them.

use trunnion::declare::Field;
use trunnion::quantity::Ratio;
use trunnion::sense::Reading;

/// A picture before it is drawn.
pub struct Chart {
    /// What happens in it, in a sentence: the text for those who cannot see it.
    pub tells: &'static str,
    /// Caption of the axis along the bottom, with its unit.
    pub along: &'static str,
    /// From the top down.
    pub panels: Vec<Panel>,
}

/// One strip of a chart.
pub enum Panel {
    /// Curves over one scale.
    Curves {
        /// Unit of the scale.
        unit: &'static str,
        /// What is drawn; what is behind comes first.
        curves: Vec<Curve>,
    },
    /// Levels and states, one below the other.
    Levels(Vec<Curve>),
}

/// One quantity over the axis. Where it has no value it is not a number, and the curve has a gap.
pub struct Curve {
    /// What it is.
    pub name: &'static str,
    /// How it is drawn.
    pub pen: Pen,
    /// Place on the axis, value.
    pub points: Vec<(f64, f64)>,
    /// Names by value, for a state; none for a level that is on or off.
    pub words: &'static [&'static str],
}

/// Inputs are thin, outputs thick.
#[derive(Clone, Copy, PartialEq)]
pub enum Pen {
    /// What comes in.
    In,
    /// What comes in as well.
    InToo,
    /// What goes out.
    Out,
    /// What goes out as well.
    OutToo,
}

/// A quantity that comes in.
pub fn input(name: &'static str, points: Vec<(f64, f64)>) -> Curve {
    Curve { name, pen: Pen::In, points, words: &[] }
}

/// Another one.
pub fn other_input(name: &'static str, points: Vec<(f64, f64)>) -> Curve {
    Curve { pen: Pen::InToo, ..input(name, points) }
}

/// A quantity that goes out.
pub fn output(name: &'static str, points: Vec<(f64, f64)>) -> Curve {
    Curve { pen: Pen::Out, ..input(name, points) }
}

/// Another one.
pub fn other_output(name: &'static str, points: Vec<(f64, f64)>) -> Curve {
    Curve { pen: Pen::OutToo, ..input(name, points) }
}

/// A state that goes out, by the names of its type.
pub fn state<S: Field>(name: &'static str, points: Vec<(f64, f64)>) -> Curve {
    Curve { words: S::CHOICES, ..output(name, points) }
}

/// Curves over one scale.
pub fn curves<const N: usize>(unit: &'static str, curves: [Curve; N]) -> Panel {
    Panel::Curves { unit, curves: curves.into() }
}

/// Levels and states.
pub fn levels<const N: usize>(levels: [Curve; N]) -> Panel {
    Panel::Levels(levels.into())
}

/// Runs a story of so many seconds in steps of so many milliseconds: what is seen at each time, a column a quantity.
pub fn story<const N: usize>(
    seconds: f64,
    period_ms: u32,
    mut see: impl FnMut(f64) -> [f64; N],
) -> [Vec<(f64, f64)>; N] {
    let steps = (seconds * 1000.0 / f64::from(period_ms)).round() as u32;
    let mut columns = [const { Vec::new() }; N];
    for step in 0..=steps {
        let time = f64::from(step * period_ms) / 1000.0;
        for (column, value) in columns.iter_mut().zip(see(time)) {
            column.push((time, value));
        }
    }
    columns
}

/// Goes along a scale from one end to the other in so many steps: what is seen at each place, a column a quantity.
pub fn sweep<const N: usize>(
    from: f64,
    to: f64,
    steps: u32,
    mut see: impl FnMut(f64) -> [f64; N],
) -> [Vec<(f64, f64)>; N] {
    let mut columns = [const { Vec::new() }; N];
    for step in 0..=steps {
        let place = from + (to - from) * f64::from(step) / f64::from(steps);
        for (column, value) in columns.iter_mut().zip(see(place)) {
            column.push((place, value));
        }
    }
    columns
}

/// What stands at a time in a list of (time, value) that each hold until the next.
pub fn held(time: f64, list: &[(f64, f64)]) -> f64 {
    list.iter().rev().find(|(from, _)| time >= *from - 1e-9).map_or(0.0, |(_, value)| *value)
}

/// Whether a level is on at a time, from the stretches in which it is.
pub fn on(time: f64, stretches: &[(f64, f64)]) -> bool {
    stretches.iter().any(|(from, to)| time >= *from - 1e-9 && time < *to - 1e-9)
}

/// What lies at a time on straight lines between the points of a list.
pub fn moved(time: f64, list: &[(f64, f64)]) -> f64 {
    let after = list.iter().position(|(at, _)| *at > time).unwrap_or(list.len());
    match (after.checked_sub(1).map(|place| list[place]), list.get(after).copied()) {
        (None, Some((_, value))) | (Some((_, value)), None) => value,
        (Some((from, low)), Some((to, high))) => low + (high - low) * (time - from) / (to - from),
        (None, None) => 0.0,
    }
}

/// A ratio in percent.
pub fn percent(ratio: Ratio) -> f64 {
    100.0 * f64::from(ratio.to_bits()) / f64::from(Ratio::ONE_BITS)
}

/// A ratio of so many percent.
pub fn ratio(percent: f64) -> Ratio {
    Ratio::saturating((percent / 100.0 * f64::from(Ratio::ONE_BITS)).round() as i64)
}

/// On or off.
pub fn level(on: bool) -> f64 {
    f64::from(u8::from(on))
}

/// The place of a state among the names of its type.
pub fn place<S: Field>(state: S) -> f64 {
    state.to_raw() as f64
}

/// A quantity in its unit.
pub fn value<Q: Field>(quantity: Q) -> f64 {
    quantity.to_raw() as f64 * Q::NUMERATOR as f64 / Q::DENOMINATOR as f64
}

/// A quantity of so many units, held in its range.
pub fn quantity<Q: Field>(value: f64) -> Q {
    Q::held((value * Q::DENOMINATOR as f64 / Q::NUMERATOR as f64).round() as i64)
}

/// A reading's value in its unit, or a gap.
pub fn read<Q: Field>(reading: Reading<Q>) -> f64 {
    reading.valid().map_or(f64::NAN, value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_held_stays_and_what_is_moved_goes_in_a_straight_line() {
        let list = [(0.0, 1.0), (2.0, 5.0)];
        assert_eq!([held(1.0, &list), held(2.0, &list), held(9.0, &list)], [1.0, 5.0, 5.0]);
        assert_eq!([moved(-1.0, &list), moved(1.0, &list), moved(9.0, &list)], [1.0, 3.0, 5.0]);
        assert_eq!([on(1.0, &[(1.0, 2.0)]), on(2.0, &[(1.0, 2.0)])], [true, false]);
    }

    #[test]
    fn a_story_is_seen_at_both_ends() {
        let [times] = story(0.05, 10, |time| [time]);
        assert_eq!(times.len(), 6);
        assert_eq!(times.last(), Some(&(0.05, 0.05)));
    }
}
