use std::marker::PhantomData;

use trunnion::declare::{FaultSet, ParameterSet};
use trunnion::fault::LogEntry;
use trunnion::machine::{Boot, ResetCause};
use trunnion_service::access_code::{KEY_BYTES, is_right};
use trunnion_service::work::{WorkDone, WorkKind, WorkOrder, WorkReport, parameter_of};
use trunnion_store::counter::{self, Counted};
use trunnion_store::fault_log;
use trunnion_store::model_flash::{ModelFlash, UNIT};
use trunnion_store::parameters::{self, Schema, keep};
use trunnion_store::store::{Key, Store};

/// Erase units of the simulated flash.
const UNITS: usize = 16;
/// Periods that writing a parameter set takes.
const SAVING: u32 = 4;
/// Periods that other work takes.
const SHORT_WORK: u32 = 1;
/// As the sets of this program are stored.
const SCHEMA: Schema = Schema { version: 1, migrate: keep };

type Flash = Store<ModelFlash, 1000>;

/// Does a controller's slow work: keeps parameters, fault log and counters in a simulated flash, and compares access
/// codes.
///
/// The flash comes into being with the first order: most runs never need it.
#[derive(Debug, Clone)]
pub struct Worker<P, F> {
    flash: Option<Box<Flash>>,
    key: Option<[u8; KEY_BYTES]>,
    /// What is said of access codes instead of comparing them.
    believed: Option<bool>,
    serial: u32,
    noise: u64,
    /// In flash.
    stored: P,
    /// What the controller has told since, to be stored.
    copy: P,
    /// The fault log by place: in flash, and as the controller has told it since.
    log: Vec<LogEntry>,
    log_copy: Vec<LogEntry>,
    faults: PhantomData<F>,
    words: [u64; 4],
    /// The order under way and the periods that it still takes.
    under_way: Option<(WorkOrder, u32)>,
    last: u8,
    saved: bool,
    restart: bool,
}

impl<P: ParameterSet, F: FaultSet> Worker<P, F> {
    /// A board of this serial number that was started once. A board without a key opens no level.
    pub fn new(seed: u64, serial: u32, key: Option<[u8; KEY_BYTES]>) -> Self {
        Self {
            flash: None,
            key,
            believed: None,
            serial,
            noise: seed | 1,
            stored: P::default(),
            copy: P::default(),
            log: Vec::new(),
            log_copy: vec![LogEntry::default(); F::RULES.len()],
            faults: PhantomData,
            words: [0; 4],
            under_way: None,
            last: 0,
            saved: false,
            restart: false,
        }
    }

    /// From the next start on the controller is told this serial number.
    pub const fn set_serial(&mut self, serial: u32) {
        self.serial = serial;
    }

    /// Says of every access code that it is right, or wrong, without comparing; `None` compares.
    pub const fn believe_codes(&mut self, right: Option<bool>) {
        self.believed = right;
    }

    /// These are in effect, and in flash.
    pub fn adopt(&mut self, parameters: &P) {
        self.stored = *parameters;
        self.copy = *parameters;
        if let Some(flash) = &mut self.flash {
            // What the desk writes past the controller; the flash was good enough for the controller.
            let _ = parameters::save(flash, SCHEMA, parameters);
        }
    }

    /// [`adopt`](Self::adopt) makes it what it would be had it had that set from the start, and will after this order, too: no set
    /// is staged, lies in flash or is about to.
    pub fn is_alike_after(&self, order: WorkKind) -> bool {
        let of_no_set = |kind: WorkKind| match kind {
            WorkKind::Nothing
            | WorkKind::CodeWord
            | WorkKind::CheckCode
            | WorkKind::ReadFault
            | WorkKind::FaultTimes
            | WorkKind::FaultCount => true,
            WorkKind::StageParameter
            | WorkKind::SaveParameters
            | WorkKind::DropStaged
            | WorkKind::SaveAttempts
            | WorkKind::Reset
            | WorkKind::SaveFaultLog => false,
        };
        let under_way = self.under_way.map_or(WorkKind::Nothing, |(order, _)| order.kind);
        self.flash.is_none() && !self.saved && !self.restart && of_no_set(order) && of_no_set(under_way)
    }

