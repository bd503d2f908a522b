//! A state, and the periods that followed it.

use serde::Serialize;
use trunnion::machine::{FastLoop, Program};

use super::period::{Last, PERIOD_HEAD, sum};

/// Up to `BYTES` of periods.
#[derive(Clone)]
pub(super) struct Segment<P: Program, const BYTES: usize> {
    state: Option<P>,
    periods: u32,
    used: u32,
    /// Where the period under way has its sum.
    open: Option<u32>,
    bytes: [u8; BYTES],
}

impl<P: Program, const BYTES: usize> Segment<P, BYTES> {
    pub fn new() -> Self {
        Self { state: None, periods: 0, used: 0, open: None, bytes: [0; BYTES] }
    }

    pub fn clear(&mut self) {
        self.periods = 0;
        self.used = 0;
        self.open = None;
    }

    /// Begins anew in this state. Seldom: kept out of the way of the other periods, and of their stack.
    #[cold]
    #[inline(never)]
    pub fn begin(&mut self, state: &P) {
        self.clear();
        match &mut self.state {
            Some(place) => place.clone_from(state),
            None => self.state = Some(state.clone()),
        }
    }

    /// The state in which it began; of no meaning before it has a period.
    pub const fn state(&self) -> Option<&P> {
        self.state.as_ref()
    }

    pub const fn periods(&self) -> u32 {
        self.periods
    }

    pub fn bytes(&self) -> &[u8] {
        self.bytes.get(..self.used as usize).unwrap_or(&[])
    }

    /// Adds what came in; false when it does not fit, which ends the segment.
    pub fn put(&mut self, last: &mut Last, inputs: &P::Inputs, report: &<P::Fast as FastLoop>::Report) -> bool
    where
        <P::Fast as FastLoop>::Report: Serialize,
    {
        let Some([l0, l1, _, _, room @ ..]) = self.bytes.get_mut(self.used as usize..) else { return false };
        let Some(written) = last.put::<P>(room, inputs, report) else { return false };
        [*l0, *l1] = written.to_le_bytes();
        self.open = Some(self.used.saturating_add(2));
        self.used = self.used.saturating_add(PERIOD_HEAD as u32).saturating_add(written.into());
        self.periods = self.periods.saturating_add(1);
        true
    }

    /// Ends the period: what the machine drives.
    pub fn close(&mut self, outputs: &P::Outputs) {
        let Some(place) = self.open.take() else { return };
        if let Some([s0, s1, ..]) = self.bytes.get_mut(place as usize..) {
            [*s0, *s1] = sum(outputs).to_le_bytes();
        }
    }
}
