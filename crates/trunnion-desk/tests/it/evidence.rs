use trunnion_desk::command_line::Outcome;

use crate::session::{Folder, typed};

#[test]
fn evidence_leads_from_hazards_to_runs_and_names_what_is_missing() {
    let folder = Folder::new();
    let said = typed(&format!("evidence --out {}", folder.path("evidence")));
    assert_eq!(said.outcome, Outcome::AllHeld, "{}{}", said.out, said.errors);
    assert!(said.out.contains("gaps, named `GAP`"), "{}", said.out);
    let traced = folder.read("evidence/traceability.csv");
    for text in
        ["H-01", "R-02", "held in 3 scenarios", "GAP: no campaign was given", "GAP: no hunt was given"]
    {
        assert!(traced.contains(text), "{text} in\n{traced}");
    }
    let runs = folder.read("evidence/scenarios.csv");
    assert!(runs.contains("barrow run errand") && runs.matches("passed").count() == 3, "{runs}");
    let limits = folder.read("evidence/builds_and_limits.csv");
    assert!(limits.contains("GAP: no image was given") && limits.contains("SHA-256"), "{limits}");
    let page = folder.read("evidence/evidence.html");
    assert!(page.contains("class=\"gap\"") && page.contains("No safety certification is claimed"));
    assert!(!page.contains("http"), "it needs no network");
}

#[test]
fn a_file_that_is_no_result_is_refused_with_what_makes_one() {
    let folder = Folder::new();
    let file = folder.file("hunt.json", "{}");
    let said = typed(&format!("evidence --out {} --hunt {file}", folder.path("evidence")));
    assert_eq!(said.outcome, Outcome::Refused);
    assert!(said.errors.contains("hunt --json FILE"), "{}", said.errors);
}
