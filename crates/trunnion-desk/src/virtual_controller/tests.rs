//! What can be tested of a virtual controller without an image; the image itself is compared in the loader's
//! own suite.

use std::env;
use std::fs;
use std::path::Path;

use trunnion::machine::{Boot, Machine, Stepper};

use super::difference::Driven;
use super::{VirtualController, VirtualControllerError};

#[path = "../../../trunnion-board/tests/it/roller.rs"]
mod roller;

use roller::{Currents, Doing, Inputs, Roller};

fn started_with(image: &Path) -> Result<VirtualController<Roller>, VirtualControllerError> {
    VirtualController::start(image, &Boot::default())
}

/// What the roller drives in its first tick.
fn driven() -> Driven<Roller> {
    let mut stepper = Stepper::<Roller>::start(&Boot::default());
    let inputs = Inputs { seat: true, lever_frame: 400, ..Inputs::default() };
    let fast_outputs = (0..10).map(|step| stepper.fast_step(&currents(step))).collect();
    let outputs = stepper.step(&inputs);
    Driven { fast_outputs, outputs, diagnostics: stepper.machine().diagnostics() }
}

fn currents(step: u16) -> Currents {
    Currents { travel_current: 0, drum_current: 100 * step }
}

fn difference(change: impl FnOnce(&mut Driven<Roller>)) -> Option<String> {
    let mut board = driven();
    change(&mut board);
    driven()
        .difference(12, &board.fast_outputs, &board.outputs, &board.diagnostics)
        .map(|difference| difference.to_string())
}

#[test]
fn equal_answers_have_no_difference() {
    assert_eq!(difference(|_| {}), None);
}

#[test]
fn the_first_difference_in_the_order_of_the_tick_is_named_with_step_field_and_both_values() {
    let all = difference(|board| {
        board.diagnostics.doing = Doing::Standing;
        board.outputs.loops += 1;
        board.fast_outputs[7].travel_duty = trunnion::quantity::Duty::MAX;
        board.fast_outputs[3].drum_duty = trunnion::quantity::Duty::new(601).unwrap();
    });
    let expected = "tick 12, step 3 of the fast loop: drum_duty is 6 % on the host, 6.01 % on the board (raw 600 and 601)";
    assert_eq!(all.as_deref(), Some(expected));
}

#[test]
fn outputs_come_before_internal_points_and_choices_are_told_by_name() {
    let outputs = difference(|board| {
        board.outputs.loops = 9;
        board.diagnostics.doing = Doing::Standing;
    });
    assert_eq!(outputs.unwrap(), "tick 12: loops is 1 on the host, 9 on the board (raw 1 and 9)");
    let doing = difference(|board| board.diagnostics.doing = Doing::Standing);
    assert_eq!(
        doing.unwrap(),
        "tick 12: doing is travelling on the host, standing on the board (raw 1 and 0)"
    );
}

#[test]
fn a_missing_image_is_told_with_its_path_and_how_to_build_it() {
    let error = started_with(Path::new("target/no/such/image")).err().unwrap();
    assert!(matches!(error, VirtualControllerError::NoImage { .. }), "{error}");
    assert!(error.to_string().contains("target/no/such/image"));
    let help = miette::Diagnostic::help(&error).unwrap().to_string();
    assert!(help.contains("cargo xtask firmware"), "{help}");
}

#[test]
fn a_file_that_is_no_image_is_told() {
    let path = env::temp_dir().join(format!("trunnion-no-image-{}", std::process::id()));
    fs::write(&path, "not an image").unwrap();
    let error = started_with(&path).err().unwrap();
    fs::remove_file(&path).unwrap();
    assert!(matches!(error, VirtualControllerError::NotAnImage { .. }), "{error}");
}

/// This test program is an image of another processor: the emulator refuses it, where there is one.
#[test]
fn what_the_emulator_says_of_a_wrong_image_is_told() {
    let error = started_with(&env::current_exe().unwrap()).err().unwrap();
    match &error {
        VirtualControllerError::EmulatorEnded { said, .. } => assert_ne!(said, "nothing", "{error}"),
        VirtualControllerError::NoEmulator { .. } => {}
        _ => panic!("{error}"),
    }
}
