//! Records as differences from the record before.

use trunnion::declare::{Field, ParameterSet, Record};
use trunnion::machine::Boot;

use crate::delta::{DeltaReader, DeltaWriter};

/// Writes a record of which the reader knows the `previous` one.
pub fn put_record<R: Record>(writer: &mut DeltaWriter<'_>, previous: &R, present: &R) {
    let mut index = 0_u16;
    present.visit(|_, raw| {
        writer.put(previous.get(index), raw);
        index = index.wrapping_add(1);
    });
}

/// Reads a record; `None` when a value is outside its type's range.
pub fn take_record<R: Record>(reader: &mut DeltaReader<'_>, previous: &R) -> Option<R> {
    let mut present = *previous;
    let mut index = 0_u16;
    let whole = present.fill(|_| {
        let raw = reader.next(previous.get(index));
        index = index.wrapping_add(1);
        raw
    });
    whole.then_some(present)
}

/// Writes the records of one period, field by field: what does not change makes one run over all steps.
pub fn put_history<R: Record>(writer: &mut DeltaWriter<'_>, previous: &R, steps: &[R]) {
    for index in indices::<R>() {
        let mut before = previous.get(index);
        for step in steps {
            let raw = step.get(index);
            writer.put(before, raw);
            before = raw;
        }
    }
}

/// Reads the records of one period; false when a value is outside its type's range.
pub fn take_history<R: Record>(reader: &mut DeltaReader<'_>, previous: &R, steps: &mut [R]) -> bool {
    let mut whole = true;
    for index in indices::<R>() {
        let mut raw = previous.get(index);
        for step in &mut *steps {
            raw = reader.next(raw);
            whole &= step.set(index, raw);
        }
    }
    whole
}

/// Writes a parameter set of which the reader knows the `previous` one.
pub fn put_parameters<P: ParameterSet>(writer: &mut DeltaWriter<'_>, previous: &P, present: &P) {
    for (index, _) in (0_u16..).zip(P::RULES) {
        writer.put(i64::from(previous.raw(index)), i64::from(present.raw(index)));
    }
}

/// Reads a parameter set; `None` when a value breaks its rule.
pub fn take_parameters<P: ParameterSet>(reader: &mut DeltaReader<'_>, previous: &P) -> Option<P> {
    let mut present = *previous;
    let mut whole = true;
    for (index, rule) in (0_u16..).zip(P::RULES) {
        let raw = reader.next(i64::from(previous.raw(index)));
        whole &= i32::try_from(raw).is_ok_and(|raw| present.stage(rule.id, raw).is_ok());
    }
    whole.then_some(present)
}

/// Writes what the machine is told when it starts, parameters last.
pub fn put_boot<P: ParameterSet>(writer: &mut DeltaWriter<'_>, boot: &Boot<P>) {
    let Boot { parameters, damaged, cause, serial, entropy, starts, wrong_codes } = boot;
    writer.put(0, damaged.to_raw());
    writer.put(0, cause.to_raw());
    for word in [serial, entropy, starts, wrong_codes] {
        writer.put(0, word.to_raw());
    }
    put_parameters(writer, &P::default(), parameters);
}

/// Reads the same; `None` when a value is outside its type's range.
pub fn take_boot<P: ParameterSet>(reader: &mut DeltaReader<'_>) -> Option<Boot<P>> {
    Some(Boot {
        damaged: Field::from_raw(reader.next(0))?,
        cause: Field::from_raw(reader.next(0))?,
        serial: Field::from_raw(reader.next(0))?,
        entropy: Field::from_raw(reader.next(0))?,
        starts: Field::from_raw(reader.next(0))?,
        wrong_codes: Field::from_raw(reader.next(0))?,
        parameters: take_parameters(reader, &P::default())?,
    })
}

/// The index of each field.
pub fn indices<R: Record>() -> impl Iterator<Item = u16> {
    (0_u16..).zip(R::FIELDS).map(|(index, _)| index)
}
