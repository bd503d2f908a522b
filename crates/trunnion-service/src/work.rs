//! Slow work by ticket: ordered in the outputs, reported in the inputs some periods later.
//!
//! The board, or the simulated one, keeps a copy of the parameter set and the access key. An order stands until the
//! report with its number comes; then the next one may be given.

trunnion::choices! {
    /// What is asked of the board.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum WorkKind {
        /// Nothing.
        Nothing = "nothing",
        /// Take one value into the copy: `item` is the identifier above 32 bits and the raw value below.
        StageParameter = "stage_parameter",
        /// Write the copy to flash.
        SaveParameters = "save_parameters",
        /// Make the copy equal to what is in flash again.
        DropStaged = "drop_staged",
        /// Write the number of wrong access codes, `item`, to flash.
        SaveAttempts = "save_attempts",
        /// Take a word of challenge (places 0, 1) and code (places 2, 3): `item`.
        CodeWord = "code_word",
        /// Compare the code with the one that belongs to the challenge; `place` is the level, 1 tune, 2 safety.
        CheckCode = "check_code",
        /// Restart the controller.
        Reset = "reset",
        /// Give the entry of the stored fault log with the number `place`, from 0: for `item` 0 the fault's place in the
        /// declaration above 8 bits and its count below, for `item` 1 its first time above 32 bits and its last below.
        /// Refused when there is no such entry.
        ReadFault = "read_fault",
        /// Take the times of the fault in this place of the declaration into the copy of the log: `item`, as above.
        FaultTimes = "fault_times",
        /// Take its count, `item`.
        FaultCount = "fault_count",
        /// Write the copy of the log to flash.
        SaveFaultLog = "save_fault_log",
    }
}

trunnion::choices! {
    /// What the board says of an order.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum WorkReport {
        /// Nothing yet.
        Nothing = "nothing",
        /// Done; of a code: it is right.
        Done = "done",
        /// Of a code: it is wrong.
        Refused = "refused",
        /// It cannot be done: flash failed, or there is no key.
        Failed = "failed",
    }
}

/// An order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct WorkOrder {
    /// What to do.
    pub kind: WorkKind,
    /// Its number; wraps, never 0 while something is ordered.
    pub number: u8,
    /// See [`WorkKind`].
    pub place: u8,
    /// See [`WorkKind`].
    pub item: u64,
}

/// A report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct WorkDone {
    /// How it went.
    pub report: WorkReport,
    /// The number of the order.
    pub number: u8,
    /// What was asked for; see [`WorkKind`].
    pub item: u64,
}

/// Gives orders one at a time and waits for their reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct WorkDesk {
    order: WorkOrder,
    last: u8,
}

impl WorkDesk {
    /// Nothing ordered.
    pub const fn new() -> Self {
        Self { order: WorkOrder { kind: WorkKind::Nothing, number: 0, place: 0, item: 0 }, last: 0 }
    }

    /// The order that stands.
    pub const fn order(&self) -> WorkOrder {
        self.order
    }

    /// Orders something; what stood before is forgotten.
    pub fn give(&mut self, kind: WorkKind, place: u8, item: u64) {
        self.last = self.last.wrapping_add(1).max(1);
        self.order = WorkOrder { kind, number: self.last, place, item };
    }

    /// The report on the order that stands, once; then nothing stands.
    pub fn step(&mut self, done: WorkDone) -> Option<WorkReport> {
        let waited = self.order.kind != WorkKind::Nothing;
        if !waited || done.number != self.order.number || done.report == WorkReport::Nothing {
            return None;
        }
        self.order = WorkOrder { number: self.order.number, ..WorkOrder::default() };
        Some(done.report)
    }
}

/// An item of [`WorkKind::StageParameter`].
pub const fn parameter_item(id: u16, raw: i32) -> u64 {
    ((id as u64) << 32) | raw as u32 as u64
}

/// Identifier and raw value of such an item.
pub const fn parameter_of(item: u64) -> (u16, i32) {
    ((item >> 32) as u16, item as u32 as i32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_report_counts_once_and_only_with_its_number() {
        let mut desk = WorkDesk::new();
        let done = |number| WorkDone { report: WorkReport::Done, number, item: 0 };
        assert_eq!(desk.step(done(0)), None, "nothing was ordered");
        desk.give(WorkKind::SaveParameters, 0, 0);
        assert_eq!(desk.step(done(7)), None);
        assert_eq!(desk.step(WorkDone { report: WorkReport::Nothing, ..done(1) }), None);
        assert_eq!(desk.step(done(1)), Some(WorkReport::Done));
        assert_eq!(desk.step(done(1)), None);
        for _ in 0..600 {
            desk.give(WorkKind::Reset, 0, 0);
            assert_ne!(desk.order().number, 0);
        }
    }

    proptest! {
        #[test]
        fn an_item_carries_any_parameter(id: u16, raw: i32) {
            prop_assert_eq!(parameter_of(parameter_item(id, raw)), (id, raw));
        }
    }
}
