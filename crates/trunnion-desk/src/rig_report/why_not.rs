//! Spans without permission and their reasons.

use trunnion_rig::trace::{ColumnInfo, Trace};

use crate::bench::FunctionGroup;
use crate::report::WhyNot;

/// The spans in which a group had no permission, each with one set of reasons. Nothing where the columns that the
/// group names were not recorded.
pub(super) fn spans(group: &FunctionGroup, trace: &Trace, time: &[f64]) -> Vec<WhyNot> {
    let (Some(permission), Some(first_reason)) =
        (trace.column(group.permission), trace.column(group.why_not))
    else {
        return Vec::new();
    };
    let all = group.all.and_then(|name| trace.column(name));
    let told = all.unwrap_or(first_reason);
    let withheld: Vec<f64> = permission
        .values
        .iter()
        .zip(&told.values)
        .map(|(permitted, reason)| if *permitted == 0.0 { *reason } else { PERMITTED })
        .collect();
    stretches(&withheld)
        .into_iter()
        .filter(|(_, _, state)| *state != PERMITTED)
        .filter_map(|(first, end, state)| {
            Some(WhyNot {
                from: *time.get(first)?,
                until: *time.get(end.checked_sub(1)?)?,
                group: group.name.to_owned(),
                reasons: reasons(&first_reason.info, all.is_some(), state),
            })
        })
        .collect()
}

/// No reason and no set of reasons is negative.
const PERMITTED: f64 = -1.0;

/// The names of one reason, or of a set of them with a bit each.
pub(crate) fn reasons(named: &ColumnInfo, is_set: bool, state: f64) -> Vec<String> {
    let bits = state as u64;
    let has = |place: usize| {
        if is_set { place < 64 && bits & (1 << place) != 0 } else { bits == place as u64 }
    };
    let choices = named.choices.iter().enumerate();
    choices.filter(|(place, _)| has(*place)).map(|(_, name)| name.replace('_', " ")).collect()
}

/// Stretches of equal values: first row, one past the last, value.
pub(super) fn stretches(values: &[f64]) -> Vec<(usize, usize, f64)> {
    let mut stretches: Vec<(usize, usize, f64)> = Vec::new();
    for (row, value) in values.iter().enumerate() {
        match stretches.last_mut() {
            Some((_, end, last)) if *last == *value => *end = row + 1,
            _ => stretches.push((row, row + 1, *value)),
        }
    }
    stretches
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion_rig::trace::{Column, ColumnKind};

    fn column(name: &str, choices: &[&str], values: &[f64]) -> Column {
        let info = ColumnInfo {
            name: name.into(),
            doc: String::new(),
            unit: String::new(),
            kind: ColumnKind::Diagnostic,
            choices: choices.iter().map(|choice| (*choice).to_owned()).collect(),
            low: None,
            high: None,
            pin: String::new(),
        };
        Column { info, values: values.to_vec() }
    }

    fn trace() -> Trace {
        Trace {
            period: 0.5,
            columns: vec![
                column("permission", &["no", "yes"], &[0.0, 0.0, 0.0, 1.0, 0.0]),
                column("why_not", &["nothing", "seat_open", "bar_up"], &[1.0, 1.0, 2.0, 0.0, 2.0]),
                column("all", &[], &[6.0, 6.0, 4.0, 0.0, 4.0]),
            ],
        }
    }

    const GROUP: FunctionGroup =
        FunctionGroup { name: "drive", permission: "permission", why_not: "why_not", all: Some("all") };

    fn shown(group: &FunctionGroup) -> Vec<(f64, f64, String)> {
        let trace = trace();
        spans(group, &trace, &trace.time())
            .into_iter()
            .map(|span| (span.from, span.until, span.reasons.join(" + ")))
            .collect()
    }

    #[test]
    fn each_set_of_reasons_is_a_span_and_a_permitted_group_has_none() {
        let expected = [(0.0, 0.5, "seat open + bar up"), (1.0, 1.0, "bar up"), (2.0, 2.0, "bar up")];
        assert_eq!(shown(&GROUP), expected.map(|(from, until, text)| (from, until, text.to_owned())));
    }

    #[test]
    fn without_a_column_of_all_reasons_the_first_one_is_told() {
        let expected = [(0.0, 0.5, "seat open"), (1.0, 1.0, "bar up"), (2.0, 2.0, "bar up")];
        let group = FunctionGroup { all: None, ..GROUP };
        assert_eq!(shown(&group), expected.map(|(from, until, text)| (from, until, text.to_owned())));
    }

    #[test]
    fn a_group_whose_columns_are_not_recorded_has_no_spans() {
        assert!(shown(&FunctionGroup { permission: "another", ..GROUP }).is_empty());
    }
}
