//! What a set would do is shown before it is written to a controller, and what breaks a requirement is not written.

use trunnion::quantity::Millis;
use trunnion_desk::command_line::Outcome;

use crate::served_barrow::{KEY, ServedBarrow};
use crate::session::{Folder, Said, typed_words};

const TAKEN_OVER: &str = "this program has tried this very set";

fn unit(barrow: &ServedBarrow, words: &[&str]) -> Said {
    let at = barrow.at();
    typed_words(&[&["unit", "--at", &at], words].concat())
}

#[test]
fn a_set_that_breaks_a_requirement_is_written_only_when_somebody_asks_for_that() {
    let (barrow, folder) = (ServedBarrow::start(), Folder::new());
    let (key, kept) = (folder.file("unit.key", KEY), folder.path("set.json"));
    let words = ["set", "stop_time = 900 ms", "--key", &key, "--preview", &kept];
    let refused = unit(&barrow, &words);
    assert_eq!(refused.outcome, Outcome::Failed, "{}", refused.errors);
    for text in [
        "400 ms  →  900 ms",
        "BREAKS wire_broken S-01",
        "longest stop: 0.32 m (wire_broken, as told) before, 0.57 m",
    ] {
        assert!(refused.out.contains(text), "{text} in\n{}", refused.out);
    }
    assert!(refused.errors.contains("Nothing was written"), "{}", refused.errors);
    assert!(refused.errors.contains("--despite-violations"), "{}", refused.errors);
    assert_eq!(barrow.with(|state| state.parameters.stop_time()), Millis::millis(400));
    assert!(folder.read("set.json").contains("\"refused\": true"));

    let keyless = unit(&barrow, &["set", "stop_time = 900 ms", "--despite-violations", "--preview", &kept]);
    assert_eq!(keyless.outcome, Outcome::Refused, "{}", keyless.errors);
    let written = unit(&barrow, &[&words[..], &["--despite-violations"]].concat());
    assert_eq!(written.outcome, Outcome::AllHeld, "{}", written.errors);
    assert!(written.errors.contains("you asked to write it nevertheless"), "{}", written.errors);
    assert!(written.out.contains("BREAKS wire_broken S-01"), "{}", written.out);
    assert_eq!(barrow.with(|state| state.parameters.stop_time()), Millis::millis(900));
}

#[test]
fn a_preview_of_this_very_set_is_taken_over_and_another_is_not() {
    let (barrow, folder) = (ServedBarrow::start(), Folder::new());
    let (key, file) = (folder.file("unit.key", KEY), folder.file("soft.txt", "stop_time = 395 ms\n"));
    let shown = unit(&barrow, &["restore", &file]);
    assert_eq!(shown.outcome, Outcome::AllHeld, "{}", shown.errors);
    assert!(!shown.errors.contains(TAKEN_OVER), "{}", shown.errors);
    let kept = folder.read("soft.txt.preview.json");

    let other_build = kept.replace("\"program\": \"", "\"program\": \"0");
    for foreign in [other_build, kept.replace("395 ms", "390 ms"), "torn".to_owned()] {
        folder.file("soft.txt.preview.json", &foreign);
        let again = unit(&barrow, &["restore", &file]);
        assert!(!again.errors.contains(TAKEN_OVER), "{}\n{foreign}", again.errors);
    }
    let written = unit(&barrow, &["restore", &file, "--yes", "--key", &key]);
    assert_eq!(written.outcome, Outcome::AllHeld, "{}", written.errors);
    assert!(written.errors.contains(TAKEN_OVER), "{}", written.errors);
    assert!(written.out.contains("3 runs with each set"), "{}", written.out);
    assert_eq!(barrow.with(|state| state.parameters.stop_time()), Millis::millis(395));

    // The same words on a controller that is not the same any more are another change.
    barrow.with(|state| state.parameters = Default::default());
    let before = unit(&barrow, &["set", "ramp_time = 990 ms", "--key", &key, "--preview", &folder.path("a")]);
    assert_eq!(before.outcome, Outcome::AllHeld, "{}", before.errors);
    let after = unit(&barrow, &["restore", &file]);
    assert!(!after.errors.contains(TAKEN_OVER), "{}", after.errors);
    assert!(folder.read("soft.txt.preview.json").contains("990 ms"), "what the controller has is kept");
}
