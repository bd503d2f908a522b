use serde::Serialize;

use super::{ColumnInfo, ColumnKind};

/// A column of a trace.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Column {
    /// What it holds.
    pub info: ColumnInfo,
    /// One value a row.
    pub values: Vec<f64>,
}

/// A run in columns.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trace {
    /// Seconds between two rows.
    pub period: f64,
    /// The columns, all of the same length.
    pub columns: Vec<Column>,
}

impl Trace {
    pub(crate) fn new(period: f64, columns: &[ColumnInfo], rows: u32) -> Self {
        let column =
            |info: &ColumnInfo| Column { info: info.clone(), values: Vec::with_capacity(rows as usize) };
        Self { period, columns: columns.iter().map(column).collect() }
    }

    pub(crate) fn push(&mut self, row: &[f64]) {
        for (column, value) in self.columns.iter_mut().zip(row) {
            column.values.push(*value);
        }
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |column| column.values.len())
    }

    /// The values of one row, in the order of the columns; empty behind the last.
    pub fn row(&self, row: usize) -> Vec<f64> {
        self.columns.iter().filter_map(|column| column.values.get(row).copied()).collect()
    }

    /// The column of that name.
    pub fn column(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|column| column.info.name == name)
    }

    /// The columns of a kind.
    pub fn of_kind(&self, kind: ColumnKind) -> impl Iterator<Item = &Column> {
        self.columns.iter().filter(move |column| column.info.kind == kind)
    }

    /// The time of every row, in seconds from the start.
    pub fn time(&self) -> Vec<f64> {
        let micros = libm::round(self.period * 1e6);
        (0..self.rows()).map(|row| row as f64 * micros / 1e6).collect()
    }
}
