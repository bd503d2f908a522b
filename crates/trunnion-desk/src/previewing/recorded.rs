//! Recorded drives that a preview takes.

use thiserror::Error;
use trunnion::machine::Machine;
use trunnion_rig::language::Complaints;
use trunnion_rig::run::Rig;
use trunnion_rig::scenario::Scenario;
use trunnion_rig::shard::build_hash;

use super::outcome::DriveOutcome;
use super::stopping::Driven;
use super::with_present;
use crate::bench::Bench;
use crate::gateway::log::{LogLine, LogTrouble, lines};
use crate::replaying::{Demands, NoReplay};

/// A log of a machine's bus, and what its wires brought.
#[derive(Debug, Clone)]
pub struct RecordedLog {
    /// What the drive is called.
    pub name: String,
    /// The frames in the order of time, of one bus.
    pub lines: Vec<LogLine>,
    /// What tells the wires, from the controller's start on.
    pub wires: Scenario,
    /// Hash of both.
    pub hash: String,
}

/// Why there is no preview.
#[derive(Debug, Error)]
pub enum NoDrive {
    /// A story cannot be run.
    #[error("a story cannot be run")]
    Story(#[from] Complaints),
    /// A log cannot be driven.
    #[error("drive {name}: {reason}")]
    Log {
        /// Name of the drive.
        name: String,
        /// Why.
        reason: NoReplay,
    },
}

impl RecordedLog {
    /// A log, in the order of time, of one bus.
    pub fn new(name: &str, log: Vec<LogLine>, wires: Scenario) -> Self {
        let frames = log.iter().map(|line| crate::gateway::log::written(&line.logged, "") + "\n");
        let hash = build_hash((frames.collect::<String>() + &wires.text).as_bytes());
        Self { name: name.to_owned(), lines: log, wires, hash }
    }

    /// The drives that are part of the program.
    ///
    /// # Errors
    /// The line of a log that is none.
    pub fn built_in<B: Bench>() -> Result<Vec<Self>, LogTrouble> {
        let one = |drive: &crate::bench::RecordedDrive| {
            let wires = Scenario::parse(&format!("{}.scenario", drive.name), drive.wires);
            let wires = wires.map_err(|complaints| LogTrouble { line: 1, what: complaints.to_string() })?;
            Ok(Self::new(drive.name, lines(drive.log)?, wires))
        };
        B::DRIVES.iter().map(one).collect()
    }
}

/// A drive that can be driven.
pub(super) struct Drive {
    pub name: String,
    pub wires: Scenario,
    pub demands: Demands,
    hash: String,
}

impl Drive {
    pub fn read<B: Bench>(
        rig: &Rig<B::Machine, B::Plant>,
        log: &RecordedLog,
        present: &[(String, String)],
    ) -> Result<Self, NoDrive> {
        let wires = with_present(&log.wires, &log.wires, present)?;
        let demands = Demands::read::<B>(rig, &log.lines, &wires);
        // Another unit, at the address that its story has, may have been recorded.
        let demands = demands.or_else(|reason| {
            let stated = Demands::read::<B>(rig, &log.lines, &log.wires);
            stated.map_err(|_| reason)
        });
        let demands = demands.map_err(|reason| match reason {
            NoReplay::Story(complaints) => NoDrive::Story(complaints),
            reason => NoDrive::Log { name: log.name.clone(), reason },
        })?;
        Ok(Self { name: log.name.clone(), wires: log.wires.clone(), demands, hash: log.hash.clone() })
    }

    pub fn told<B: Bench>(&self, driven: Option<[Driven; 2]>) -> DriveOutcome {
        DriveOutcome {
            name: self.name.clone(),
            wires: self.wires.origin.clone(),
            hash: self.hash.clone(),
            seconds: f64::from(self.demands.periods) * f64::from(B::Machine::PERIOD.micros()) / 1e6,
            given: self.demands.given(),
            of_controller: self.demands.of_controller,
            of_others: self.demands.of_others,
            before_start: self.demands.before,
            driven,
        }
    }
}
