//! What the declaration says, as sheets.

use trunnion::declare::{Access, FaultSet, FieldInfo, Latch, ParameterSet, Reactions, Record, Wire};
use trunnion::machine::{FastInputs, FastOutputs, Machine};
use trunnion_rig::run::{BreakInfo, Way};
use trunnion_rig::trace::{ColumnInfo, ColumnKind};

use super::Sheet;

/// Every pin, with what it carries and how it can fail, in the order of connectors and pins.
///
/// `ports` are connections that carry no single signal: pin and text.
pub fn wiring_list<M: Machine>(ports: &[(&str, &str)]) -> Sheet {
    let mut rows = Vec::new();
    let tables = [
        ("in", M::Inputs::FIELDS),
        ("in", FastInputs::<M>::FIELDS),
        ("out", M::Outputs::FIELDS),
        ("out", FastOutputs::<M>::FIELDS),
    ];
    for (direction, fields) in tables {
        let wired = fields.iter().filter(|field| !field.pin.is_empty());
        rows.extend(wired.filter(|field| is_own_row(field)).map(|field| wire_row(direction, field)));
    }
    rows.extend(ports.iter().map(|(pin, doc)| {
        vec![
            (*pin).into(),
            String::new(),
            String::new(),
            Wire::Port.name().into(),
            String::new(),
            (*doc).into(),
            String::new(),
        ]
    }));
    rows.sort_by_key(|row| pin_order(&row[0]));
    Sheet {
        title: "Wiring list".into(),
        heading: vec!["pin", "direction", "signal", "kind", "range", "what it is", "can fail as"],
        rows,
    }
}

/// Counts and stamps travel with the signal that they belong to.
fn is_own_row(field: &FieldInfo) -> bool {
    !matches!(field.wire, Wire::PulseStamp | Wire::FrameCount)
}

fn wire_row(direction: &str, field: &FieldInfo) -> Vec<String> {
    let info = BreakInfo::wired(field.name, field.doc, field.wire);
    let failures: Vec<&str> = info.ways().map(Way::name).collect();
    vec![
        field.pin.into(),
        direction.into(),
        field.name.into(),
        field.wire.name().into(),
        range(field),
        field.doc.trim().into(),
        failures.join(", "),
    ]
}

fn range(field: &FieldInfo) -> String {
    if !field.choices.is_empty() || matches!(field.wire, Wire::Frame | Wire::PulseCount) {
        return String::new();
    }
    let scaled = |raw: i64| number(raw, field.numerator, field.denominator);
    format!("{}–{} {}", scaled(field.low), scaled(field.high), field.unit).trim().into()
}

fn number(raw: i64, numerator: i64, denominator: i64) -> String {
    let value = raw as f64 * numerator as f64 / denominator as f64;
    format!("{value}")
}

/// Orders "X2:10" behind "X2:9".
fn pin_order(pin: &str) -> (String, u32) {
    let (connector, rest) = pin.split_once(':').unwrap_or((pin, ""));
    let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
    (connector.into(), digits.parse().unwrap_or(0))
}

/// Every parameter with its range, default, access and text.
pub fn parameter_sheet<P: ParameterSet>() -> Sheet {
    let rows = P::RULES.iter().zip(P::INFO).map(|(rule, info)| {
        let shown = |raw: i32| match info.choices.get(usize::try_from(raw).unwrap_or(usize::MAX)) {
            Some(choice) => (*choice).to_string(),
            None => number(raw.into(), info.numerator, info.denominator),
        };
        let range = if info.choices.is_empty() {
            format!("{}–{}", shown(rule.low), shown(rule.high))
        } else {
            info.choices.join(", ")
        };
        vec![
            format!("0x{:04X}", rule.id),
            info.name.into(),
            shown(rule.default),
            range,
            info.unit.into(),
            access(rule.access).into(),
            info.doc.trim().into(),
        ]
    });
    Sheet {
        title: "Parameter sheet".into(),
        heading: vec!["id", "parameter", "default", "range", "unit", "access", "what it does"],
        rows: rows.collect(),
    }
}

fn access(access: Access) -> &'static str {
    match access {
        Access::Operator => "operator",
        Access::Tune => "tune",
        Access::Safety => "safety",
        Access::Constant => "constant",
    }
}

/// What a fault does, in words; `names` by bit. A fault without a reaction is told to the operator, no more.
pub fn reaction_names(reactions: Reactions, names: &[&str]) -> String {
    let named = names.iter().zip(0..16).filter(|(_, bit)| reactions.has(Reactions(1 << bit)));
    let words: Vec<&str> = named.map(|(name, _)| *name).collect();
    if words.is_empty() { "told".into() } else { words.join(", ") }
}

/// Every fault with its codes, times, latch, reactions, place and text; `names` of reactions by bit.
pub fn fault_list<F: FaultSet>(names: &[&str]) -> Sheet {
    let rows = F::RULES.iter().zip(F::INFO).map(|(rule, info)| {
        vec![
            rule.blink.to_string(),
            rule.spn.to_string(),
            rule.fmi.to_string(),
            info.name.into(),
            format!("{}/{}", rule.set_after.ticks(), rule.clear_after.ticks()),
            latch(rule.latch).into(),
            reaction_names(rule.reactions, names),
            info.location.into(),
            info.doc.trim().into(),
        ]
    });
    Sheet {
        title: "Fault list".into(),
        heading: vec![
            "lamp",
            "SPN",
            "FMI",
            "fault",
            "set/clear ms",
            "stays",
            "reaction",
            "where",
            "what to do",
        ],
        rows: rows.collect(),
    }
}

/// Every column of a trace: what scenarios and formulas may name.
pub fn signal_list(columns: &[ColumnInfo]) -> Sheet {
    let rows = columns.iter().map(|column| {
        vec![
            column.name.clone(),
            kind(column.kind).into(),
            column.unit.clone(),
            if column.choices.is_empty() { column_range(column) } else { column.choices.join(", ") },
            column.pin.clone(),
            column.doc.clone(),
        ]
    });
    Sheet {
        title: "Signal list".into(),
        heading: vec!["signal", "where from", "unit", "range", "pin or place", "what it is"],
        rows: rows.collect(),
    }
}

fn column_range(column: &ColumnInfo) -> String {
    match (column.low, column.high) {
        (Some(low), Some(high)) => format!("{low}–{high}"),
        _ => String::new(),
    }
}

/// Where a column comes from, in words.
pub(crate) fn kind(kind: ColumnKind) -> &'static str {
    match kind {
        ColumnKind::Input => "input",
        ColumnKind::FastInput => "fast input",
        ColumnKind::FastOutput => "fast output",
        ColumnKind::Output => "output",
        ColumnKind::Diagnostic => "internal point",
        ColumnKind::Fault => "fault",
        ColumnKind::Observation => "true value",
        ColumnKind::Action => "asked by the scenario",
    }
}

fn latch(latch: Latch) -> &'static str {
    match latch {
        Latch::WhilePresent => "while present",
        Latch::UntilNeutral => "until gone and levers neutral",
        Latch::UntilRestart => "until restart",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pins_are_ordered_as_people_count() {
        let mut pins = vec!["X2:10", "X10:1", "X2:9", "X1:3"];
        pins.sort_by_key(|pin| pin_order(pin));
        assert_eq!(pins, ["X1:3", "X10:1", "X2:9", "X2:10"]);
    }
}
