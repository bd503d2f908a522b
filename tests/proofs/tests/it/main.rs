//! The proofs themselves: all of them hold in quick mode, and each way of looking finds what is wrong.

mod negative;

use proofs::{
    catalogue,
    progress::Progress,
    proof::{Bench, Effort},
};

#[test]
fn every_proof_holds_at_boundaries_and_strides() {
    let progress = Progress::new();
    let bench = Bench { effort: Effort::Quick, threads: 2, progress: &progress };
    let mut findings = Vec::new();
    for proof in catalogue::all() {
        let outcome = (proof.run)(&bench);
        assert!(outcome.inputs + outcome.transitions > 0, "{} covered nothing", proof.name);
        findings.extend(outcome.findings.into_iter().map(|finding| format!("{}: {finding}", proof.name)));
    }
    assert!(findings.is_empty(), "\n{}\n", findings.join("\n"));
}