    /// Bits that nobody can guess on a board, and anybody who knows the seed can here.
    pub const fn entropy(&mut self) -> u32 {
        self.noise ^= self.noise << 13;
        self.noise ^= self.noise >> 7;
        self.noise ^= self.noise << 17;
        (self.noise >> 32) as u32
    }

    /// One period with the order that stands; the report comes once, when the work is done.
    pub fn step(&mut self, order: WorkOrder) -> WorkDone {
        if self.under_way.is_none() && order.kind != WorkKind::Nothing && order.number != self.last {
            self.last = order.number;
            let saves = matches!(order.kind, WorkKind::SaveParameters | WorkKind::SaveFaultLog);
            let periods = if saves { SAVING } else { SHORT_WORK };
            self.under_way = Some((order, periods));
        }
        match &mut self.under_way {
            Some((_, left @ 1..)) => {
                *left -= 1;
                WorkDone::default()
            }
            Some((order, _)) => {
                let order = *order;
                self.under_way = None;
                let (report, item) = self.work(order);
                WorkDone { report, number: order.number, item }
            }
            None => WorkDone::default(),
        }
    }

    fn work(&mut self, order: WorkOrder) -> (WorkReport, u64) {
        match order.kind {
            WorkKind::ReadFault => self.stored_fault(order.place, order.item),
            _ => (self.plain_work(order), 0),
        }
    }

    /// Place and count, or the times, of the entry with this number.
    fn stored_fault(&self, number: u8, what: u64) -> (WorkReport, u64) {
        let mut entries = (0_u64..).zip(&self.log).filter(|(_, entry)| entry.count > 0);
        match entries.nth(number.into()) {
            Some((place, entry)) if what == 0 => (WorkReport::Done, place << 8 | u64::from(entry.count)),
            Some((_, entry)) => (WorkReport::Done, u64::from(entry.first) << 32 | u64::from(entry.last)),
            None => (WorkReport::Refused, 0),
        }
    }

    fn save_log(&mut self) -> WorkReport {
        let copy = self.log_copy.clone();
        let entry = |place: u16| copy.get(usize::from(place)).copied().unwrap_or_default();
        report(self.flash().is_some_and(|flash| fault_log::save::<F, _, 1000>(flash, entry).is_ok()))
    }

    fn plain_work(&mut self, order: WorkOrder) -> WorkReport {
        match order.kind {
            WorkKind::Nothing | WorkKind::ReadFault => WorkReport::Nothing,
            WorkKind::StageParameter => {
                let (id, raw) = parameter_of(order.item);
                // A constant cannot be staged: it is what it is.
                let staged = self.copy.stage(id, raw).is_ok() || self.copy.read(id) == Some(raw);
                if staged { WorkReport::Done } else { WorkReport::Failed }
            }
            WorkKind::DropStaged => {
                self.copy = self.stored;
                WorkReport::Done
            }
            WorkKind::SaveParameters => {
                let copy = self.copy;
                let done = self.flash().is_some_and(|flash| parameters::save(flash, SCHEMA, &copy).is_ok());
                if done {
                    self.stored = copy;
                    self.saved = true;
                }
                report(done)
            }
            WorkKind::SaveAttempts => {
                let attempts = u32::try_from(order.item).unwrap_or(u32::MAX);
                report(
                    self.flash()
                        .is_some_and(|flash| counter::save(flash, Key::AccessAttempts, attempts).is_ok()),
                )
            }
            WorkKind::CodeWord => match self.words.get_mut(usize::from(order.place)) {
                Some(word) => {
                    *word = order.item;
                    WorkReport::Done
                }
                None => WorkReport::Failed,
            },
            WorkKind::CheckCode => self.check_code(order.place),
            WorkKind::FaultTimes | WorkKind::FaultCount => {
                let Some(entry) = self.log_copy.get_mut(usize::from(order.place)) else {
                    return WorkReport::Failed;
                };
                if order.kind == WorkKind::FaultCount {
                    entry.count = order.item as u8;
                } else {
                    (entry.first, entry.last) = ((order.item >> 32) as u32, order.item as u32);
                }
                WorkReport::Done
            }
            WorkKind::SaveFaultLog => self.save_log(),
            WorkKind::Reset => {
                self.restart = true;
                WorkReport::Nothing
            }
        }
    }

