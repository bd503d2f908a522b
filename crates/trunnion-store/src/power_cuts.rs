//! Cuts the power at flash operations of random sequences, again and again on the same flash.

use std::env;
use std::vec::Vec;

use trunnion::declare::{Access, Latch, ParameterSet, Reactions};
use trunnion::fault::LogEntry;
use trunnion::quantity::{Millis, Permille};

use crate::counter::{self, Counted};
use crate::fault_log;
use crate::model_flash::{ModelFlash, Refused, UNIT};
use crate::parameters::{self, Origin, Schema, keep};
use crate::store::{Key, Store, StoreError};

trunnion::parameters! {
    /// A few, as a machine has many.
    pub struct Few, pub enum FewIndex {
        /// First.
        0x0101 first: Permille = 10, in -1000..=1000, Access::Tune;
        /// Second.
        0x0102 second: Millis = 10, in 0..=100_000, Access::Safety;
        /// Third.
        0x0103 third: u16 = 7, in 0..=65_535, Access::Operator;
        /// Fourth.
        0x0104 fourth: u8 = 7, in 0..=255, Access::Constant;
    }
}

trunnion::faults! {
    /// Two are enough to see order and gaps.
    pub enum Fault {
        /// One.
        One: spn 520_200, fmi 5, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 21, "here";
        /// Two.
        Two: spn 520_201, fmi 3, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 22, "there";
    }
}

const SCHEMA: Schema = Schema { version: 1, migrate: keep };
const UNITS: usize = 4;

type Storage = Store<ModelFlash, 256>;

/// What must be in the flash: acknowledged, or under way when the power went.
#[derive(Debug, Default, Clone)]
struct Expected<T> {
    acknowledged: T,
    under_way: Option<T>,
}

impl<T: PartialEq + Clone + std::fmt::Debug> Expected<T> {
    /// Old or new, nothing else; from then on what was found is what must stay.
    fn settle(&mut self, found: T, what: &str, cut: u64) {
        let old = found == self.acknowledged;
        let new = self.under_way.as_ref() == Some(&found);
        assert!(old || new, "cut {cut}: {what} is {found:?}, expected {self:?}");
        self.acknowledged = found;
        self.under_way = None;
    }
}

#[derive(Debug, Default, Clone)]
struct Model {
    parameters: Expected<Option<[i32; 4]>>,
    log: Expected<[(u32, u32, u8); 2]>,
    attempts: Expected<Option<u32>>,
}

struct Random(u64);

impl Random {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}

fn raws(set: &Few) -> [i32; 4] {
    [0, 1, 2, 3].map(|place| set.raw(place))
}

impl Model {
    /// A start: reads everything and holds it against what must be there.
    fn start(&mut self, store: &mut Storage, cut: u64) {
        let loaded = parameters::load::<Few, _, 256>(store, SCHEMA);
        let found = match loaded.origin {
            Origin::NeverStored => None,
            Origin::Stored | Origin::StoredOnce => Some(raws(&loaded.parameters)),
            Origin::Damaged => panic!("cut {cut}: a power cut is no damage: {loaded:?}"),
        };
        self.parameters.settle(found, "the parameter set", cut);
        let mut log = [(0, 0, 0); 2];
        let told = fault_log::load::<Fault, _, 256>(store, |place, entry| {
            log[usize::from(place)] = (entry.first, entry.last, entry.count);
        });
        assert!(!told.damaged && told.dropped == 0, "cut {cut}: {told:?}");
        self.log.settle(log, "the fault log", cut);
        let attempts = match counter::load(store, Key::AccessAttempts) {
            Counted::Never => None,
            Counted::Value(value) => Some(value),
            Counted::Damaged => panic!("cut {cut}: the counter is damaged"),
        };
        self.attempts.settle(attempts, "the counter", cut);
    }

    /// One save of something; false when the power went.
    fn save(&mut self, store: &mut Storage, random: &mut Random) -> bool {
        match random.below(4) {
            0 | 1 => {
                let mut set = Few::default();
                set.stage(0x0101, random.below(2001) as i32 - 1000).unwrap();
                set.stage(0x0102, random.below(100_001) as i32).unwrap();
                set.stage(0x0103, random.below(65_536) as i32).unwrap();
                self.parameters.under_way = Some(Some(raws(&set)));
                let done = powered(parameters::save(store, SCHEMA, &set));
                acknowledge(&mut self.parameters, done)
            }
            2 => {
                let entries = [(); 2].map(|()| match random.below(3) as u8 {
                    0 => (0, 0, 0),
                    count => (random.below(1000) as u32, random.below(1000) as u32, count),
                });
                self.log.under_way = Some(entries);
                let entry = |place: u16| {
                    let (first, last, count) = entries[usize::from(place)];
                    LogEntry { first, last, count }
                };
                let done = powered(fault_log::save::<Fault, _, 256>(store, entry));
                acknowledge(&mut self.log, done)
            }
            _ => {
                let value = self.attempts.acknowledged.map_or(1, |value| value + 1);
                self.attempts.under_way = Some(Some(value));
                let done = powered(counter::save(store, Key::AccessAttempts, value));
                acknowledge(&mut self.attempts, done)
            }
        }
    }
}

/// Whether a save went through; only a power cut may keep it from that.
fn powered(saved: Result<(), StoreError<Refused>>) -> bool {
    match saved {
        Ok(()) => true,
        Err(StoreError::Flash(Refused::NoPower)) => false,
        Err(error) => panic!("a save failed with power on: {error}"),
    }
}

