//! The bus: a sheet of its messages and fields, and a database that ordinary CAN tools load.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use trunnion::declare::ParameterSet;
use trunnion_can::id::Id29;
use trunnion_can::layout::{BusRow, Direction, FieldLayout, From, Meaning};

use super::Sheet;

/// The bit that says "29-bit identifier" in a database.
const EXTENDED: u32 = 0x8000_0000;

/// The identifier of a row's frames with these parameters; `None` when an address is none, or the group and its
/// destination contradict each other.
pub fn identifier<P: ParameterSet>(row: &BusRow, parameters: &P) -> Option<Id29> {
    let address = |from: From| match from {
        From::Address(address) => Some(address),
        From::Parameter(id) => parameters.read(id).and_then(|raw| u8::try_from(raw).ok()),
    };
    let source = address(row.from)?;
    match row.to {
        None => Id29::broadcast(row.layout.priority, row.layout.pgn, source),
        Some(to) => Id29::addressed(row.layout.priority, row.layout.pgn, address(to)?, source),
    }
}

/// A row's name in the database: who sends it, and what.
pub fn message_name(row: &BusRow) -> String {
    format!("{}_{}", row.unit, row.layout.name)
}

/// Every message with its fields, and where the latest is kept.
pub fn message_list<P: ParameterSet>(rows: &[BusRow], parameters: &P) -> Sheet {
    let lines = rows.iter().flat_map(|row| {
        let id = identifier(row, parameters);
        row.layout.fields.iter().map(move |field| {
            vec![
                message_name(row),
                direction(row.direction).to_owned(),
                id.map_or_else(|| "no address".to_owned(), |id| format!("0x{:08X}", id.to_raw())),
                row.layout.pgn.to_string(),
                field.name.to_owned(),
                format!("{}.{}", field.first / 8 + 1, field.first % 8 + 1),
                field.bits.to_string(),
                scale(field),
                field.spn.map_or_else(String::new, |spn| spn.to_string()),
                row.slot.to_owned(),
            ]
        })
    });
    Sheet {
        title: "Message list".into(),
        heading: vec![
            "message",
            "direction",
            "identifier",
            "group",
            "field",
            "byte.bit",
            "bits",
            "means",
            "SPN",
            "kept in",
        ],
        rows: lines.collect(),
    }
}

const fn direction(direction: Direction) -> &'static str {
    match direction {
        Direction::Received => "received",
        Direction::Sent => "sent",
    }
}

fn scale(field: &FieldLayout) -> String {
    match field.meaning {
        Meaning::Choice(names) => {
            let named = names.iter().enumerate().map(|(raw, name)| format!("{raw} {name}"));
            named.collect::<Vec<_>>().join(", ")
        }
        Meaning::Number { .. } => {
            let (low, high) = ends(field);
            let unit = unit(field);
            format!("{low} to {high}{}{unit}", if unit.is_empty() { "" } else { " " })
        }
    }
}

/// Lowest and highest value in the field's unit.
fn ends(field: &FieldLayout) -> (f64, f64) {
    match field.meaning {
        Meaning::Number { numerator, denominator, offset, highest, .. } => {
            let offset = f64::from(offset);
            (offset, f64::from(highest) * f64::from(numerator) / f64::from(denominator) + offset)
        }
        Meaning::Choice(_) => (0.0, field.mask() as f64),
    }
}

const fn unit(field: &FieldLayout) -> &'static str {
    match field.meaning {
        Meaning::Number { unit, .. } => unit,
        Meaning::Choice(_) => "",
    }
}

/// The database (DBC) of all messages, with the addresses that these parameters give.
///
/// A choice carries its names, a number its scale and the range in which it is a value; what the standard says above
/// that range (error, not available) is the reader's to know.
pub fn database<P: ParameterSet>(machine: &str, rows: &[BusRow], parameters: &P) -> String {
    let placed: Vec<(u32, &BusRow)> =
        rows.iter().filter_map(|row| Some((identifier(row, parameters)?.to_raw() | EXTENDED, row))).collect();
    let units: BTreeSet<&str> = placed.iter().map(|(_, row)| row.unit).collect();
    let units: Vec<&str> = units.into_iter().collect();
    let mut text = format!("VERSION \"\"\n\nNS_ :\n\nBS_:\n\nBU_: {}\n", units.join(" "));
    for (id, row) in &placed {
        let _ = writeln!(text, "\nBO_ {id} {}: {} {}", message_name(row), row.layout.bytes, row.unit);
        for field in row.layout.fields {
            text += &signal(field);
        }
    }
    let about = format!(
        "Machine bus of {machine}. Addresses are those of the parameters that it was written with; levers and engine \
         may have others on your machine. Not for control: check it against your own machine first."
    );
    let _ = writeln!(text, "\nCM_ \"{}\";", quoted(&about));
    for (id, row) in &placed {
        let _ = writeln!(
            text,
            "CM_ BO_ {id} \"{}, PGN {}, {}.\";",
            quoted(row.layout.title),
            row.layout.pgn,
            direction(row.direction)
        );
    }
    text += &attributes(&placed);
    for (id, row) in &placed {
        for field in row.layout.fields {
            if let Meaning::Choice(names) = field.meaning {
                let named = names.iter().enumerate().map(|(raw, name)| format!("{raw} \"{}\"", quoted(name)));
                let _ = writeln!(text, "VAL_ {id} {} {} ;", field.name, named.collect::<Vec<_>>().join(" "));
            }
        }
    }
    text
}

