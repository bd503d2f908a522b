//! A small machine and its board, for tests.

use std::vec::Vec;

use trunnion::declare::{Access, Latch, Reactions, Refusal};
use trunnion::fault::LogEntry;
use trunnion::quantity::{Period, Permille};
use trunnion_can::trouble_code::{Lamp, Lamps};

use crate::level::{Level, Standing};
use crate::routine::RoutineReport;
use crate::served::{Identification, Learnt, Motion, Needs, Progress, Reading, Served};
use crate::work::{WorkDone, WorkKind, WorkOrder, WorkReport, parameter_of};

trunnion::parameters! {
    /// Three of different access.
    pub struct Few, pub enum FewIndex {
        /// Speed.
        0x0101 speed: Permille = 500, in 0..=1000, Access::Tune;
        /// Must not be above the speed.
        0x0102 creep: Permille = 100, in 0..=1000, Access::Tune;
        /// Stop.
        0x0103 stop_time: u16 = 1000, in 100..=2000, Access::Safety;
        /// Teeth.
        0x0104 teeth: u8 = 60, in 1..=200, Access::Constant;
    }
}

trunnion::faults! {
    /// Two.
    pub enum Fault {
        /// One.
        One: spn 520_192, fmi 4, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 21, "here";
        /// Two.
        Two: spn 2661, fmi 9, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 22, "there";
    }
}

pub const TICK: Period = Period::from_micros(10_000).unwrap();
pub const COIL_SWEEP: u16 = 0x0301;
pub const MEASUREMENT: u16 = 0x0302;
pub const HORN: u16 = 0x0401;

#[derive(Debug, Clone)]
pub struct Machine {
    pub parameters: Few,
    pub standing: Standing,
    /// The routine that was started last, and how it is doing.
    pub running: Option<u16>,
    pub progress: Progress,
    pub learnt: Learnt,
    /// Places of the active faults.
    pub active: Vec<u16>,
    pub maker: &'static [u8],
}

impl Served for Machine {
    type Parameters = Few;
    type Faults = Fault;
    const ROUTINES: &'static [Motion] = &[
        Motion { id: COIL_SWEEP, level: Level::Tune, needs: Needs::Permitted },
        Motion { id: MEASUREMENT, level: Level::Tune, needs: Needs::Withheld },
    ];
    const CONTROLS: &'static [Motion] = &[Motion { id: HORN, level: Level::Tune, needs: Needs::Quiet }];
    const BLACK_BOX: bool = true;

    fn parameters(&self) -> &Few {
        &self.parameters
    }

    fn check(&self, set: &Few) -> Result<(), Refusal> {
        if set.creep() > set.speed() {
            return Err(Refusal::Contradiction { id: 0x0102, value: 0, rule: "at most the speed" });
        }
        Ok(())
    }

    fn signal(&self, identifier: u16) -> Option<Reading> {
        (identifier == 0x9000).then_some(Reading { bytes: 2, raw: -2 })
    }

    fn identification(&self, what: Identification) -> &[u8] {
        match what {
            Identification::ProgramVersion => b"0.1.0",
            Identification::Maker => self.maker,
            _ => b"?",
        }
    }

    fn is_fault_active(&self, place: u16) -> bool {
        self.active.contains(&place)
    }

    fn active_faults(&self) -> [u32; 8] {
        let mut words = [0; 8];
        for place in &self.active {
            words[usize::from(place / 32)] |= 1 << (place % 32);
        }
        words
    }

    fn lamps(&self) -> Lamps {
        let lamp = if self.active.is_empty() { Lamp::Off } else { Lamp::On };
        Lamps { amber_warning: lamp, ..Lamps::OFF }
    }

    fn fault_entry(&self, place: u16) -> LogEntry {
        LogEntry { first: 7, last: 9, count: place as u8 * 2 }
    }

    fn standing(&self) -> Standing {
        self.standing
    }

    fn routine(&self, id: u16) -> RoutineReport {
        let progress = if self.running == Some(id) { self.progress } else { Progress::Idle };
        RoutineReport { progress, found: [0x0102, 0x0304, -1], ..RoutineReport::default() }
    }

    fn learnt(&self, id: u16) -> Learnt {
        if id == MEASUREMENT { self.learnt } else { [None; 3] }
    }
}

/// The board: flash and key, some periods late.
#[derive(Debug, Clone, Default)]
pub struct Board {
    pub saved: Vec<(u16, i32)>,
    pub staged: Vec<(u16, i32)>,
    pub attempts: Vec<u64>,
    pub words: [u64; 4],
    pub resets: u32,
    pub late: u32,
    pub delay: u32,
    pub flash_fails: bool,
    pub no_key: bool,
}

pub const KEY: [u64; 2] = [0x1234_5678_9ABC_DEF0, 0x0FED_CBA9_8765_4321];

impl Board {
    pub fn step(&mut self, order: WorkOrder) -> WorkDone {
        if order.kind == WorkKind::Nothing || self.late < self.delay {
            self.late += u32::from(order.kind != WorkKind::Nothing);
            return WorkDone::default();
        }
        self.late = 0;
        let failed = self.flash_fails;
        let saved = |ok: bool| if ok { WorkReport::Done } else { WorkReport::Failed };
        let report = match order.kind {
            WorkKind::Nothing => WorkReport::Nothing,
            WorkKind::StageParameter => {
                self.staged.push(parameter_of(order.item));
                WorkReport::Done
            }
            WorkKind::SaveParameters => {
                if !failed {
                    self.saved = self.staged.clone();
                }
                saved(!failed)
            }
            WorkKind::DropStaged => {
                self.staged.clear();
                WorkReport::Done
            }
            WorkKind::SaveAttempts => {
                self.attempts.push(order.item);
                saved(!failed)
            }
            WorkKind::CodeWord => {
                self.words[usize::from(order.place)] = order.item;
                WorkReport::Done
            }
            WorkKind::CheckCode if self.no_key => WorkReport::Failed,
            WorkKind::CheckCode => {
                let level = u64::from(order.place);
                let right = [self.words[0] ^ KEY[0] ^ level, self.words[1] ^ KEY[1]] == self.words[2..];
                if right { WorkReport::Done } else { WorkReport::Refused }
            }
            WorkKind::ReadFault => WorkReport::Refused,
            WorkKind::FaultTimes | WorkKind::FaultCount | WorkKind::SaveFaultLog => WorkReport::Done,
            WorkKind::Reset => {
                self.resets += 1;
                WorkReport::Nothing
            }
        };
        WorkDone { report, number: order.number, item: 0 }
    }
}

impl Machine {
    /// At rest, in neutral, permitted, with the second fault active.
    pub fn new() -> Self {
        Self {
            parameters: Few::default(),
            standing: Standing { at_rest: true, neutral: true, permitted: true, withheld: false },
            running: None,
            progress: Progress::Running,
            learnt: [None; 3],
            active: std::vec![1],
            maker: b"Works",
        }
    }
}
