use trunnion_desk::command_line::Outcome;

use crate::session::{Folder, typed, typed_words};

/// Its own requirement cannot hold: at 90 % the barrow does more than 1 m/s.
const TOO_FAST: &str = "\
scenario  Hurried
length    3 s
set       hold_bar_held = yes
at 0.5 s  left_grip = 90 %, right_grip = 90 %
require   S-07 (H-02) nobody has to run: always true_left_speed < 0.5 m/s
";

#[test]
fn all_scenarios_are_told_in_their_order_and_counted_in_the_last_line() {
    let said = typed("run --all");
    assert_eq!(said.outcome, Outcome::AllHeld, "{}\n{}", said.out, said.errors);
    assert_eq!(said.out.lines().last(), Some("3 passed, 0 failed, 0 skipped"));
    let places = ["errand: An errand", "bar_released: The hold bar", "wire_broken: A grip's wire"]
        .map(|heading| said.out.find(heading).unwrap_or_else(|| panic!("{heading} in\n{}", said.out)));
    assert!(places.is_sorted());
    assert_eq!(said.errors, "");
}

#[test]
fn a_held_requirement_shows_margin_unit_and_time() {
    let said = typed("run errand");
    let row = said.out.lines().find(|line| line.contains("R-02")).unwrap();
    assert!(row.trim_start().starts_with("held") && row.contains(" m/s at "), "{row}");
    let yes_no = said.out.lines().find(|line| line.contains("R-03")).unwrap();
    assert!(yes_no.contains("yes/no"), "{yes_no}");
}

#[test]
fn the_same_seed_gives_the_same_hash_and_another_seed_another() {
    let hash = |command: &str| {
        let said = typed(command);
        let line = said.out.lines().find(|line| line.trim_start().starts_with("trace")).unwrap().to_owned();
        line.split_whitespace().last().unwrap().to_owned()
    };
    assert_eq!(hash("run errand").len(), 64);
    assert_eq!(hash("run errand"), hash("run errand --seed 3"));
    assert_ne!(hash("run errand"), hash("run errand --seed 4"));
}

#[test]
fn a_violation_is_explained_and_fails_the_command() {
    let folder = Folder::new();
    let said = typed(&format!("run --quiet errand {}", folder.file("hurried.scenario", TOO_FAST)));
    assert_eq!(said.outcome, Outcome::Failed);
    assert!(said.out.contains("passed    errand: An errand\n"), "{}", said.out);
    assert!(said.out.contains("failed    hurried: Hurried\n"), "{}", said.out);
    assert!(said.out.contains("VIOLATED") && said.out.contains("S-07"), "{}", said.out);
    assert!(said.out.contains("true_left_speed = "), "the value is told: {}", said.out);
    assert!(said.out.contains("hazard: H-02"), "{}", said.out);
    assert_eq!(said.out.lines().last(), Some("1 passed, 1 failed, 0 skipped"));
}

#[test]
fn a_run_that_ends_too_early_to_tell_is_undecided_and_not_passed() {
    let folder = Folder::new();
    let text = "scenario Short\nlength 1 s\nset hold_bar_held = yes\nat 0.1 s left_grip = 90 %\nat 0.9 s hold_bar_held = no\n";
    let said = typed(&format!("run {}", folder.file("short.scenario", text)));
    assert_eq!(said.outcome, Outcome::Failed);
    let row = said.out.lines().find(|line| line.contains("R-01")).unwrap();
    assert!(row.trim_start().starts_with("undecided"), "{row}");
    assert_eq!(said.out.lines().last(), Some("0 passed, 1 failed, 0 skipped"));
}

#[test]
fn another_parameter_changes_the_run_as_if_it_stood_in_the_scenario() {
    let folder = Folder::new();
    let file = folder.file("hurried.scenario", TOO_FAST);
    let said = typed_words(&["run", &file, "--parameter", "speed_maximum = 300 ‰"]);
    assert_eq!(said.outcome, Outcome::AllHeld, "{}", said.out);
}

#[test]
fn a_trace_is_written_with_units_and_one_record_a_tick() {
    let folder = Folder::new();
    let said = typed(&format!("run errand --quiet --csv {}", folder.path("traces")));
    assert_eq!(said.outcome, Outcome::AllHeld);
    let text = folder.read("traces/errand.csv");
    let mut lines = text.split("\r\n");
    let heading = lines.next().unwrap();
    assert!(
        heading.starts_with("time [s],left_grip_signal [‰],right_grip_signal [‰],hold_bar,"),
        "{heading}"
    );
    assert!(heading.contains(",true_heading [°],"), "{heading}");
    assert_eq!(lines.filter(|line| !line.is_empty()).count(), 900);
    assert!(text.contains(",bar_released,") || text.contains(",nothing,"), "choices are told by name");
}

#[test]
fn results_for_scripts_are_the_same_bytes_every_time_and_alone_on_the_output() {
    let said = typed("run --all --json -");
    let results: serde_json::Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(results["passed"], 3);
    assert_eq!(results["scenarios"][1]["name"], "bar_released");
    assert_eq!(results["scenarios"][0]["requirements"][3]["id"], "S-01");
    assert!(said.errors.ends_with("3 passed, 0 failed, 0 skipped\n"), "{}", said.errors);
    assert_eq!(typed("run --all --json -").out, said.out);
}

#[test]
fn a_report_holds_every_run_and_what_the_hazards_are() {
    let folder = Folder::new();
    let said = typed(&format!("run --all --quiet --report {}", folder.path("deep/all.html")));
    assert_eq!(said.outcome, Outcome::AllHeld, "{}", said.errors);
    let page = folder.read("deep/all.html");
    for text in
        ["An errand", "The hold bar is let go", "H-01 It runs away", "Parameter sheet", "speed_maximum"]
    {
        assert!(page.contains(text), "{text}");
    }
}
