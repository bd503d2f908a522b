use trunnion::declare::{FaultSet, Record};
use trunnion::machine::{FastLoop, Machine};

use super::column::scaled;
use super::{ColumnInfo, ColumnKind};
use crate::run::Plant;

/// The columns of a machine on a plant, and how a tick becomes a row of them.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    pub(crate) columns: Vec<ColumnInfo>,
}

/// The records of a tick.
pub(crate) struct TickRecords<'a, M: Machine> {
    pub(crate) inputs: &'a M::Inputs,
    pub(crate) fast_inputs: &'a <M::Fast as FastLoop>::Inputs,
    pub(crate) fast_outputs: &'a <M::Fast as FastLoop>::Outputs,
    pub(crate) outputs: &'a M::Outputs,
    pub(crate) diagnostics: &'a M::Diagnostics,
}

impl Layout {
    pub(crate) fn of<M: Machine, P: Plant<M>>() -> Self {
        let mut columns = Vec::new();
        let mut add = |fields: &[trunnion::declare::FieldInfo], kind| {
            columns.extend(fields.iter().map(|field| ColumnInfo::of_field(field, kind)));
        };
        add(M::Inputs::FIELDS, ColumnKind::Input);
        add(<M::Fast as FastLoop>::Inputs::FIELDS, ColumnKind::FastInput);
        add(<M::Fast as FastLoop>::Outputs::FIELDS, ColumnKind::FastOutput);
        add(M::Outputs::FIELDS, ColumnKind::Output);
        add(M::Diagnostics::FIELDS, ColumnKind::Diagnostic);
        columns.extend(M::Faults::INFO.iter().map(ColumnInfo::of_fault));
        columns.extend(P::OBSERVATIONS.iter().map(ColumnInfo::of_observation));
        columns.extend(P::ACTIONS.iter().map(ColumnInfo::of_action));
        Self { columns }
    }

    /// Writes a tick into `row`, in the order of the columns.
    pub(crate) fn fill<M: Machine, P: Plant<M>>(
        row: &mut Vec<f64>,
        records: &TickRecords<'_, M>,
        machine: &M,
        plant: &P,
        actions: &[f64],
    ) {
        row.clear();
        add_record(row, records.inputs);
        add_record(row, records.fast_inputs);
        add_record(row, records.fast_outputs);
        add_record(row, records.outputs);
        add_record(row, records.diagnostics);
        let faults = 0..u16::try_from(M::Faults::INFO.len()).unwrap_or(u16::MAX);
        row.extend(faults.map(|fault| f64::from(u8::from(machine.is_fault_active(fault)))));
        let observations = row.len();
        row.resize(observations + P::OBSERVATIONS.len(), 0.0);
        plant.observe(&mut row[observations..]);
        row.extend_from_slice(actions);
    }
}

pub(super) fn add_record<R: Record>(row: &mut Vec<f64>, record: &R) {
    let mut fields = R::FIELDS.iter();
    record.visit(|_, raw| {
        if let Some(field) = fields.next() {
            row.push(scaled(raw, field));
        }
    });
}
