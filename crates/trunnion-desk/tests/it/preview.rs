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
fn a_name_or_a_value_that_cannot_be_is_told_with_what_could() {
    let unknown = typed_words(&["preview", "stop_tim = 900 ms"]);
    assert_eq!(unknown.outcome, Outcome::Refused);
    assert!(unknown.errors.contains("stop_time"), "{}", unknown.errors);
    let outside = typed_words(&["preview", "stop_time = 9000 ms"]);
    assert_eq!(outside.outcome, Outcome::Refused);
    assert!(outside.errors.contains("1000"), "{}", outside.errors);
    assert_eq!(typed_words(&["preview", "stop_time"]).outcome, Outcome::Refused);
}
