use std::marker::PhantomData;

use trunnion::declare::{FaultSet, Record};
use trunnion::machine::Machine;

use super::layout::add_record;
use super::{ColumnInfo, ColumnKind, Trace};

/// A trace of what a machine read and drove elsewhere: without fast loop, plant and operator.
#[derive(Debug)]
pub struct Recording<M> {
    trace: Trace,
    row: Vec<f64>,
    machine: PhantomData<fn() -> M>,
}

impl<M: Machine> Default for Recording<M> {
    fn default() -> Self {
        Self::new()
    }
}

impl<M: Machine> Recording<M> {
    /// Without rows.
    pub fn new() -> Self {
        let mut columns = Vec::new();
        let mut add = |fields: &[trunnion::declare::FieldInfo], kind| {
            columns.extend(fields.iter().map(|field| ColumnInfo::of_field(field, kind)));
        };
        add(M::Inputs::FIELDS, ColumnKind::Input);
        add(M::Outputs::FIELDS, ColumnKind::Output);
        add(M::Diagnostics::FIELDS, ColumnKind::Diagnostic);
        columns.extend(M::Faults::INFO.iter().map(ColumnInfo::of_fault));
        let period = f64::from(M::PERIOD.micros()) / 1e6;
        Self { trace: Trace::new(period, &columns, 0), row: Vec::new(), machine: PhantomData }
    }

    /// Adds a period; faults in the order of the declaration.
    pub fn push(
        &mut self,
        inputs: &M::Inputs,
        outputs: &M::Outputs,
        diagnostics: &M::Diagnostics,
        faults: &[bool],
    ) {
        self.row.clear();
        add_record(&mut self.row, inputs);
        add_record(&mut self.row, outputs);
        add_record(&mut self.row, diagnostics);
        self.row.extend(faults.iter().map(|active| f64::from(u8::from(*active))));
        self.trace.push(&self.row);
    }

    /// All that was added.
    pub fn finish(self) -> Trace {
        self.trace
    }
}
