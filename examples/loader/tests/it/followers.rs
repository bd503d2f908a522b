//! A machine that takes its motion over from a sound one, until it is driven otherwise, is the machine that moves by itself.

use loader::Loader;
use trunnion_desk::bench::Bench;
use trunnion_rig::campaign::cells;
use trunnion_rig::run::{Plant, Rig, Run, Session};
use trunnion_rig::scenario::Scenario;

use loader::desk::LoaderBench;

type LoaderPlant = <LoaderBench as Bench>::Plant;

const STORY: &str = "\
scenario  Away and round, with the boom going up
seed      3
length    7 s
set       key = run, hand_throttle = 80 %, engine_running = yes, park_brake_switch = off, pattern_rocker = iso
set       operator_seated = yes, restraint_bar = down, lock_released = yes, payload = 200 kg
at 2.4 s  enable_button = yes
at 2.7 s  enable_button = no
at 3.0 s  left_lever_y moves to 70 % over 0.4 s, right_lever_y moves to -60 % over 0.3 s
at 5.2 s  left_lever_x moves to 50 % over 0.3 s, slope = 4 deg
";
const SNAPSHOT_TICKS: u32 = 480;
const BROKEN_TICKS: u32 = 120;

fn step(session: &mut Session<Loader, LoaderPlant>, ticks: u32) {
    for _ in 0..ticks {
        assert!(session.step().is_some());
    }
}

fn to_end(mut session: Session<Loader, LoaderPlant>) -> Run {
    while session.step().is_some() {}
    session.finish()
}

#[test]
fn a_broken_machine_that_follows_a_sound_one_gives_the_bits_of_one_alone() {
    let rig: Rig<Loader, LoaderPlant> = Rig::new(LoaderBench::REQUIREMENTS).unwrap();
    let story = Scenario::parse("followers.scenario", STORY).unwrap();
    let mut alone = rig.start(&story).unwrap();
    step(&mut alone, SNAPSHOT_TICKS);
    let mut leader = alone.clone();
    leader.lead();
    while leader.step().is_some() {}
    let mut following = alone.clone();
    following.follow(&mut leader);
    let sound = leader.finish();
    assert_eq!(to_end(following.clone()).hash, sound.hash);
    let mut differing = 0;
    // A stride that meets every kind of place and way: coils, senses, switches, sensors, units, the supply.
    for cell in cells(<LoaderPlant as Plant<Loader>>::BREAKS, &["driving"]).iter().step_by(7) {
        let broken = |session: &Session<Loader, LoaderPlant>| {
            let mut broken = session.clone();
            assert!(broken.break_next(cell.place, cell.way), "{cell}");
            step(&mut broken, BROKEN_TICKS);
            assert!(broken.mend_next(cell.place), "{cell}");
            to_end(broken)
        };
        let (follower, other) = (broken(&following), broken(&alone));
        assert_eq!(follower.hash, other.hash, "{cell}");
        assert_eq!(follower.results, other.results, "{cell}");
        differing += usize::from(follower.hash != sound.hash);
    }
    assert!(differing > 10, "only {differing} failures show");
}