fn signal(field: &FieldLayout) -> String {
    let (factor, offset) = match field.meaning {
        Meaning::Number { numerator, denominator, offset, .. } => {
            (f64::from(numerator) / f64::from(denominator), offset)
        }
        Meaning::Choice(_) => (1.0, 0),
    };
    let (low, high) = ends(field);
    format!(
        " SG_ {} : {}|{}@1+ ({factor},{offset}) [{low}|{high}] \"{}\" Vector__XXX\n",
        field.name,
        field.first,
        field.bits,
        unit(field)
    )
}

fn attributes(placed: &[(u32, &BusRow)]) -> String {
    let mut text = String::from(
        "BA_DEF_ \"ProtocolType\" STRING ;\n\
         BA_DEF_ BO_ \"VFrameFormat\" ENUM \"StandardCAN\",\"ExtendedCAN\",\"reserved\",\"J1939PG\";\n\
         BA_DEF_ SG_ \"SPN\" INT 0 524287;\n\
         BA_DEF_DEF_ \"ProtocolType\" \"\";\n\
         BA_DEF_DEF_ \"VFrameFormat\" \"J1939PG\";\n\
         BA_DEF_DEF_ \"SPN\" 0;\n\
         BA_ \"ProtocolType\" \"J1939\";\n",
    );
    for (id, _) in placed {
        let _ = writeln!(text, "BA_ \"VFrameFormat\" BO_ {id} 3;");
    }
    for (id, row) in placed {
        for field in row.layout.fields {
            if let Some(spn) = field.spn {
                let _ = writeln!(text, "BA_ \"SPN\" SG_ {id} {} {spn};", field.name);
            }
        }
    }
    text
}

/// A database's texts have no escape for a quotation mark.
fn quoted(text: &str) -> String {
    text.replace('"', "'")
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::declare::Access;
    use trunnion_can::layout::{ACTIVE_TROUBLE_CODES, BASIC_JOYSTICK_1, REQUEST};

    trunnion::parameters! {
        /// One address.
        struct Set, enum SetIndex {
            /// Where the lever is.
            0x0101 lever_address: u8 = 0x33, in 0..=253, Access::Tune;
        }
    }

    const ROWS: [BusRow; 3] = [
        BusRow {
            unit: "Lever",
            layout: &BASIC_JOYSTICK_1,
            direction: Direction::Received,
            from: From::Parameter(0x0101),
            to: None,
            slot: "lever",
        },
        BusRow {
            unit: "Tool",
            layout: &REQUEST,
            direction: Direction::Received,
            from: From::Address(0xF9),
            to: Some(From::Address(0x27)),
            slot: "",
        },
        BusRow {
            unit: "Controller",
            layout: &ACTIVE_TROUBLE_CODES,
            direction: Direction::Sent,
            from: From::Address(0x27),
            to: None,
            slot: "",
        },
    ];

    #[test]
    fn identifiers_carry_the_addresses_of_the_parameters() {
        let mut set = Set::default();
        let raw = |set: &Set| ROWS.map(|row| identifier(&row, set).unwrap().to_raw());
        assert_eq!(raw(&set), [0x0CFD_D633, 0x18EA_27F9, 0x18FE_CA27]);
        set.stage(0x0101, 0x21).unwrap();
        assert_eq!(raw(&set)[0], 0x0CFD_D621);
        assert_eq!(identifier(&BusRow { to: None, ..ROWS[1] }, &set), None, "a request goes to somebody");
    }

    #[test]
    fn a_row_becomes_a_message_with_scale_names_and_number() {
        let text = database("a \"lever\"", &ROWS, &Set::default());
        for line in [
            "BU_: Controller Lever Tool",
            "BO_ 2365445683 Lever_BJM1: 8 Lever",
            " SG_ XPosition : 6|10@1+ (0.1,0) [0|100] \"%\" Vector__XXX",
            "BO_ 2565482489 Tool_Request: 3 Tool",
            "BA_ \"SPN\" SG_ 2365445683 XPosition 2660;",
            "VAL_ 2365445683 XNeutral 0 \"off\" 1 \"on\" 2 \"error\" 3 \"not available\" ;",
        ] {
            assert!(text.lines().any(|found| found == line), "{line}\nin\n{text}");
        }
        assert!(text.contains("Machine bus of a 'lever'."));
    }
}
