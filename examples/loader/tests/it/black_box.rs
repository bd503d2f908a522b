//! What the black box kept of a fault is replayed elsewhere to the same outputs.

use loader::control::Control;
use loader::declaration::{Fault, Parameter, Parameters};
use loader::{BOX_BYTES, Loader};
use trunnion::declare::ParameterSet;
use trunnion::machine::SafeStart;
use trunnion_board::black_box::header::{Cause, HEADER_BYTES, Header};
use trunnion_board::black_box::replay::{NoReplay, Replay};
use trunnion_board::black_box::{Boxed, Memory, Recorded, Unreadable};

use crate::cab::Cab;

/// All bytes of the box, in reads of this length.
fn read(cab: &Cab, length: usize) -> Result<Vec<u8>, Unreadable> {
    let control = cab.stepper.machine().control().unwrap();
    let mut first = [0; HEADER_BYTES];
    control.read(0, &mut first)?;
    let total = Header::from_bytes(&first).unwrap().total_bytes() as usize;
    let mut bytes = vec![0; total];
    for (place, part) in bytes.chunks_mut(length).enumerate() {
        control.read((place * length) as u32, part)?;
    }
    Ok(bytes)
}

/// Drives, then the left lever falls silent; long enough for the box to close.
fn lever_lost(parameters: Parameters) -> Cab {
    let mut cab = Cab::new(parameters);
    cab.permit();
    cab.hands.left[1] = 700;
    cab.run(2_500);
    cab.levers_send = false;
    cab.run(2_000);
    assert!(cab.stepper.machine().control().unwrap().faults().is_place_active(Fault::LeftLeverLost as u16));
    cab
}

#[test]
fn the_faults_that_are_told_to_the_box_are_those_that_are_active() {
    let cab = lever_lost(Parameters::default());
    let control = cab.stepper.machine().control().unwrap();
    let words = control.active_faults();
    let active = (0..Fault::COUNT as u16).filter(|place| control.faults().is_place_active(*place));
    let told = (0..256_u16).filter(|place| words[usize::from(place / 32)] >> (place % 32) & 1 == 1);
    assert!(told.clone().any(|place| place == Fault::LeftLeverLost as u16));
    assert!(told.eq(active));
}

/// The sum of the parts is what the type has; the state and the segments are those of the declaration.
#[test]
fn the_memory_that_is_told_is_that_of_the_type() {
    const MEMORY: Memory = Boxed::<Control, BOX_BYTES>::MEMORY;
    let (with, without) = (size_of::<Loader>(), size_of::<SafeStart<Control>>());
    assert_eq!(MEMORY.all() as usize, with - without);
    assert_eq!((MEMORY.state as usize, MEMORY.segment as usize), (size_of::<Control>(), BOX_BYTES));
    const { assert!(MEMORY.marks < 256) };
    let larger = Boxed::<Control, { 2 * BOX_BYTES }>::MEMORY;
    assert_eq!(larger.all() - MEMORY.all(), Memory::SEGMENTS * BOX_BYTES as u32);
}

#[test]
fn a_fault_is_replayed_bit_for_bit_with_what_led_to_it() {
    let cab = lever_lost(Parameters::default());
    let bytes = read(&cab, 200).unwrap();
    let mut replay = Replay::<Control>::new(&bytes).unwrap();
    let header = *replay.header();
    let Cause::Fault { place, periods_after: 50 } = header.cause else { panic!("{header:?}") };
    let at = header.periods() - 51;
    assert!(header.periods() >= 200, "two seconds at least: {header:?}");
    let mut periods = 0;
    let mut before = None;
    while let Some(period) = replay.next().unwrap() {
        assert!(period.same, "period {periods} differs");
        let active = replay.program().faults().is_place_active(place);
        assert_eq!(active, periods >= at, "the fault came in period {periods}, the header says {at}");
        if periods + 1 == at {
            before = Some(period.diagnostics.permission_drive);
        }
        periods += 1;
    }
    assert_eq!((periods, before), (header.periods(), Some(true)));
}

