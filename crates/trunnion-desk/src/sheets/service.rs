//! What a tester reads and does by which identifier.

use trunnion::declare::{Access, FaultSet, FieldInfo, ParameterSet, Record};
use trunnion::machine::Machine;
use trunnion_service::faults::code_of;
use trunnion_service::identifier::{self, PARAMETER_BYTES, Signals};
use trunnion_service::level::Level;
use trunnion_service::served::{Identification, Needs};
use trunnion_service::server::{ARM_BOX, COMMIT, DISCARD, FREEZE_BOX};

use super::Sheet;
use crate::bench::{GuidedMotion, MotionKind};

const HEADING: [&str; 8] = ["identifier", "kind", "name", "bytes", "signed", "value", "needs", "what it is"];

/// Every data identifier, routine and trouble code of a machine's service port.
///
/// With `black_box`, the two of the black box too, which is read with ReadMemoryByAddress from byte 0.
pub fn identifier_list<M: Machine>(motions: &[GuidedMotion], black_box: bool) -> Sheet {
    let mut rows = Vec::new();
    rows.extend(parameters::<M::Parameters>());
    rows.extend(signals(Signals::Diagnostics, M::Diagnostics::FIELDS));
    rows.extend(signals(Signals::Inputs, M::Inputs::FIELDS));
    rows.extend(signals(Signals::Outputs, M::Outputs::FIELDS));
    rows.extend(fixed());
    if black_box {
        rows.extend(of_black_box());
    }
    rows.extend(motions.iter().map(motion));
    rows.extend(trouble_codes::<M::Faults>());
    Sheet { title: "Service identifiers".into(), heading: HEADING.to_vec(), rows }
}

const YES: &str = "yes";
const NO: &str = "no";

fn row(cells: [String; 8]) -> Vec<String> {
    cells.to_vec()
}

fn hexadecimal(identifier: u16) -> String {
    format!("0x{identifier:04X}")
}

/// How a raw value becomes one in its unit.
fn value(numerator: i64, denominator: i64, unit: &str, choices: &[&str]) -> String {
    if !choices.is_empty() {
        let named = choices.iter().enumerate().map(|(raw, name)| format!("{raw} {name}"));
        return named.collect::<Vec<_>>().join(", ");
    }
    let scale = match (numerator, denominator) {
        (1, 1) => "raw".to_owned(),
        (_, 1) => format!("raw × {numerator}"),
        (1, _) => format!("raw / {denominator}"),
        _ => format!("raw × {numerator} / {denominator}"),
    };
    format!("{scale} {unit}").trim_end().to_owned()
}

fn parameters<P: ParameterSet>() -> impl Iterator<Item = Vec<String>> {
    P::RULES.iter().zip(P::INFO).map(|(rule, info)| {
        let needs = match rule.access {
            Access::Operator | Access::Tune => "write: level 1, at rest, neutral",
            Access::Safety => "write: level 2, at rest, neutral",
            Access::Constant => "read only",
        };
        row([
            hexadecimal(rule.id),
            "parameter".into(),
            info.name.into(),
            PARAMETER_BYTES.to_string(),
            YES.into(),
            value(info.numerator, info.denominator, info.unit, info.choices),
            needs.into(),
            info.doc.trim().into(),
        ])
    })
}

fn signals(record: Signals, fields: &'static [FieldInfo]) -> impl Iterator<Item = Vec<String>> {
    let kind = match record {
        Signals::Diagnostics => "internal point",
        Signals::Inputs => "input",
        Signals::Outputs => "output",
    };
    (0..).zip(fields).filter_map(move |(place, field)| {
        Some(row([
            hexadecimal(identifier::of_signal(record, place)?),
            kind.into(),
            field.name.into(),
            field.bytes.to_string(),
            if field.low < 0 { YES } else { NO }.into(),
            value(field.numerator, field.denominator, field.unit, field.choices),
            "read only".into(),
            field.doc.trim().into(),
        ]))
    })
}

