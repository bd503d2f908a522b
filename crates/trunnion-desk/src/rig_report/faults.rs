//! Faults from raised to healed, out of the fault columns of a trace.

use trunnion::declare::{FaultInfo, FaultRule, FaultSet};
use trunnion_rig::trace::{ColumnKind, Trace};

use super::why_not::stretches;
use crate::report::FaultEvent;
use crate::sheets::reaction_names;

/// Every time that a fault was raised, in order of time.
pub(super) fn events<F: FaultSet>(trace: &Trace, time: &[f64], reactions: &[&str]) -> Vec<FaultEvent> {
    let mut events = Vec::new();
    // The trace has its fault columns in the order of declaration.
    for (column, (rule, info)) in trace.of_kind(ColumnKind::Fault).zip(F::RULES.iter().zip(F::INFO)) {
        for (first, end, state) in stretches(&column.values) {
            if let Some(at) = time.get(first).filter(|_| state != 0.0) {
                events.push(event(rule, info, *at, time.get(end).copied(), reactions));
            }
        }
    }
    events.sort_by(|one, other| one.at.total_cmp(&other.at));
    events
}

fn event(rule: &FaultRule, info: &FaultInfo, at: f64, until: Option<f64>, reactions: &[&str]) -> FaultEvent {
    FaultEvent {
        at,
        until,
        code: format!("SPN {} FMI {}", rule.spn, rule.fmi),
        text: first_sentence(info.doc),
        reaction: reaction_names(rule.reactions, reactions),
    }
}

/// What the fault means; the sentences behind it say what to do.
fn first_sentence(doc: &str) -> String {
    let doc = doc.trim();
    let end = doc.find(". ").unwrap_or(doc.len());
    doc[..end].trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_sentence_is_what_the_fault_means() {
        assert_eq!(first_sentence(" Supply above 4.5 V. Check the plug."), "Supply above 4.5 V");
        assert_eq!(first_sentence("Lever lost."), "Lever lost");
    }
}
