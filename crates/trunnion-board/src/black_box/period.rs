//! One recorded period as bytes.

use serde::Serialize;
use serde::de::DeserializeOwned;
use trunnion::declare::Record;
use trunnion::machine::{FastLoop, Program};

use crate::delta::{DeltaReader, DeltaWriter};
use crate::record::{put_record, take_record};
use crate::state_bytes;

/// Most bytes of a report of the fast loop.
pub(super) const MOST_REPORT: usize = 1_024;
/// In front of each period: its bytes, and the sum over its outputs.
pub(super) const PERIOD_HEAD: usize = 4;

/// What came in last, from which the next period differs.
#[derive(Clone)]
pub(super) struct Last<P: Program> {
    inputs: P::Inputs,
    report: [u8; MOST_REPORT],
    length: u16,
}

impl<P: Program> Last<P> {
    pub fn new() -> Self {
        Self { inputs: Default::default(), report: [0; MOST_REPORT], length: 0 }
    }

    /// Writes a period as what differs from the last one; the bytes written, `None` where they do not fit: what came in
    /// last is not known any more then.
    pub fn put(
        &mut self,
        out: &mut [u8],
        inputs: &P::Inputs,
        report: &<P::Fast as FastLoop>::Report,
    ) -> Option<u16>
    where
        <P::Fast as FastLoop>::Report: Serialize,
    {
        let length = u16::try_from(state_bytes::size(report)).ok()?;
        if usize::from(length) > MOST_REPORT {
            return None;
        }
        let mut writer = DeltaWriter::new(out);
        put_record(&mut writer, &self.inputs, inputs);
        writer.put(self.length.into(), length.into());
        let mut places = self.report.iter_mut();
        let put = state_bytes::write(report, |byte| {
            if let Some(place) = places.next() {
                writer.put(i64::from(*place), i64::from(byte));
                *place = byte;
            }
        });
        put.ok()?;
        (self.inputs, self.length) = (*inputs, length);
        writer.finish()
    }

    /// Reads one; `None` where the bytes are none.
    pub fn take(&mut self, bytes: &[u8]) -> Option<(P::Inputs, <P::Fast as FastLoop>::Report)>
    where
        <P::Fast as FastLoop>::Report: DeserializeOwned,
    {
        let mut reader = DeltaReader::new(bytes);
        let inputs = take_record(&mut reader, &self.inputs)?;
        let length = u16::try_from(reader.next(self.length.into())).ok()?;
        let mut report = [0; MOST_REPORT];
        let places = report.get_mut(..usize::from(length))?;
        for (place, before) in places.iter_mut().zip(&self.report) {
            *place = u8::try_from(reader.next(i64::from(*before))).ok()?;
        }
        if !reader.is_finished() {
            return None;
        }
        let (read, []) = state_bytes::read(places).ok()? else { return None };
        (self.inputs, self.report, self.length) = (inputs, report, length);
        Some((inputs, read))
    }
}

/// A sum over all that the machine drives: two runs that differ give the same one once in 65 536 times.
pub(super) fn sum(outputs: &impl Record) -> u16 {
    // FNV-1a of 32 bits over the two halves of each value (Fowler, Noll and Vo; public domain).
    let mut hash = 0x811C_9DC5_u32;
    outputs.visit(|_, raw| {
        for half in [raw as u32, (raw >> 32) as u32] {
            hash = (hash ^ half).wrapping_mul(0x0100_0193);
        }
    });
    (hash ^ (hash >> 16)) as u16
}