    fn check_code(&mut self, level: u8) -> WorkReport {
        let [c0, c1, k0, k1] = std::mem::take(&mut self.words);
        let bytes = |high: u64, low: u64| ((u128::from(high) << 64) | u128::from(low)).to_be_bytes();
        match &self.key {
            _ if self.believed == Some(true) => WorkReport::Done,
            _ if self.believed == Some(false) => WorkReport::Refused,
            None => WorkReport::Failed,
            Some(key) if is_right(key, &bytes(c0, c1), level, &bytes(k0, k1)) => WorkReport::Done,
            Some(_) => WorkReport::Refused,
        }
    }

    /// The set that was stored since the last call: the controller puts it into effect in the next period.
    pub fn take_saved(&mut self) -> Option<P> {
        std::mem::take(&mut self.saved).then_some(self.stored)
    }

    /// What the controller is told when it starts anew, if it ordered that since the last call.
    pub fn take_restart(&mut self) -> Option<Boot<P>> {
        std::mem::take(&mut self.restart).then(|| self.boot(ResetCause::PowerUp))
    }

    /// Starts the controller: what is in flash, with one more start counted.
    pub fn boot(&mut self, cause: ResetCause) -> Boot<P> {
        self.under_way = None;
        self.last = 0;
        let (entropy, serial) = (self.entropy(), self.serial);
        let Some(flash) = self.flash() else {
            return Boot { damaged: true, cause, serial, entropy, wrong_codes: u32::MAX, ..Boot::default() };
        };
        let loaded = parameters::load::<P, _, 1000>(flash, SCHEMA);
        let starts = number(counter::load(flash, Key::Starts), 1).saturating_add(1);
        // Should it fail, challenges still differ by the noise.
        let _ = counter::save(flash, Key::Starts, starts);
        let wrong_codes = number(counter::load(flash, Key::AccessAttempts), 0);
        let mut log = vec![LogEntry::default(); F::RULES.len()];
        let found = fault_log::load::<F, _, 1000>(flash, |place, entry| {
            if let Some(kept) = log.get_mut(usize::from(place)) {
                *kept = entry;
            }
        });
        self.stored = loaded.parameters;
        self.copy = loaded.parameters;
        self.log_copy.clone_from(&log);
        self.log = log;
        // A log that cannot be read is lost, and said so by the fault of the parameters: the flash is the same.
        let damaged = loaded.is_suspect() || found.damaged;
        Boot { parameters: loaded.parameters, damaged, cause, serial, entropy, starts, wrong_codes }
    }

    /// The set that was last stored is written anew over whatever lies in the flash.
    pub fn write_anew(&mut self) {
        let stored = self.stored;
        if let Some(flash) = &mut self.flash {
            // A flash that takes nothing any more says so when it is read.
            let _ = parameters::save(flash, SCHEMA, &stored);
        }
    }

    /// What lies in the flash, to be damaged.
    pub fn spoil(&mut self, mut bytes: impl FnMut(&mut [u8])) {
        if self.flash().is_some()
            && let Some(flash) = self.flash.take()
        {
            let mut model = flash.into_flash();
            bytes(&mut model.bytes);
            self.flash = Store::new(model, 0..(UNITS * UNIT) as u32).ok().map(Box::new);
        }
    }

    fn flash(&mut self) -> Option<&mut Flash> {
        if self.flash.is_none() {
            let model = ModelFlash::new(UNITS, self.noise);
            let mut flash = Flash::new(model, 0..(UNITS * UNIT) as u32).ok()?;
            parameters::save(&mut flash, SCHEMA, &self.stored).ok()?;
            counter::save(&mut flash, Key::Starts, 1).ok()?;
            self.flash = Some(Box::new(flash));
        }
        self.flash.as_deref_mut()
    }
}

const fn report(done: bool) -> WorkReport {
    if done { WorkReport::Done } else { WorkReport::Failed }
}