fn acknowledge<T>(expected: &mut Expected<T>, done: bool) -> bool {
    if done && let Some(value) = expected.under_way.take() {
        expected.acknowledged = value;
    }
    done
}

/// Runs on one flash through `cuts` power cuts, each within `reach` operations; gives the worn flash.
fn campaign(seed: u64, cuts: u64, reach: u64) -> ModelFlash {
    let mut random = Random(seed);
    let mut flash = ModelFlash::new(UNITS, seed);
    let mut model = Model::default();
    for cut in 0..cuts {
        flash.restore_power();
        flash.until_cut = Some(random.below(reach));
        let mut store = Storage::new(flash, 0..(UNITS * UNIT) as u32).unwrap();
        while model.save(&mut store, &mut random) {}
        flash = store.into_flash();
        // A start may repair what the cut left: it must bear cuts of its own.
        for _ in 0..random.below(3) {
            flash.restore_power();
            flash.until_cut = Some(random.below(8));
            let mut store = Storage::new(flash, 0..(UNITS * UNIT) as u32).unwrap();
            parameters::load::<Few, _, 256>(&mut store, SCHEMA);
            flash = store.into_flash();
        }
        flash.restore_power();
        let mut store = Storage::new(flash, 0..(UNITS * UNIT) as u32).unwrap();
        model.start(&mut store, cut);
        flash = store.into_flash();
    }
    flash
}

/// Cuts in all: few in the suite, as many as `TRUNNION_POWER_CUTS` says in a campaign.
fn cuts() -> u64 {
    env::var("TRUNNION_POWER_CUTS").ok().and_then(|text| text.parse().ok()).unwrap_or(2_000)
}

#[test]
fn what_was_acknowledged_survives_a_power_cut_at_any_operation() {
    let share = cuts() / 4;
    let operations: Vec<u64> = [(1, 20), (2, 60), (3, 200), (4, 1_000)]
        .into_iter()
        .map(|(seed, reach)| campaign(seed, share, reach).operations)
        .collect();
    std::println!("{} cuts over {operations:?} flash operations", share * 4);
}

#[test]
fn every_single_operation_of_a_sequence_can_be_the_last() {
    // One fixed sequence over several turns of the flash, cut once at each of its operations.
    let sequence = |until_cut: Option<u64>| {
        let mut random = Random(7);
        let mut flash = ModelFlash::new(UNITS, 7);
        flash.until_cut = until_cut;
        let mut model = Model::default();
        let mut store = Storage::new(flash, 0..(UNITS * UNIT) as u32).unwrap();
        for _ in 0..160 {
            if !model.save(&mut store, &mut random) {
                break;
            }
        }
        let mut flash = store.into_flash();
        flash.restore_power();
        let mut store = Storage::new(flash, 0..(UNITS * UNIT) as u32).unwrap();
        model.start(&mut store, until_cut.unwrap_or(u64::MAX));
        store.into_flash()
    };
    let whole = sequence(None);
    assert!(whole.erases.iter().all(|erases| *erases >= 1), "the sequence is too short: {:?}", whole.erases);
    for cut in 0..whole.operations {
        sequence(Some(cut));
    }
}

#[test]
fn erasing_is_spread_over_all_units() {
    let mut random = Random(11);
    let mut model = Model::default();
    let mut store = Storage::new(ModelFlash::new(UNITS, 11), 0..(UNITS * UNIT) as u32).unwrap();
    for _ in 0..5_000 {
        assert!(model.save(&mut store, &mut random));
    }
    let flash = store.into_flash();
    let (least, most) = (flash.erases.iter().min().unwrap(), flash.erases.iter().max().unwrap());
    assert!(*least >= 50 && most - least <= 1, "{:?}", flash.erases);
}

#[test]
fn a_flipped_bit_is_told_or_changes_nothing() {
    // Two sets saved; then every bit of the used flash is flipped once, in turn.
    let mut store = Storage::new(ModelFlash::new(UNITS, 3), 0..(UNITS * UNIT) as u32).unwrap();
    let (mut one, mut two) = (Few::default(), Few::default());
    one.stage(0x0101, 111).unwrap();
    two.stage(0x0101, 222).unwrap();
    parameters::save(&mut store, SCHEMA, &one).unwrap();
    parameters::save(&mut store, SCHEMA, &two).unwrap();
    let flash = store.into_flash();
    let used = flash.bytes.iter().rposition(|byte| *byte != 0xFF).unwrap();
    let mut told = 0;
    for bit in 0..(used + 1) * 8 {
        let mut flash = flash.clone();
        flash.bytes[bit / 8] ^= 1 << (bit % 8);
        let mut store = Storage::new(flash, 0..(UNITS * UNIT) as u32).unwrap();
        let loaded = parameters::load::<Few, _, 256>(&mut store, SCHEMA);
        if loaded.is_suspect() {
            told += 1;
        } else {
            assert_eq!(loaded.parameters.first().raw(), 222, "bit {bit} of byte {}: {loaded:?}", bit / 8);
        }
        // Whatever was found, the store works again after a save.
        parameters::save(&mut store, SCHEMA, &one)
            .or_else(|_| {
                store.erase()?;
                parameters::save(&mut store, SCHEMA, &one)
            })
            .unwrap();
        let again = parameters::load::<Few, _, 256>(&mut store, SCHEMA);
        assert_eq!((again.parameters, again.origin), (one, Origin::Stored), "bit {bit}");
    }
    assert!(told > 100, "the flips must hit the records: {told}");
}
