//! A run that branches off a snapshot is the run that its scenario would have told from the start.

use trunnion::declare::Failure;
use trunnion_rig::campaign::{Cell, cells};
use trunnion_rig::run::{Plant, Rig, Run, Session};
use trunnion_rig::scenario::Scenario;

use crate::hoist::{Hoist, HoistPlant, REQUIREMENTS};

const STORY: &str = "\
scenario  A load is hoisted
seed      7
length    3 s
set       operator_seated = yes
at 0.5 s  lever moves to 80 % over 0.4 s
";

fn start(text: &str) -> Session<Hoist, HoistPlant> {
    let rig: Rig<Hoist, HoistPlant> = Rig::new(REQUIREMENTS).unwrap_or_else(|error| panic!("{error}"));
    let story = Scenario::parse("hoist.scenario", text).unwrap_or_else(|complaints| panic!("{complaints}"));
    rig.start(&story).unwrap_or_else(|complaints| panic!("{complaints}"))
}

fn step(session: &mut Session<Hoist, HoistPlant>, ticks: u32) {
    for _ in 0..ticks {
        assert!(session.step().is_some());
    }
}

fn to_end(mut session: Session<Hoist, HoistPlant>) -> Run {
    while session.step().is_some() {}
    session.finish()
}

fn all() -> Vec<Cell> {
    cells(<HoistPlant as Plant<Hoist>>::BREAKS, &["hoisting"])
}

#[test]
fn every_cell_branched_off_a_snapshot_gives_the_bits_of_its_scenario() {
    let mut snapshot = start(STORY);
    step(&mut snapshot, 150);
    let sound = to_end(snapshot.clone());
    let mut differing = 0;
    assert!(!all().is_empty());
    for cell in all() {
        let mut branch = snapshot.clone();
        assert!(branch.break_next(cell.place, cell.way));
        step(&mut branch, 50);
        assert!(branch.mend_next(cell.place));
        let branched = to_end(branch);
        let (signal, way) = (cell.signal, cell.way.name());
        let told = to_end(start(&format!("{STORY}at 1.5 s break {signal}: {way}\nat 2 s mend {signal}\n")));
        assert_eq!(branched.hash, told.hash, "{cell}");
        assert_eq!(branched.results, told.results, "{cell}");
        differing += usize::from(branched.hash != sound.hash);
    }
    assert!(differing > 0, "no failure shows");
}

#[test]
fn a_way_that_the_plant_does_not_know_is_refused_and_changes_nothing() {
    let mut session = start(STORY);
    assert!(!session.break_next(0, Failure::Duplicated));
    assert!(!session.break_next(999, Failure::Open) && !session.mend_next(999));
    assert_eq!(to_end(session), to_end(start(STORY)));
}
