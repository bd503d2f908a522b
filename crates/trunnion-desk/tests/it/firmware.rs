use trunnion_desk::command_line::Outcome;

use crate::session::{Folder, typed};

#[test]
fn equal_firmware_is_told_with_its_ticks_and_a_live_write_goes_along() {
    let folder = Folder::new();
    let said = typed(&format!("run --all --firmware {}", folder.file("image", "faithful")));
    assert_eq!(said.outcome, Outcome::AllHeld, "{}\n{}", said.out, said.errors);
    assert!(said.out.contains("bit for bit over 900 ticks"), "{}", said.out);
    assert!(said.out.contains("bit for bit over 400 ticks"), "{}", said.out);
    assert_eq!(said.out.lines().last(), Some("3 passed, 0 failed, 0 skipped"));
}

#[test]
fn the_first_difference_is_named_and_fails_the_scenario() {
    let folder = Folder::new();
    let said =
        typed(&format!("run errand bar_released --firmware {}", folder.file("image", "differs at 450")));
    assert_eq!(said.outcome, Outcome::Failed);
    let told = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        told.contains("tick 450: lamp is yes on the host, no on the board (raw 1 and 0)"),
        "{}",
        said.out
    );
    assert_eq!(
        said.out.lines().last(),
        Some("1 passed, 1 failed, 0 skipped"),
        "the shorter run never gets there"
    );
}

#[test]
fn without_an_emulator_the_host_part_is_run_and_the_rest_said_to_be_skipped() {
    let folder = Folder::new();
    let said = typed(&format!("run errand --firmware {}", folder.file("image", "no emulator")));
    assert_eq!(said.outcome, Outcome::Refused);
    assert!(said.out.contains("held"), "{}", said.out);
    let told = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("apt-get install qemu-system-arm"), "{}", said.out);
    assert_eq!(said.out.lines().last(), Some("0 passed, 0 failed, 1 skipped"));
}

#[test]
fn an_image_that_is_not_there_is_refused_before_anything_is_run() {
    let said = typed("run --all --firmware no/such/image");
    assert_eq!((said.outcome, said.out.as_str()), (Outcome::Refused, ""));
    assert!(said.errors.contains("no/such/image cannot be read"), "{}", said.errors);
    assert!(said.errors.contains("cargo xtask firmware"), "{}", said.errors);
}