fn fixed() -> impl Iterator<Item = Vec<String>> {
    let text = |what, name: &str, doc: &str| {
        row([
            hexadecimal(identifier::of_identification(what)),
            "identification".into(),
            name.into(),
            "any".into(),
            NO.into(),
            "text".into(),
            "read only".into(),
            doc.into(),
        ])
    };
    [
        row([
            hexadecimal(identifier::ACTIVE_SESSION),
            "session".into(),
            "active_session".into(),
            "1".into(),
            NO.into(),
            "1 default, 3 extended".into(),
            "read only".into(),
            "The session that is active (ISO 14229-1).".into(),
        ]),
        text(Identification::ProgramNumber, "program_number", "Part number of the controller's program."),
        text(Identification::Maker, "maker", "Who made the machine."),
        text(Identification::SerialNumber, "serial_number", "Serial number of the unit."),
        text(Identification::ProgramVersion, "program_version", "Version of the program."),
        text(Identification::MachineName, "machine_name", "Name of the machine."),
        routine(
            COMMIT,
            "commit",
            "level 1, at rest, neutral",
            "Puts the staged parameters into flash and into effect, all or none.",
        ),
        routine(DISCARD, "discard", "extended session", "Forgets the staged parameters."),
    ]
    .into_iter()
}

fn routine(id: u16, name: &str, needs: &str, doc: &str) -> Vec<String> {
    row([
        hexadecimal(id),
        "routine".into(),
        name.into(),
        "0".into(),
        NO.into(),
        String::new(),
        needs.into(),
        doc.into(),
    ])
}

fn of_black_box() -> [Vec<String>; 2] {
    [
        routine(FREEZE_BOX, "freeze_box", "level 1", "Keeps what the black box recorded, as a fault does."),
        routine(
            ARM_BOX,
            "arm_box",
            "level 1, at rest, neutral",
            "Forgets what the black box holds and lets it record anew. A frozen box is read at rest in neutral, with \
             ReadMemoryByAddress from byte 0.",
        ),
    ]
}

fn motion(motion: &GuidedMotion) -> Vec<String> {
    let level = match motion.level {
        Level::Locked => "extended session",
        Level::Tune => "level 1",
        Level::Safety => "level 2",
    };
    let needs = match motion.needs {
        Needs::Quiet => "at rest, neutral",
        Needs::Permitted => "at rest, neutral, permitted",
        Needs::Withheld => "at rest, neutral, nothing permitted",
    };
    let (kind, bytes) = match motion.kind {
        MotionKind::Routine => ("routine", "0"),
        MotionKind::Control => ("output control", "4"),
    };
    row([
        hexadecimal(motion.id),
        kind.into(),
        motion.name.into(),
        bytes.into(),
        if motion.kind == MotionKind::Control { YES } else { NO }.into(),
        String::new(),
        format!("{level}, {needs}"),
        motion.does.into(),
    ])
}

fn trouble_codes<F: FaultSet>() -> impl Iterator<Item = Vec<String>> {
    F::RULES.iter().zip(F::INFO).map(|(rule, info)| {
        let [a, b, c] = code_of(rule);
        row([
            format!("0x{a:02X}{b:02X}{c:02X}"),
            "trouble code".into(),
            info.name.into(),
            "3".into(),
            NO.into(),
            format!("SPN {}, FMI {}", rule.spn, rule.fmi),
            "clear: level 1, at rest, neutral".into(),
            info.doc.trim().into(),
        ])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_is_written_as_it_is_computed() {
        assert_eq!(value(1, 8, "rpm", &[]), "raw / 8 rpm");
        assert_eq!(value(1, 1, "", &[]), "raw");
        assert_eq!(value(100, 1, "%", &[]), "raw × 100 %");
        assert_eq!(value(1, 1, "", &["no", "yes"]), "0 no, 1 yes");
    }
}
