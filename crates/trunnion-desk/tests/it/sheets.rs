use trunnion_desk::command_line::Outcome;

use crate::session::{Folder, typed, typed_words};

#[test]
fn every_sheet_is_printed_alone_in_every_form() {
    for (sheet, text) in [
        ("wiring", "left_grip_signal"),
        ("parameters", "stop_time"),
        ("faults", "LeftGripOpen"),
        ("signals", "true_heading"),
    ] {
        for format in ["text", "markdown", "csv"] {
            let said = typed(&format!("sheet {sheet} --format {format}"));
            assert_eq!(said.outcome, Outcome::AllHeld);
            assert!(said.out.contains(text), "{sheet} {format}\n{}", said.out);
        }
        let table = typed(&format!("sheet {sheet} --format markdown")).out;
        assert!(table.lines().all(|line| line.starts_with('|')), "{table}");
    }
    assert!(typed("sheet wiring --format markdown").out.contains("| X3:1 |"), "ports are on the wiring list");
    assert!(typed("sheet faults").out.contains("stops both tracks"));
}

#[test]
fn comma_separated_sheets_end_their_lines_as_the_standard_says() {
    let sheet = typed("sheet parameters --format csv").out;
    assert_eq!(sheet.matches("\r\n").count(), 5);
    assert_eq!(sheet.matches('\n').count(), 5);
}

#[test]
fn the_list_tells_what_there_is() {
    let said = typed("list");
    for text in [
        "An errand (9 s). Out, a spin on the spot, and back.",
        "R-02",
        "-100 to 100 %, at rest 0 %",
        "no, yes; at rest no",
        "Breaks as: open",
        "columns are recorded",
    ] {
        assert!(said.out.contains(text), "{text} in\n{}", said.out);
    }
    let columns = typed("list columns").out;
    assert!(columns.contains("fault_left_grip_open") && columns.contains("set_left_grip"), "{columns}");
}

#[test]
fn names_are_explained_with_everything_that_is_declared() {
    for (name, texts) in [
        ("left_duty", &["signal left_duty", "X2:3", "wire of left_duty", "proportional coil"][..]),
        ("stop_time", &["parameter stop_time", "100–1000", "safety"]),
        ("fault_left_grip_open", &["fault LeftGripOpen", "520192", "stops both tracks"]),
        ("R-01", &["requirement R-01", "H-01 It runs away", "hold_bar falls"]),
        ("H-01", &["hazard H-01", "R-01, R-03"]),
        ("left_grip", &["control left_grip", "at 2 s left_grip moves to 100 % over 0.5 s"]),
        ("left_grip_signal", &["can break: left_grip_signal", "at 2 s break left_grip_signal: open"]),
        ("errand", &["scenario errand", "S-01 it went out a good way"]),
    ] {
        let said = typed(&format!("explain {name}"));
        assert_eq!(said.outcome, Outcome::AllHeld, "{name}: {}", said.errors);
        for text in texts {
            assert!(said.out.contains(text), "{name}: {text} in\n{}", said.out);
        }
    }
    let unknown = typed("explain left_dutty");
    assert_eq!(unknown.outcome, Outcome::Refused);
    assert!(unknown.errors.contains("did you mean `left_duty`?"), "{}", unknown.errors);
}

#[test]
fn completions_are_a_script_that_knows_the_verbs() {
    let said = typed("completions bash");
    assert_eq!(said.outcome, Outcome::AllHeld);
    assert!(said.out.contains("completions") && said.out.contains("--firmware"), "{}", said.out);
}

#[test]
fn papers_are_one_folder_and_the_same_bytes_each_time() {
    let (first, second) = (Folder::new(), Folder::new());
    for folder in [&first, &second] {
        let said = typed_words(&["papers", "--out", &folder.path("papers")]);
        assert_eq!(said.outcome, Outcome::AllHeld, "{}", said.errors);
        assert_eq!(said.out.lines().count(), 16, "{}", said.out);
    }
    for name in ["wiring", "parameters", "faults", "messages", "identifiers", "memory", "signals"] {
        for form in ["csv", "md"] {
            let file = format!("papers/{name}.{form}");
            assert_eq!(first.read(&file), second.read(&file));
        }
    }
    assert_eq!(first.read("papers/barrow.html"), second.read("papers/barrow.html"));
    let identifiers = first.read("papers/identifiers.csv");
    for text in [
        "stop_time",
        "write: level 2, at rest, neutral",
        "0x9000,internal point,left_asked",
        "0xF18C",
        "0x0201,routine",
    ] {
        assert!(identifiers.contains(text), "{text} in\n{identifiers}");
    }
    assert!(first.read("papers/barrow.dbc").contains("BU_:"));
}
