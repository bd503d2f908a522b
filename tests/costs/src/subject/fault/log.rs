//! When each fault was set, and how often.

use trunnion::fault::{FaultLog, FaultTable};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::TICK;
use crate::subject::fault::table::{Conditions, Fault};

/// The log of the sixteen faults of `fault/table`, and that table with it: take its cost off.
pub struct Block {
    table: FaultTable<Fault, { Fault::COUNT }>,
    log: FaultLog<{ Fault::COUNT }>,
    now: u32,
}

impl Subject for Block {
    const NAME: &'static str = "fault/log";
    type Input = Conditions;
    type Output = (u32, u32, u8);

    fn new() -> Self {
        Self { table: FaultTable::new(TICK), log: FaultLog::new(), now: 0 }
    }

    fn input(random: &mut Random, previous: Option<&Conditions>) -> Conditions {
        Conditions::next(random, previous)
    }

    fn step(&mut self, input: &Conditions) -> (u32, u32, u8) {
        self.now = self.now.wrapping_add(1);
        self.table.step(&input.conditions, input.all_neutral);
        self.log.step(&self.table, self.now);
        let entry = self.log.entry(3);
        (entry.first, entry.last, entry.count)
    }
}