const fn number(counted: Counted, never: u32) -> u32 {
    match counted {
        Counted::Never => never,
        Counted::Value(value) => value,
        Counted::Damaged => u32::MAX,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::declare::{Access, Latch, Reactions};
    use trunnion_service::access_code::access_code;
    use trunnion_service::work::parameter_item;

    trunnion::parameters! {
        /// Two.
        pub struct Few, pub enum FewIndex {
            /// One.
            0x0101 speed: u16 = 500, in 0..=1000, Access::Tune;
            /// Other.
            0x0102 creep: u16 = 100, in 0..=1000, Access::Tune;
        }
    }

    trunnion::faults! {
        /// Two.
        pub enum Fault {
            /// One.
            One: spn 1, fmi 1, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 1, "here";
            /// Other.
            Other: spn 1, fmi 2, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 2, "here";
        }
    }

    const KEY: [u8; KEY_BYTES] = [0x5A; KEY_BYTES];

    fn order(
        worker: &mut Worker<Few, Fault>,
        number: u8,
        kind: WorkKind,
        place: u8,
        item: u64,
    ) -> WorkReport {
        let order = WorkOrder { kind, number, place, item };
        for _ in 0..10 {
            let done = worker.step(order);
            if done.report != WorkReport::Nothing {
                assert_eq!(done.number, number);
                assert_eq!(worker.step(order), WorkDone::default(), "an order is done once");
                return done.report;
            }
        }
        WorkReport::Nothing
    }

    #[test]
    fn what_was_saved_is_there_after_a_restart_and_what_was_dropped_is_not() {
        let mut worker = Worker::<Few, Fault>::new(1, 9, Some(KEY));
        let stage = |id, raw| (WorkKind::StageParameter, 0, parameter_item(id, raw));
        let orders = [
            stage(0x0101, 700),
            (WorkKind::SaveParameters, 0, 0),
            stage(0x0102, 7),
            (WorkKind::DropStaged, 0, 0),
            (WorkKind::SaveAttempts, 0, 3),
        ];
        for (number, (kind, place, item)) in (1..).zip(orders) {
            assert_eq!(order(&mut worker, number, kind, place, item), WorkReport::Done, "{kind:?}");
        }
        assert_eq!(
            order(&mut worker, 9, WorkKind::StageParameter, 0, parameter_item(0x0999, 1)),
            WorkReport::Failed
        );
        assert_eq!(worker.take_saved().map(|set| set.speed()), Some(700));
        assert!(worker.take_saved().is_none() && worker.take_restart().is_none());
        assert_eq!(order(&mut worker, 10, WorkKind::Reset, 0, 0), WorkReport::Nothing);
        let boot = worker.take_restart().unwrap();
        assert_eq!((boot.parameters.speed(), boot.parameters.creep(), boot.wrong_codes), (700, 100, 3));
        assert_eq!((boot.starts, boot.serial, boot.damaged), (2, 9, false));
    }

    #[test]
    fn a_code_is_right_for_its_challenge_level_and_key_only() {
        let challenge = *b"0123456789abcdef";
        let code = access_code(&KEY, &challenge, 1).unwrap();
        let mut number = 0;
        let mut check = |worker: &mut Worker<Few, Fault>, level: u8, code: [u8; 16]| {
            let words = [&challenge[..8], &challenge[8..], &code[..8], &code[8..]];
            for (place, word) in (0..).zip(words) {
                number += 1;
                let word = u64::from_be_bytes(word.try_into().unwrap());
                assert_eq!(order(worker, number, WorkKind::CodeWord, place, word), WorkReport::Done);
            }
            number += 1;
            order(worker, number, WorkKind::CheckCode, level, 0)
        };
        let mut worker = Worker::<Few, Fault>::new(1, 9, Some(KEY));
        assert_eq!(check(&mut worker, 1, code), WorkReport::Done);
        assert_eq!(check(&mut worker, 2, code), WorkReport::Refused);
        let mut wrong = code;
        wrong[15] ^= 1;
        assert_eq!(check(&mut worker, 1, wrong), WorkReport::Refused);
        assert_eq!(check(&mut Worker::new(1, 9, None), 1, code), WorkReport::Failed);
    }

    #[test]
    fn a_code_that_is_believed_is_not_compared() {
        let mut worker = Worker::<Few, Fault>::new(1, 9, Some(KEY));
        for (number, believed, said) in [
            (1, Some(true), WorkReport::Done),
            (2, Some(false), WorkReport::Refused),
            (3, None, WorkReport::Refused),
        ] {
            worker.believe_codes(believed);
            assert_eq!(order(&mut worker, number, WorkKind::CheckCode, 1, 0), said, "{believed:?}");
        }
    }

    #[test]
    fn damage_in_flash_is_told_at_the_next_start() {
        let mut worker = Worker::<Few, Fault>::new(1, 9, None);
        worker.spoil(|bytes| bytes.iter_mut().for_each(|byte| *byte &= 0x5A));
        let boot = worker.boot(ResetCause::BrownOut);
        assert!(boot.damaged);
        assert_eq!(boot.parameters, Few::default());
    }

    /// Tells the worker a log and has it written.
    fn write_log(worker: &mut Worker<Few, Fault>, number: u8, entries: [LogEntry; 2]) -> WorkReport {
        let mut report = WorkReport::Nothing;
        for (place, entry) in (0_u8..).zip(entries) {
            let times = u64::from(entry.first) << 32 | u64::from(entry.last);
            let told = order(worker, number + 3 * place, WorkKind::FaultTimes, place, times);
            assert_eq!(told, WorkReport::Done);
            order(worker, number + 3 * place + 1, WorkKind::FaultCount, place, entry.count.into());
            if place == 1 {
                report = order(worker, number + 7, WorkKind::SaveFaultLog, 0, 0);
            }
        }
        report
    }

    /// What the controller reads after a start.
    fn read_log(worker: &Worker<Few, Fault>) -> [LogEntry; 2] {
        let mut entries = [LogEntry::default(); 2];
        for number in 0.. {
            let (WorkReport::Done, which) = worker.stored_fault(number, 0) else { break };
            let (_, times) = worker.stored_fault(number, 1);
            entries[(which >> 8) as usize] =
                LogEntry { first: (times >> 32) as u32, last: times as u32, count: which as u8 };
        }
        entries
    }

    #[test]
    fn the_fault_log_is_read_after_a_restart_and_a_cleared_entry_is_gone() {
        let mut worker = Worker::<Few, Fault>::new(1, 9, None);
        assert_eq!(order(&mut worker, 1, WorkKind::ReadFault, 0, 0), WorkReport::Refused);
        assert!(worker.flash.is_none(), "a board that never wrote has nothing to look into");
        let log = [LogEntry::default(), LogEntry { first: 7, last: u32::MAX, count: 255 }];
        assert_eq!(write_log(&mut worker, 10, log), WorkReport::Done);
        worker.boot(ResetCause::PowerUp);
        assert_eq!(read_log(&worker), log);
        assert_eq!(write_log(&mut worker, 20, [LogEntry::default(); 2]), WorkReport::Done);
        worker.boot(ResetCause::PowerUp);
        assert_eq!(read_log(&worker), [LogEntry::default(); 2]);
        assert_eq!(order(&mut worker, 30, WorkKind::FaultTimes, 2, 0), WorkReport::Failed, "no such fault");
    }

    #[test]
    fn a_power_cut_at_any_operation_of_a_write_leaves_the_log_old_or_new_and_the_parameters_alone() {
        let entry = |count| LogEntry { first: 10, last: 10 * u32::from(count), count };
        let (old, new) = ([entry(1), entry(2)], [entry(3), LogEntry::default()]);
        let mut worker = Worker::<Few, Fault>::new(1, 9, None);
        order(&mut worker, 1, WorkKind::StageParameter, 0, parameter_item(0x0101, 700));
        order(&mut worker, 2, WorkKind::SaveParameters, 0, 0);
        assert_eq!(write_log(&mut worker, 10, old), WorkReport::Done);
        let (mut found_old, mut found_new) = (0, 0);
        for cut in 0.. {
            let mut worker = worker.clone();
            let mut model = worker.flash.take().unwrap().into_flash();
            model.until_cut = Some(cut);
            worker.flash = Flash::new(model, 0..(UNITS * UNIT) as u32).ok().map(Box::new);
            let written = write_log(&mut worker, 20, new) == WorkReport::Done;
            let mut model = worker.flash.take().unwrap().into_flash();
            model.restore_power();
            worker.flash = Flash::new(model, 0..(UNITS * UNIT) as u32).ok().map(Box::new);
            let boot = worker.boot(ResetCause::PowerUp);
            assert_eq!((boot.parameters.speed(), boot.damaged), (700, false), "cut {cut}");
            match read_log(&worker) {
                log if log == old && !written => found_old += 1,
                log if log == new => found_new += 1,
                log => panic!("cut {cut}: {log:?}, acknowledged: {written}"),
            }
            if written {
                break;
            }
        }
        assert!(found_old > 0 && found_new > 1, "{found_old} old, {found_new} new");
    }
}
