use std::vec::Vec;

use trunnion::declare::{FaultSet, Latch, Reactions};
use trunnion::fault::FaultTable;
use trunnion_can::iso_tp::{Addressing, LinkConfig};

use super::*;
use crate::access::AccessBoot;
use crate::test_machine::{Few, Machine, TICK};
use crate::work::WorkDone;

trunnion::faults! {
    /// Three are enough to see order and gaps.
    pub enum Fault {
        /// One.
        One: spn 1, fmi 1, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 1, "here";
        /// Two.
        Two: spn 1, fmi 2, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 2, "here";
        /// Three.
        Three: spn 1, fmi 3, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 3, "here";
    }
}

const COUNT: usize = Fault::RULES.len();
type Entries = [LogEntry; COUNT];

const fn entry(first: u32, last: u32, count: u8) -> LogEntry {
    LogEntry { first, last, count }
}

/// A controller whose flash is a list of entries.
struct Bench {
    server: Server<Few, 64, 64>,
    machine: Machine,
    keeper: LogKeeper<COUNT>,
    log: FaultLog<COUNT>,
    table: FaultTable<Fault, COUNT>,
    conditions: [bool; COUNT],
    at_rest: bool,
    now: u32,
    copy: Entries,
    flash: Entries,
    writes: Vec<u32>,
    fails: bool,
}

impl Bench {
    /// A start with this in flash.
    fn start(flash: Entries) -> Self {
        let separation = Millis::millis(0);
        let config =
            LinkConfig { addressing: Addressing::Fixed { address: 0x27 }, block: 8, separation, fill: 0xCC };
        Self {
            server: Server::new(config, AccessBoot::default(), TICK).unwrap(),
            machine: Machine::new(),
            keeper: LogKeeper::new(TICK),
            log: FaultLog::new(),
            table: FaultTable::new(TICK),
            conditions: [false; COUNT],
            at_rest: true,
            now: 0,
            copy: flash,
            flash,
            writes: Vec::new(),
            fails: false,
        }
    }

    fn board(&mut self) -> WorkDone {
        let order = self.server.order();
        let mut stored = self.flash.iter().enumerate().filter(|(_, entry)| entry.count > 0);
        let (report, item) = match order.kind {
            WorkKind::ReadFault => match stored.nth(order.place.into()) {
                Some((place, entry)) if order.item == 0 => {
                    (WorkReport::Done, (place as u64) << 8 | u64::from(entry.count))
                }
                Some((_, entry)) => (WorkReport::Done, u64::from(entry.first) << 32 | u64::from(entry.last)),
                None => (WorkReport::Refused, 0),
            },
            WorkKind::FaultTimes => {
                let entry = &mut self.copy[usize::from(order.place)];
                (entry.first, entry.last) = ((order.item >> 32) as u32, order.item as u32);
                (WorkReport::Done, 0)
            }
            WorkKind::FaultCount => {
                self.copy[usize::from(order.place)].count = order.item as u8;
                (WorkReport::Done, 0)
            }
            WorkKind::SaveFaultLog if self.fails => (WorkReport::Failed, 0),
            WorkKind::SaveFaultLog => {
                assert!(self.at_rest, "flash is written at rest only");
                self.flash = self.copy;
                self.writes.push(self.now);
                (WorkReport::Done, 0)
            }
            _ => (WorkReport::Nothing, 0),
        };
        WorkDone { report, number: order.number, item }
    }

    fn run(&mut self, periods: u32) -> &mut Self {
        for _ in 0..periods {
            self.now += 1;
            let done = self.board();
            self.table.step(&self.conditions, true);
            self.log.step(&self.table, self.now);
            self.server.step(&self.machine, done, 0);
            self.keeper.step(&mut self.log, self.at_rest, &mut self.server);
        }
        self
    }

    fn set(&mut self, fault: Fault, present: bool) -> &mut Self {
        self.conditions[usize::from(fault.place())] = present;
        self.run(1)
    }

    fn entries(&self) -> Entries {
        [0, 1, 2].map(|place| self.keeper.entry(&self.log, place))
    }
}

#[test]
fn what_was_stored_is_there_after_a_start_and_times_go_on() {
    let stored = [entry(3, 900, 7), LogEntry::default(), entry(20, 50, 1)];
    let mut bench = Bench::start(stored);
    assert_eq!(bench.run(20).entries(), stored);
    let before = bench.now;
    bench.set(Fault::One, true).set(Fault::Two, true);
    let [one, two, three] = bench.entries();
    assert_eq!((one, three), (entry(3, 901 + before + 1, 8), stored[2]));
    assert_eq!(two, entry(901 + before + 2, 901 + before + 2, 1));
}

