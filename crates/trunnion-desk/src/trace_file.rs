//! A trace as comma-separated values, for spreadsheets and scripts.

use std::io;

use trunnion_rig::trace::{Column, ColumnKind, Trace};

/// Writes a trace after RFC 4180: a heading of `name [unit]`, then one record a row, lines ended by CR LF.
///
/// The first column is `time [s]`. Numbers are the shortest that read back to the same bits. Yes/no columns are 0
/// and 1; other choices are written by name. Columns of eight bytes, such as bus frames, are left out.
///
/// # Errors
/// When `out` cannot be written to.
pub fn write_csv(trace: &Trace, out: impl io::Write) -> io::Result<()> {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(io::BufWriter::new(out));
    writer.write_field("time [s]")?;
    let columns: Vec<&Column> = trace.columns.iter().filter(|column| is_exact(column)).collect();
    for column in &columns {
        writer.write_field(heading(column))?;
    }
    writer.write_record(None::<&[u8]>)?;
    for (row, at) in trace.time().iter().enumerate() {
        writer.write_field(at.to_string())?;
        for column in &columns {
            writer.write_field(cell(column, row))?;
        }
        writer.write_record(None::<&[u8]>)?;
    }
    writer.flush()
}

/// Eight-byte values, frames and sets of bits, are more than a number of a trace can hold: better left out than
/// rounded. They are the declared signals without bounds.
fn is_exact(column: &Column) -> bool {
    column.info.low.is_some() || column.info.kind == ColumnKind::Observation
}

fn heading(column: &Column) -> String {
    match column.info.unit.as_str() {
        "" => column.info.name.clone(),
        unit => format!("{} [{unit}]", column.info.name),
    }
}

/// Nothing for a value that is missing.
fn cell(column: &Column, row: usize) -> String {
    let Some(value) = column.values.get(row).filter(|value| value.is_finite()) else { return String::new() };
    let choices = &column.info.choices;
    if choices.is_empty() || choices.iter().eq(["no", "yes"]) {
        return value.to_string();
    }
    choices.get(*value as usize).cloned().unwrap_or_else(|| value.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion_rig::trace::ColumnInfo;

    fn column(name: &str, unit: &str, choices: &[&str], values: &[f64]) -> Column {
        let info = ColumnInfo {
            name: name.into(),
            doc: String::new(),
            unit: unit.into(),
            kind: ColumnKind::Output,
            choices: choices.iter().map(|choice| (*choice).to_owned()).collect(),
            low: Some(-10.0),
            high: Some(10.0),
            pin: String::new(),
        };
        Column { info, values: values.to_vec() }
    }

    /// A signal of which no number keeps every bit.
    fn eight_bytes(name: &str) -> Column {
        let mut column = column(name, "", &[], &[1.0, 2.0]);
        (column.info.low, column.info.high) = (None, None);
        column
    }

    #[test]
    fn records_end_as_the_standard_says_and_numbers_read_back_to_the_same_bits() {
        let trace = Trace {
            period: 0.01,
            columns: vec![
                column("speed", "m/s", &[], &[0.1 + 0.2, f64::NAN]),
                eight_bytes("frame"),
                column("lamp", "", &["no", "yes"], &[0.0, 1.0]),
                column("motion", "", &["rest", "a, \"b\""], &[0.0, 1.0]),
            ],
        };
        let mut bytes = Vec::new();
        write_csv(&trace, &mut bytes).unwrap();
        let expected = "time [s],speed [m/s],lamp,motion\r\n0,0.30000000000000004,0,rest\r\n0.01,,1,\"a, \"\"b\"\"\"\r\n";
        assert_eq!(String::from_utf8(bytes).unwrap(), expected);
    }
}
