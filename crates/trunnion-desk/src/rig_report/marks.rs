//! Moments of a scenario that are worth a label.

use trunnion_rig::language::Unit;
use trunnion_rig::scenario::{Deed, Moment, Scenario};

use crate::report::Mark;

/// Longer comments are explanations, not headings.
const LONGEST_HEADING: usize = 44;
/// More labels than this hide the path.
const MOST_MARKS: usize = 12;

/// Headings that the scenario's writer put above events as comments (`# back out`); where there are none, what
/// breaks, is mended, switched or written.
pub(super) fn marks(scenario: &Scenario) -> Vec<Mark> {
    let mut headings = Vec::new();
    let mut happenings = Vec::new();
    let mut above = 0.0;
    for event in &scenario.events {
        let time = event.moment.quantity();
        let seconds = time.value_in(&Unit::second()).unwrap_or(0.0);
        let at = if matches!(event.moment, Moment::After(_)) { above + seconds } else { seconds };
        above = at;
        if let Some(label) = heading_above(&scenario.text, time.span.start) {
            headings.push(Mark { at, label });
        }
        let sudden = event.deeds.iter().filter(|deed| !matches!(deed, Deed::Move(..)));
        happenings.extend(sudden.map(|deed| Mark { at, label: deed.to_string() }));
    }
    let mut marks = if headings.is_empty() { happenings } else { headings };
    marks.truncate(MOST_MARKS);
    marks
}

/// The comment in the line above the one that this place is in.
fn heading_above(text: &str, place: usize) -> Option<String> {
    let before = text.get(..place)?;
    let line_above = before.rsplit('\n').nth(1)?;
    let heading = line_above.strip_prefix('#')?.trim().trim_end_matches(['.', ':']);
    let fits = !heading.is_empty() && heading.chars().count() <= LONGEST_HEADING;
    fits.then(|| heading.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks_of(events: &str) -> Vec<(f64, String)> {
        let text = format!("scenario  A drive\nlength    9 s\n{events}");
        let scenario = Scenario::parse("a.scenario", &text).unwrap_or_else(|error| panic!("{error}"));
        marks(&scenario).into_iter().map(|mark| (mark.at, mark.label)).collect()
    }

    #[test]
    fn comments_above_events_are_headings() {
        let found = marks_of(
            "# out:\nat 1 s drive moves to 80 % over 0.4 s\nat 2 s horn = yes\n\n# The seat is left here because the \
             operator looks behind him and stands up.\nat 3 s seat = no\n# back\nafter 1.5 s drive = 0 %\n",
        );
        assert_eq!(found, [(1.0, "out".to_owned()), (4.5, "back".to_owned())]);
    }

    #[test]
    fn without_headings_sudden_deeds_are_marked_and_movements_are_not() {
        let found =
            marks_of("at 1 s drive moves to 80 % over 0.4 s, horn = yes\nafter 1 s break lever: lost\n");
        assert_eq!(found, [(1.0, "horn = yes".to_owned()), (2.0, "break lever: lost".to_owned())]);
    }
}
