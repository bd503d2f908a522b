//! When each fault was set, and how often.

use trunnion::declare::FaultSet;
use trunnion::fault::{FaultLog, FaultTable, LogEntry};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::TICK;
use crate::subject::fault::table::{Block as Table, Fault};

/// The log of sixteen faults.
pub struct Block(FaultLog<{ Fault::COUNT }>);

/// A table after its step, and what it was given; not what is weighed here.
#[derive(Clone, Copy)]
pub struct After {
    table: FaultTable<Fault, { Fault::COUNT }>,
    conditions: <Table as Subject>::Input,
    now: u32,
}

impl Subject for Block {
    const NAME: &'static str = "fault/log";
    type Input = After;
    /// The histories of the first and of the last fault that can come back at once.
    type Output = (LogEntry, LogEntry);

    fn new() -> Self {
        Self(FaultLog::new())
    }

    fn input(random: &mut Random, previous: Option<&After>) -> After {
        let mut after = previous.copied().unwrap_or(After {
            table: FaultTable::new(TICK),
            conditions: Table::input(random, None),
            now: random.bits(),
        });
        after.conditions = Table::input(random, Some(&after.conditions));
        after.table.step(&after.conditions.0, after.conditions.1);
        after.now = after.now.wrapping_add(1);
        after
    }

    fn step(&mut self, after: &After) -> Self::Output {
        self.0.step(&after.table, after.now);
        (self.0.entry(Fault::SeatContact.place()), self.0.entry(Fault::CoilBoomShort.place()))
    }

    /// The time, then a word for each fault: 1 while it is active.
    fn input_words(after: &After, into: &mut Words) -> usize {
        into[0] = after.now.cast_signed();
        for (word, fault) in into.iter_mut().skip(1).zip(Fault::ALL) {
            *word = after.table.is_active(*fault).into();
        }
        Fault::COUNT + 1
    }

    fn output_words((one, other): &Self::Output, into: &mut Words) -> usize {
        for (entry, words) in [one, other].into_iter().zip(into.chunks_exact_mut(3)) {
            words.copy_from_slice(&[entry.first.cast_signed(), entry.last.cast_signed(), entry.count.into()]);
        }
        6
    }
}
