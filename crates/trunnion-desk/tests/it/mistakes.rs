use trunnion_desk::command_line::Outcome;

use crate::session::{Folder, Said, typed, typed_words};

fn checked(text: &str) -> Said {
    let folder = Folder::new();
    typed(&format!("check {}", folder.file("mine.scenario", text)))
}

const GOOD: &str = "scenario  Mine\nlength    3 s\nset       hold_bar_held = yes\n";

#[test]
fn a_good_file_is_said_to_be_good_and_is_not_run() {
    let said = checked(&format!("{GOOD}require S-01 never true: always true_x > 5 m\n"));
    assert_eq!(said.outcome, Outcome::AllHeld, "{}", said.errors);
    assert!(said.out.ends_with("mine.scenario: no error found\n"), "{}", said.out);
}

#[test]
fn every_error_of_a_file_is_drawn_at_its_place_with_what_was_expected() {
    let said = checked(&format!(
        "{GOOD}at 1 s    left_grop = 20 %\nat 2 s    right_grip moves to 120 % over 1 s\nat 2 s    parameter ramp_time = 9 s\n"
    ));
    assert_eq!(said.outcome, Outcome::Refused);
    assert_eq!(said.out, "");
    for text in [
        "there is no action `left_grop`",
        "mine.scenario:4:11",
        "did you mean `left_grip`?",
        "mine.scenario:5:",
        "-100 % to 100 %",
        "mine.scenario:6:",
        "200 ms to 5000 ms",
        "3 errors found",
    ] {
        assert!(said.errors.contains(text), "{text} in\n{}", said.errors);
    }
}

#[test]
fn an_unknown_signal_in_a_formula_suggests_the_nearest() {
    let said = checked(&format!("{GOOD}require S-01 it stops: always left_rampd = 0\n"));
    assert!(said.errors.contains("did you mean `left_ramped`?"), "{}", said.errors);
    assert!(said.errors.contains("mine.scenario:4:"), "{}", said.errors);
}

#[test]
fn nothing_is_run_when_one_of_the_scenarios_has_an_error() {
    let folder = Folder::new();
    let file = folder.file("mine.scenario", &format!("{GOOD}at 1 s left_grip = 3 kPa\n"));
    let said = typed(&format!("run errand {file}"));
    assert_eq!((said.outcome, said.out.as_str()), (Outcome::Refused, ""));
    assert!(said.errors.contains("mine.scenario:4:"), "{}", said.errors);
}

#[test]
fn an_impossible_parameter_is_refused_with_its_range() {
    let said = typed_words(&["run", "errand", "--parameter", "stop_time = 5 s"]);
    assert_eq!(said.outcome, Outcome::Refused);
    assert!(said.errors.contains("100 ms to 1000 ms"), "{}", said.errors);
    let constant = typed_words(&["run", "errand", "--parameter", "track_pads = 30"]);
    assert_eq!(constant.outcome, Outcome::Refused, "{}", constant.out);
    let nothing = typed_words(&["run", "errand", "--parameter", "stop_time"]);
    assert!(nothing.errors.contains("NAME = VALUE"), "{}", nothing.errors);
}

#[test]
fn a_scenario_that_does_not_exist_suggests_the_nearest() {
    let said = typed("run erand");
    assert_eq!(said.outcome, Outcome::Refused);
    assert!(said.errors.contains("did you mean `errand`?"), "{}", said.errors);
    assert!(said.errors.contains("barrow list scenarios"), "{}", said.errors);
}

#[test]
fn run_without_a_scenario_and_unknown_verbs_are_wrong_usage() {
    for command in ["run", "runn errand", "run errand --sed 3", "", "sheet wires", "run --all errand"] {
        let said = typed(command);
        assert_eq!((said.outcome, said.out.as_str()), (Outcome::Refused, ""), "{command}");
        assert!(!said.errors.is_empty(), "{command}");
    }
}

#[test]
fn help_teaches_with_examples_that_run() {
    let help = typed("run --help");
    assert_eq!(help.outcome, Outcome::AllHeld);
    assert!(help.out.contains("barrow run errand"), "{}", help.out);
    assert!(typed("--help").out.contains("Exit codes"));
    assert!(typed("--version").out.contains("barrow 0.1.0"));
    assert_eq!(typed("run errand --quiet").outcome, Outcome::AllHeld);
}
