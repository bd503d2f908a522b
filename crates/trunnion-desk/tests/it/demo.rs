use trunnion_desk::command_line::Outcome;

use crate::session::{Folder, typed};

#[test]
fn the_demo_says_what_it_did_and_writes_report_and_picture() {
    let folder = Folder::new();
    let image = folder.file("image", "faithful");
    let said = typed(&format!("demo --firmware {image} --out {}", folder.path("demo")));
    assert_eq!(said.outcome, Outcome::AllHeld, "{}\n{}", said.out, said.errors);
    let told = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for text in [
        "2 scenarios, 14 s of machine time: An errand; A grip's wire breaks",
        "8 of 8 held",
        "bit for bit: every output and every internal point of 1400 ticks",
        "info: started, run 1",
        "report.html",
    ] {
        assert!(told.contains(text), "{text} in\n{}", said.out);
    }
    let page = folder.read("demo/report.html");
    for text in [
        "Pair ramp beside independent ramps",
        "A slow and a quick ramp",
        "stops both tracks",
        "SPN 520192 FMI 5",
    ] {
        assert!(page.contains(text), "{text}");
    }
    assert!(folder.read("demo/picture.svg").starts_with("<svg"));
}

#[test]
fn without_an_image_the_demo_says_that_nothing_was_compared() {
    let folder = Folder::new();
    let said = typed(&format!("demo --out {}", folder.path("demo")));
    assert_eq!(said.outcome, Outcome::AllHeld, "{}", said.errors);
    assert!(said.out.contains("not compared: give its image with --firmware"), "{}", said.out);
}

#[test]
fn an_emulator_that_is_not_installed_is_said_and_fails_nothing() {
    let folder = Folder::new();
    let said = typed(&format!(
        "demo --firmware {} --out {}",
        folder.file("image", "no emulator"),
        folder.path("demo")
    ));
    assert_eq!(said.outcome, Outcome::AllHeld);
    let told = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("apt-get install qemu-system-arm"), "{}", said.out);
    assert!(folder.has("demo/report.html"));
}

#[test]
fn firmware_that_differs_fails_the_demo_and_is_named() {
    let folder = Folder::new();
    let image = folder.file("image", "differs at 10");
    let said = typed(&format!("demo --firmware {image} --out {}", folder.path("demo")));
    assert_eq!(said.outcome, Outcome::Failed);
    assert!(said.out.contains("host and board differ in tick 10"), "{}", said.out);
}
