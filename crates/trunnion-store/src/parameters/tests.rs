use proptest::prelude::*;
use trunnion::quantity::{Millis, Permille};

use super::*;
use crate::model_flash::{ModelFlash, UNIT};

mod first {
    use super::*;
    trunnion::parameters! {
        /// As delivered.
        pub struct Set, pub enum Index {
            /// Speed in tenths of a percent.
            0x0101 speed: Permille = 500, in 0..=1000, Access::Tune;
            /// A time.
            0x0102 rise: Millis = 100, in 0..=10_000, Access::Tune;
            /// Gone in the next version.
            0x0103 gone: u8 = 1, in 0..=9, Access::Tune;
            /// The maker's.
            0x0104 teeth: u8 = 60, in 1..=200, Access::Constant;
        }
    }
}

mod second {
    use super::*;
    trunnion::parameters! {
        /// A year later: a narrower range, one gone, one new, another constant.
        pub struct Set, pub enum Index {
            /// Speed in tenths of a percent.
            0x0101 speed: Permille = 400, in 0..=600, Access::Tune;
            /// Now in hundredths of a second, under a new identifier.
            0x0106 rise_hundredths: u16 = 10, in 0..=1000, Access::Tune;
            /// New.
            0x0107 fresh: u8 = 3, in 0..=9, Access::Tune;
            /// The maker's.
            0x0108 teeth: u8 = 48, in 1..=200, Access::Constant;
        }
    }
}

const FIRST: Schema = Schema { version: 1, migrate: keep };
const SECOND: Schema = Schema { version: 2, migrate };

fn migrate(version: u16, id: u16, raw: i32) -> Option<(u16, i32)> {
    match (version, id) {
        (1, 0x0102) => Some((0x0106, raw / 10)),
        _ => Some((id, raw)),
    }
}

fn store() -> Store<ModelFlash, 256> {
    Store::new(ModelFlash::new(4, 1), 0..4 * UNIT as u32).unwrap()
}

#[test]
fn a_changed_declaration_keeps_what_it_can_and_tells_the_rest() {
    let mut store = store();
    let mut old = first::Set::default();
    old.stage(0x0101, 900).unwrap();
    old.stage(0x0102, 2_500).unwrap();
    save(&mut store, FIRST, &old).unwrap();
    let loaded = load::<second::Set, _, 256>(&mut store, SECOND);
    assert_eq!(loaded.origin, Origin::Stored);
    assert_eq!(loaded.parameters.speed().raw(), 400, "900 is out of range now");
    assert_eq!((loaded.replaced, loaded.first_replaced), (1, Some(0x0101)));
    assert_eq!(loaded.parameters.rise_hundredths(), 250, "migrated");
    assert_eq!((loaded.parameters.fresh(), loaded.parameters.teeth()), (3, 48));
    assert_eq!((loaded.dropped, loaded.added), (2, 2));
    assert!(loaded.is_suspect());
}

#[test]
fn nothing_stored_is_no_damage() {
    let loaded = load::<first::Set, _, 256>(&mut store(), FIRST);
    assert_eq!((loaded.origin, loaded.is_suspect()), (Origin::NeverStored, false));
    assert_eq!(loaded.parameters, first::Set::default());
}

#[test]
fn a_stored_constant_never_displaces_that_of_the_program() {
    let mut store = store();
    let set = first::Set::default();
    let mut record = [0; 256];
    let used = encode(&set, 1, &mut record).unwrap();
    record[used - 4] = 61;
    store.write(Key::Parameters, &record[..used]).unwrap();
    let loaded = load::<first::Set, _, 256>(&mut store, FIRST);
    assert_eq!((loaded.parameters.teeth(), loaded.is_suspect()), (60, false));
}

#[test]
fn a_set_that_does_not_fit_the_buffer_is_refused() {
    let mut store = Store::<_, 32>::new(ModelFlash::new(4, 1), 0..4 * UNIT as u32).unwrap();
    assert_eq!(save(&mut store, FIRST, &first::Set::default()), Err(StoreError::TooLarge));
    assert_eq!(bytes_of::<first::Set>(), 29);
}

#[test]
fn a_region_that_does_not_fit_the_flash_is_refused() {
    use crate::store::StoreConfigError;
    let unit = UNIT as u32;
    let error = |region| Store::<_, 64>::new(ModelFlash::new(4, 1), region).unwrap_err();
    assert_eq!(error(1..4 * unit), StoreConfigError::NotAtEraseUnits { unit });
    assert_eq!(error(0..2 * unit), StoreConfigError::TooSmall { unit });
    assert_eq!(error(0..3 * unit), StoreConfigError::TooSmall { unit });
}

proptest! {
    #[test]
    fn whatever_lies_in_the_flash_a_start_gives_a_set_in_range_and_a_save_works(
        garbage in proptest::collection::vec(any::<u8>(), 4 * UNIT), blank in 0_usize..4 * UNIT
    ) {
        let mut flash = ModelFlash::new(4, 1);
        flash.bytes.copy_from_slice(&garbage);
        flash.bytes[blank..].fill(0xFF);
        let mut store = Store::<_, 256>::new(flash, 0..4 * UNIT as u32).unwrap();
        let loaded = load::<first::Set, _, 256>(&mut store, FIRST);
        for (place, rule) in (0..).zip(first::Set::RULES) {
            let raw = loaded.parameters.raw(place);
            prop_assert!(raw >= rule.low && raw <= rule.high);
        }
        let mut marked = first::Set::default();
        marked.stage(0x0101, 7).unwrap();
        if save(&mut store, FIRST, &marked).is_err() {
            store.erase().unwrap();
            save(&mut store, FIRST, &marked).unwrap();
        }
        let loaded = load::<first::Set, _, 256>(&mut store, FIRST);
        prop_assert_eq!((loaded.parameters, loaded.origin), (marked, Origin::Stored));
    }

    #[test]
    fn any_record_under_the_key_of_the_set_gives_a_set_in_range(record in proptest::collection::vec(any::<u8>(), 0..80), head: bool) {
        let mut store = store();
        let mut record = record;
        if head && record.len() >= HEAD {
            let pairs = ((record.len() - HEAD) / PAIR) as u8;
            record.truncate(HEAD + usize::from(pairs) * PAIR);
            record[0] = LAYOUT;
            record[3] = pairs;
            record[4] = 0;
        }
        store.write(Key::Parameters, &record).unwrap();
        let loaded = load::<first::Set, _, 256>(&mut store, FIRST);
        for (place, rule) in (0..).zip(first::Set::RULES) {
            let raw = loaded.parameters.raw(place);
            prop_assert!(raw >= rule.low && raw <= rule.high);
        }
    }
}