#[test]
fn a_box_still_recording_and_a_place_behind_its_end_give_nothing() {
    let mut cab = Cab::new(Parameters::default());
    cab.run(1_000);
    assert_eq!(read(&cab, 64), Err(Unreadable::NotFrozen));
    let cab = lever_lost(Parameters::default());
    let total = read(&cab, 64).unwrap().len() as u32;
    let control = cab.stepper.machine().control().unwrap();
    assert_eq!(control.read(total - 3, &mut [0; 4]), Err(Unreadable::Outside));
    assert_eq!(control.read(u32::MAX, &mut [0; 4]), Err(Unreadable::Outside));
}

#[test]
fn the_parts_of_a_box_are_the_same_however_it_is_read() {
    let cab = lever_lost(Parameters::default());
    let whole = read(&cab, 200).unwrap();
    assert_eq!(read(&cab, 7).unwrap(), whole);
    assert_eq!(read(&cab, 512).unwrap(), whole);
}

#[test]
fn a_box_that_waits_for_a_tester_does_not_freeze_at_a_fault() {
    let mut parameters = Parameters::default();
    parameters.stage(Parameter::black_box_rule.id(), 0).unwrap();
    assert_eq!(read(&lever_lost(parameters), 64), Err(Unreadable::NotFrozen));
}

#[test]
fn damaged_bytes_are_refused_or_told() {
    let cab = lever_lost(Parameters::default());
    let sound = read(&cab, 512).unwrap();
    let refused = |bytes: &[u8]| Replay::<Control>::new(bytes).err();
    assert!(matches!(refused(&sound[..40]), Some(NoReplay::NoBox(_))));
    assert!(matches!(refused(&sound[..sound.len() - 1]), Some(NoReplay::OtherLength { .. })));
    let mut other = sound.clone();
    other[8] ^= 1;
    assert!(matches!(refused(&other), Some(NoReplay::OtherDeclaration { .. })));
    // One bit of what was recorded: told as damage, or as a period that differs. Not told is only a bit of an input that
    // the program does not look at.
    let told = |bytes: &[u8]| {
        let mut replay = Replay::<Control>::new(bytes).unwrap();
        loop {
            match replay.next() {
                Ok(Some(period)) if period.same => {}
                Ok(None) => return false,
                _ => return true,
            }
        }
    };
    assert!(!told(&sound));
    // Length and sum of the first period.
    for place in HEADER_BYTES..HEADER_BYTES + 4 {
        let mut bytes = sound.clone();
        bytes[place] ^= 0x10;
        assert!(told(&bytes), "byte {place}");
    }
}

/// A fault comes, is read, and is told as a story that ends in the same fault on the simulated machine.
#[cfg(feature = "desk")]
#[test]
fn a_box_is_told_as_a_scenario_that_raises_its_fault_again() {
    use trunnion_desk::black_box::{open, told};
    use trunnion_rig::requirement::Verdict;
    use trunnion_rig::run::Rig;
    use trunnion_rig::scenario::Scenario;

    use loader::desk::LoaderBench;
    use trunnion_desk::bench::Bench;

    let opened = open::<Loader, Control>(&read(&lever_lost(Parameters::default()), 200).unwrap()).unwrap();
    assert_eq!((opened.first_other(), opened.damaged_at), (None, None));
    let text = told::<LoaderBench>(&opened, "lever_lost").unwrap();
    let scenario = Scenario::parse("lever_lost", &text).unwrap_or_else(|wrong| panic!("{wrong}\n{text}"));
    assert!(text.contains("left_lever_y moves to 70 %") && text.contains("break left_lever: lost"), "{text}");
    let rig = Rig::<Loader, <LoaderBench as Bench>::Plant>::new(&[]).unwrap();
    let run = rig.run(&scenario).unwrap_or_else(|wrong| panic!("{wrong}\n{text}"));
    let again = run.results.iter().find(|result| result.id == "B-01").unwrap();
    assert_eq!(again.verdict, Verdict::Held, "{text}");
}
