use trunnion_desk::command_line::Outcome;

use crate::session::{Folder, typed_words};

#[test]
fn a_set_that_breaks_a_requirement_is_refused_with_margins_and_stops_of_both() {
    let said = typed_words(&["preview", "stop_time = 900 ms"]);
    assert_eq!(said.outcome, Outcome::Failed, "{}{}", said.out, said.errors);
    for text in [
        "BREAKS wire_broken S-01",
        "both tracks stop",
        "longest stop: 0.32 m (wire_broken, as told) before, 0.57 m",
        "3 runs with each set",
        "refused below the safety level",
    ] {
        assert!(said.out.contains(text), "{text} in\n{}", said.out);
    }
}

#[test]
fn a_harmless_set_is_kept_with_what_it_does() {
    let folder = Folder::new();
    let file = folder.path("set.json");
    let said = typed_words(&["preview", "stop_time = 395 ms", "--store", &file]);
    assert_eq!(said.outcome, Outcome::AllHeld, "{}{}", said.out, said.errors);
    assert!(said.out.contains("the set needs the safety level"), "{}", said.out);
    let stored = folder.read("set.json");
    for text in
        ["\"stop_time\"", "\"395 ms\"", "\"refused\": false", "No safety certification", "\"program\""]
    {
        assert!(stored.contains(text), "{text} in\n{stored}");
    }
}

#[test]
fn what_a_set_does_not_affect_is_counted_and_not_told() {
    let said = typed_words(&["preview", "stop_time = 400 ms"]);
    assert_eq!(said.outcome, Outcome::AllHeld, "{}{}", said.out, said.errors);
    assert!(said.out.contains("0 of them affected"), "{}", said.out);
    let counted = said.out.lines().find(|line| line.contains("requirements unaffected")).unwrap();
    let numbers: Vec<usize> = counted.split(' ').filter_map(|word| word.parse().ok()).collect();
    assert!(numbers[0] > 3 && numbers[0] == numbers[1], "as delivered is as it is: {counted}");
    assert!(!said.out.contains('→'), "{}", said.out);

    let other = typed_words(&["preview", "stop_time = 900 ms"]);
    let counted = other.out.lines().find(|line| line.contains("requirements unaffected")).unwrap();
    let fewer: Vec<usize> = counted.split(' ').filter_map(|word| word.parse().ok()).collect();
    assert!(0 < fewer[0] && fewer[0] < fewer[1] && fewer[1] == numbers[1], "{counted}");
    assert!(other.out.starts_with("BREAKS"), "the worst comes first: {}", other.out);
}

#[test]
fn a_log_whose_wires_nobody_tells_and_a_machine_without_a_bus_are_refused() {
    let folder = Folder::new();
    let log = folder.file("bus.log", "(0.010000) can0 18EEFF27#0100E0FF008000B0\n");
    let ask =
        |more: &[&str]| typed_words(&[&["preview", "stop_time = 395 ms", "--drive", &log], more].concat());
    let untold = ask(&[]);
    assert_eq!(untold.outcome, Outcome::Refused, "{}", untold.out);
    assert!(untold.errors.contains("nothing tells what the wires brought"), "{}", untold.errors);
    assert!(untold.errors.contains("--with"), "{}", untold.errors);
    let told = ask(&["--with", "errand"]);
    assert_eq!(told.outcome, Outcome::Refused, "{}", told.out);
    assert!(told.errors.contains("has no bus to play a log to"), "{}", told.errors);
    let empty = Folder::new();
    let inside = empty.path("a.txt");
    let nothing = std::path::Path::new(&inside).parent().unwrap().display().to_string();
    let none = typed_words(&["preview", "stop_time = 395 ms", "--drive", &nothing]);
    assert_eq!(none.outcome, Outcome::Refused, "{}", none.out);
    assert!(none.errors.contains("no file that ends in .log"), "{}", none.errors);
}

#[test]
fn a_name_or_a_value_that_cannot_be_is_told_with_what_could() {
    let unknown = typed_words(&["preview", "stop_tim = 900 ms"]);
    assert_eq!(unknown.outcome, Outcome::Refused);
    assert!(unknown.errors.contains("stop_time"), "{}", unknown.errors);
    let outside = typed_words(&["preview", "stop_time = 9000 ms"]);
    assert_eq!(outside.outcome, Outcome::Refused);
    assert!(outside.errors.contains("1000"), "{}", outside.errors);
    assert_eq!(typed_words(&["preview", "stop_time"]).outcome, Outcome::Refused);
}