#[test]
fn a_fault_that_comes_while_the_stored_log_is_read_is_counted_with_it() {
    let mut bench = Bench::start([entry(3, 900, 7), LogEntry::default(), LogEntry::default()]);
    bench.set(Fault::One, true);
    assert_eq!(bench.run(20).entries()[0], entry(3, 902, 8));
}

#[test]
fn a_new_fault_is_written_once_the_machine_rests() {
    let mut bench = Bench::start(Entries::default());
    bench.run(300);
    bench.at_rest = false;
    bench.set(Fault::Two, true).run(1_000);
    assert!(bench.writes.is_empty());
    bench.at_rest = true;
    bench.run(20);
    assert_eq!(bench.flash, [LogEntry::default(), entry(301, 301, 1), LogEntry::default()]);
    assert_eq!((bench.entries(), bench.writes.len()), (bench.flash, 1));
    let after = Bench::start(bench.flash).run(20).entries();
    assert_eq!(after, bench.flash, "after a restart");
}

#[test]
fn a_fault_that_flickers_is_written_at_most_once_in_ten_minutes() {
    let mut bench = Bench::start(Entries::default());
    for _ in 0..12_000 {
        bench.set(Fault::One, true).run(9).set(Fault::One, false).run(9);
    }
    // New at once, then again after ten minutes each: 40 minutes have passed.
    assert_eq!(bench.writes.len(), 4, "{:?}", bench.writes);
    assert!(bench.writes.windows(2).all(|pair| pair[1] - pair[0] >= 60_000));
    assert_eq!(bench.entries()[0].count, 255);
}

#[test]
fn new_faults_are_written_at_most_every_two_seconds() {
    let mut bench = Bench::start(Entries::default());
    bench
        .run(10)
        .set(Fault::One, true)
        .run(30)
        .set(Fault::Two, true)
        .run(30)
        .set(Fault::Three, true)
        .run(400);
    assert_eq!(bench.writes.len(), 2, "{:?}", bench.writes);
    assert!(bench.writes[1] - bench.writes[0] >= 200);
    assert_eq!(bench.flash, bench.entries());
    assert!(bench.flash.iter().all(|entry| entry.count == 1));
}

#[test]
fn what_is_cleared_goes_from_flash_too_even_in_the_midst_of_a_write() {
    for periods in 0..30 {
        let mut bench = Bench::start([entry(1, 2, 3), entry(4, 5, 6), LogEntry::default()]);
        bench.run(250).set(Fault::Three, true).run(periods);
        bench.keeper.clear(&mut bench.log, Fault::Two.place());
        bench.keeper.clear(&mut bench.log, Fault::Three.place());
        bench.run(500);
        assert_eq!(bench.flash, [entry(1, 2, 3), LogEntry::default(), LogEntry::default()], "{periods}");
        assert_eq!(bench.entries(), bench.flash, "active, but not counted again");
        assert_eq!(bench.server.order().kind, WorkKind::Nothing);
    }
}

#[test]
fn a_flash_that_fails_loses_nothing_and_is_not_worn_out_by_trying() {
    let mut bench = Bench::start(Entries::default());
    bench.fails = true;
    bench.run(10).set(Fault::One, true).run(5_000);
    assert_eq!((bench.flash, bench.entries()[0].count), (Entries::default(), 1));
    bench.fails = false;
    bench.run(60_000);
    assert_eq!((bench.flash, bench.writes.len()), (bench.entries(), 1));
}

#[test]
fn a_request_that_needs_the_board_displaces_the_log_and_nothing_is_lost() {
    for periods in 0..30 {
        let mut bench = Bench::start(Entries::default());
        bench.run(250).set(Fault::One, true).set(Fault::Three, true).run(periods);
        // As a request would: what stood is forgotten.
        bench.server.desk.give(WorkKind::DropStaged, 0, 0);
        let number = bench.server.order().number;
        for _ in 0..3 {
            bench.server.step(&bench.machine, WorkDone::default(), 0);
            bench.keeper.step(&mut bench.log, true, &mut bench.server);
            assert_eq!(bench.server.order().number, number, "the guest waits");
        }
        let done = WorkDone { report: WorkReport::Done, number, item: 0 };
        bench.server.step(&bench.machine, done, 0);
        bench.keeper.step(&mut bench.log, true, &mut bench.server);
        bench.run(300);
        assert_eq!(bench.flash, bench.entries(), "{periods}");
        assert!(bench.flash[0].count == 1 && bench.flash[2].count == 1);
    }
}
