//! What the loader shows to a tester.

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::fault::{FaultLog, FaultTable, LogEntry};
use trunnion_can::trouble_code::{Lamp, Lamps};
use trunnion_service::level::Standing;
use trunnion_service::log_keeper::LogKeeper;
use trunnion_service::routine::RoutineReport;
use trunnion_service::served::{Identification, Learnt, Motion, Reading, Served, signal};

use crate::control::Control;
use crate::control::motion::{CONTROLS, ROUTINES, ServiceMotion};
use crate::declaration::faults::{CUT, STOP_ALL};
use crate::declaration::{Diagnostics, Fault, Inputs, Outputs, Parameters};

/// The machine as a tester sees it.
pub(super) struct Shown<'a> {
    pub parameters: &'a Parameters,
    pub diagnostics: &'a Diagnostics,
    pub inputs: &'a Inputs,
    pub outputs: &'a Outputs,
    pub faults: &'a FaultTable<Fault, { Fault::COUNT }>,
    pub log: &'a FaultLog<{ Fault::COUNT }>,
    pub keeper: &'a LogKeeper<{ Fault::COUNT }>,
    pub motion: &'a ServiceMotion,
    pub serial: &'a [u8],
    pub standing: Standing,
}

impl Served for Shown<'_> {
    type Parameters = Parameters;
    type Faults = Fault;
    const ROUTINES: &'static [Motion] = &ROUTINES;
    const CONTROLS: &'static [Motion] = &CONTROLS;
    const BLACK_BOX: bool = true;

    fn parameters(&self) -> &Parameters {
        self.parameters
    }

    fn check(&self, parameters: &Parameters) -> Result<(), Refusal> {
        Control::check(parameters)
    }

    fn signal(&self, identifier: u16) -> Option<Reading> {
        signal(self.diagnostics, self.inputs, self.outputs, identifier)
    }

    fn identification(&self, what: Identification) -> &[u8] {
        match what {
            Identification::ProgramNumber => b"Q36-S-100",
            Identification::ProgramVersion => env!("CARGO_PKG_VERSION").as_bytes(),
            Identification::SerialNumber => self.serial,
            Identification::Maker => b"Tarnbrook",
            Identification::MachineName => b"Q36",
        }
    }

    fn is_fault_active(&self, place: u16) -> bool {
        self.faults.is_place_active(place)
    }

    fn active_faults(&self) -> [u32; 8] {
        let mut words = [0; 8];
        for (word, active) in words.iter_mut().zip(self.faults.active_words()) {
            *word = *active;
        }
        words
    }

    fn lamps(&self) -> Lamps {
        let lit = |on| if on { Lamp::On } else { Lamp::Off };
        Lamps {
            red_stop: lit(self.faults.reactions().has(CUT.union(STOP_ALL))),
            amber_warning: lit(self.faults.count_active() > 0),
            ..Lamps::OFF
        }
    }

    fn fault_entry(&self, place: u16) -> LogEntry {
        self.keeper.entry(self.log, place)
    }

    fn standing(&self) -> Standing {
        self.standing
    }

    fn routine(&self, id: u16) -> RoutineReport {
        self.motion.report(id)
    }

    fn learnt(&self, id: u16) -> Learnt {
        self.motion.learnt(id)
    }
}

/// A number in decimal digits.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub(super) struct Decimal {
    digits: [u8; 10],
    first: u8,
}

impl Decimal {
    pub fn of(number: u32) -> Self {
        let mut digits = [b'0'; 10];
        let mut first = digits.len();
        let mut rest = number;
        for (place, digit) in digits.iter_mut().enumerate().rev() {
            *digit = b'0' + (rest % 10) as u8;
            if rest > 0 || first == 10 {
                first = place;
            }
            rest /= 10;
        }
        Self { digits, first: first as u8 }
    }

    pub fn bytes(&self) -> &[u8] {
        self.digits.get(usize::from(self.first)..).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_serial_number_is_written_as_people_write_it() {
        let written: [(u32, &[u8]); 4] = [(0, b"0"), (10, b"10"), (4711, b"4711"), (u32::MAX, b"4294967295")];
        for (number, digits) in written {
            assert_eq!(Decimal::of(number).bytes(), digits);
        }
    }
}
