//! What a tester reads by identifier, as a sheet.

use trunnion::declare::{FieldInfo, ParameterSet, Record};
use trunnion::machine::Machine;
use trunnion_service::served::{FIRST_DIAGNOSTIC, FIRST_INPUT, FIRST_OUTPUT};

use super::Sheet;

/// Bytes of a parameter's value.
const PARAMETER_BYTES: u8 = 4;

/// Every parameter and every signal by the identifier under which a diagnostic server shows it (ISO 14229-1, service 22).
///
/// A value has the high byte first; `raw × numerator / denominator` is its value in its unit.
pub fn identifiers<M: Machine>() -> Sheet {
    let parameters = M::Parameters::RULES.iter().zip(M::Parameters::INFO).map(|(rule, info)| {
        let shape = Shape {
            bytes: PARAMETER_BYTES,
            signed: true,
            unit: info.unit,
            scale: (info.numerator, info.denominator),
            choices: info.choices,
        };
        row(rule.id, "parameter", info.name, &shape, info.doc)
    });
    let records = [
        ("internal point", FIRST_DIAGNOSTIC, M::Diagnostics::FIELDS),
        ("input", FIRST_INPUT, M::Inputs::FIELDS),
        ("output", FIRST_OUTPUT, M::Outputs::FIELDS),
    ];
    let signals = records.into_iter().flat_map(|(kind, first, fields)| {
        (first..).zip(fields).map(move |(id, field)| row(id, kind, field.name, &shape(field), field.doc))
    });
    Sheet {
        title: "Service identifiers".into(),
        heading: vec![
            "id",
            "kind",
            "name",
            "bytes",
            "signed",
            "unit",
            "numerator",
            "denominator",
            "choices",
            "what it is",
        ],
        rows: parameters.chain(signals).collect(),
    }
}

struct Shape {
    bytes: u8,
    signed: bool,
    unit: &'static str,
    scale: (i64, i64),
    choices: &'static [&'static str],
}

fn shape(field: &FieldInfo) -> Shape {
    Shape {
        bytes: field.bytes,
        signed: field.low < 0,
        unit: field.unit,
        scale: (field.numerator, field.denominator),
        choices: field.choices,
    }
}

fn row(id: u16, kind: &str, name: &str, shape: &Shape, doc: &str) -> Vec<String> {
    vec![
        format!("0x{id:04X}"),
        kind.into(),
        name.into(),
        shape.bytes.to_string(),
        if shape.signed { "yes" } else { "no" }.into(),
        shape.unit.into(),
        shape.scale.0.to_string(),
        shape.scale.1.to_string(),
        shape.choices.join(", "),
        doc.trim().into(),
    ]
}
