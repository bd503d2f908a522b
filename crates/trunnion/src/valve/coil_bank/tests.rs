use std::string::ToString;

use proptest::prelude::*;

use super::*;

crate::coils! {
    /// A pair and a coil of its own.
    pub enum Three, pub struct SetPoints, pub struct Currents, pub struct Duties {
        /// One of a pair.
        raise: "X1:1", sense "X1:2";
        /// By itself.
        float: "X1:3", sense "X1:4";
        /// The other of the pair.
        lower: "X1:5", sense "X1:6";
    }
}

const TICK: Period = Period::from_micros(1_000).unwrap();
const PAIRS: [(u8, u8); 1] = [(Three::raise as u8, Three::lower as u8)];
const APART: PairExclusionConfig =
    PairExclusionConfig { released: Milliamps::saturating(80), pause: Millis::millis(20) };
const SUPPLY: Millivolts = Millivolts::saturating(13_000);

type Bank = CoilBank<Three, 3, 1>;

fn bank() -> Bank {
    Bank::new([IDLE_CONFIG; 3], PAIRS, APART, TICK).unwrap()
}

fn ma(raw: u16) -> Milliamps {
    Milliamps::saturating(raw.into())
}

fn asked(currents: [u16; 3]) -> SetPoints {
    SetPoints { supply: SUPPLY, ..SetPoints::from_currents(currents.map(ma)) }
}

fn measured(currents: [u16; 3]) -> Currents {
    let [raise, float, lower] = currents.map(ma);
    Currents { raise, float, lower }
}

proptest! {
    #[test]
    fn opposite_coils_are_never_driven_together_whatever_is_asked_and_measured(
        steps in proptest::collection::vec(([0_u16..1_600, 0_u16..1_600, 0_u16..1_600], [0_u16..2_000, 0_u16..2_000, 0_u16..2_000], 1_usize..30), 1..20)
    ) {
        let mut bank = bank();
        for (wanted, currents, count) in steps {
            for _ in 0..count {
                let duties = bank.step(&asked(wanted), &measured(currents));
                prop_assert!(duties.raise == Duty::ZERO || duties.lower == Duty::ZERO);
            }
        }
    }

    #[test]
    fn each_coil_is_driven_as_it_would_be_alone(wanted in 0_u16..1_500, currents in proptest::collection::vec(0_u16..1_600, 1..60)) {
        let mut bank = bank();
        let mut alone = Coil::new(IDLE_CONFIG, TICK).unwrap();
        for current in currents {
            let duties = bank.step(&asked([0, wanted, 0]), &measured([0, current, 0]));
            prop_assert_eq!(duties.float, alone.step(ma(wanted), ma(current), Some(SUPPLY)));
        }
        let [_, report, _] = bank.report();
        prop_assert_eq!(report, alone.take_report());
    }
}

#[test]
fn the_opposite_coil_waits_for_the_pause_after_the_current_is_gone() {
    let mut bank = bank();
    for _ in 0..30 {
        bank.step(&asked([600, 0, 0]), &measured([600, 0, 0]));
    }
    let waits =
        (0..100).take_while(|_| bank.step(&asked([0, 0, 600]), &measured([0, 0, 0])).lower == Duty::ZERO);
    assert!((20..=22).contains(&waits.count()));
}

#[test]
fn an_idle_bank_drives_nothing_that_is_not_asked() {
    let mut bank = Bank::idle();
    for _ in 0..50 {
        assert_eq!(bank.step(&asked([0; 3]), &measured([0; 3])).duties(), [Duty::ZERO; 3]);
    }
}

#[test]
fn settings_that_are_refused_name_the_coil_and_change_nothing() {
    let dither = DitherConfig { amplitude: ma(40), ..IDLE_CONFIG.dither };
    let bad = CoilConfig { averaging: Millis::millis(7), dither, ..IDLE_CONFIG };
    let error = Bank::new([IDLE_CONFIG, IDLE_CONFIG, bad], PAIRS, APART, TICK).unwrap_err();
    assert!(matches!(error, CoilBankError::Coil { place: 2, .. }), "{error:?}");
    assert!(error.to_string().starts_with("coil 2: "));
    let error = Bank::new([IDLE_CONFIG; 3], [(1, 3)], APART, TICK).unwrap_err();
    assert_eq!(error.to_string(), "coils 1 and 3 are no pair: name two coils of the declaration");
    assert!(matches!(Bank::new([IDLE_CONFIG; 3], [(1, 1)], APART, TICK), Err(CoilBankError::Pair { .. })));

    let (mut bank, mut untouched) = (bank(), bank());
    let no_pause = PairExclusionConfig { released: Milliamps::ZERO, ..APART };
    assert!(matches!(bank.reconfigure([IDLE_CONFIG; 3], no_pause), Err(CoilBankError::Pairs(_))));
    assert!(bank.reconfigure([bad; 3], APART).is_err());
    bank.reconfigure([IDLE_CONFIG; 3], APART).unwrap();
    for _ in 0..50 {
        let (asked, measured) = (asked([500, 300, 0]), measured([450, 280, 0]));
        assert_eq!(bank.step(&asked, &measured), untouched.step(&asked, &measured));
    }
}

#[test]
fn an_exclusion_that_is_refused_speaks_for_itself() {
    let apart = PairExclusionConfig { released: Milliamps::ZERO, ..APART };
    let error = Bank::new([IDLE_CONFIG; 3], PAIRS, apart, TICK).unwrap_err();
    assert_eq!(error.to_string(), "released current 0 mA is outside 1 to 1000 mA");
}
