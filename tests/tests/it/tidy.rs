//! The house rules that a machine can hold. Each failure says where, what, and what to do.

mod code;
mod core_crates;
mod dependencies;
mod documents;
mod layout;
mod tree;
mod words;

/// Fails with all findings at once: one run shows the whole picture.
fn report(findings: Vec<String>, remedy: &str) {
    assert!(findings.is_empty(), "\n{}\n{remedy}\n", findings.join("\n"));
}
