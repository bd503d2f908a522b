//! Asks an independent library: runs a script of `tests/python`, JSON in, JSON out.

use std::{
    env,
    io::{self, Write},
    path::{Path, PathBuf},
    process::{Command, Stdio},
    thread,
};

use serde_json::Value;

/// The answer of a script, or nothing where there is no Python environment: then the check is skipped aloud.
///
/// `TRUNNION_PYTHON` names the interpreter; when it is set, everything that goes wrong fails the test.
/// Otherwise `target/venv` is used if `cargo xtask test` has made it.
pub fn ask(script: &str, question: &Value) -> Option<Value> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let Some(python) = interpreter(root) else {
        skip("no Python environment: `cargo xtask test --only conformance` makes it");
        return None;
    };
    let mut child = Command::new(&python)
        .arg(root.join("python").join(script))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{}: {error}", python.display()));
    let mut input = child.stdin.take().expect("its input was asked for");
    input.write_all(question.to_string().as_bytes()).expect("the script reads its input");
    drop(input);
    let answer = child.wait_with_output().expect("the script ends");
    assert!(answer.status.success(), "{script} failed: {}; its complaint is above", answer.status);
    Some(serde_json::from_slice(&answer.stdout).expect("the script answers in JSON"))
}

/// Numbers under a key of an answer.
pub fn numbers(answer: &Value, key: &str) -> Vec<f64> {
    let list = answer[key].as_array().unwrap_or_else(|| panic!("no list `{key}` in {answer}"));
    list.iter().map(|number| number.as_f64().expect("a number")).collect()
}

fn interpreter(root: &Path) -> Option<PathBuf> {
    if let Some(given) = env::var_os("TRUNNION_PYTHON") {
        return Some(PathBuf::from(given));
    }
    let target = env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("../target"), PathBuf::from);
    let python = target.join("venv/bin/python");
    python.is_file().then_some(python)
}

/// Says that the running test is skipped, past the harness's capture, in the form that `cargo xtask test` counts.
fn skip(why: &str) {
    let thread = thread::current();
    let name = thread.name().unwrap_or("a test");
    let _ = writeln!(io::stderr(), "skipped: {name}: {why}");
}
