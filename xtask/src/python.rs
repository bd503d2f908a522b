//! The Python environment of the independent oracles: made under `target`, versions pinned.

use std::{fs, path::PathBuf};

use crate::{
    command::{Task, ask, on_path},
    workspace::Workspace,
};

const REQUIREMENTS: &str = "tests/python/requirements.txt";
/// Can this interpreter make an environment that runs the pinned packages?
const PROBE: &str = "import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))";

/// An interpreter that can make the environment.
pub fn interpreter() -> Option<PathBuf> {
    let candidates = [on_path("python3"), Some(PathBuf::from("/usr/bin/python3"))];
    candidates.into_iter().flatten().find(|python| ask(python, ["-c", PROBE]).is_some())
}

/// The environment's interpreter, after making the environment and installing what is pinned if need be.
pub fn environment(workspace: &Workspace) -> Result<PathBuf, String> {
    let folder = workspace.target.join("venv");
    let python = folder.join("bin/python");
    let stamp = folder.join("requirements.installed");
    let wanted = fs::read_to_string(workspace.root.join(REQUIREMENTS))
        .map_err(|error| format!("{REQUIREMENTS}: {error}"))?;
    let fresh = fs::read_to_string(&stamp).is_ok_and(|installed| installed == wanted);
    if fresh && ask(&python, ["-c", "pass"]).is_some() {
        return Ok(python);
    }
    let maker = interpreter().ok_or("no Python 3.11 or newer with venv")?;
    let made = Task::new(workspace, "python venv", maker).args(["-m", "venv", "--clear"]).args([&folder]);
    if !made.run(workspace).success {
        return Err("the Python environment could not be made".to_owned());
    }
    // What is compiled comes ready-made; one package of pure Python is published as source only.
    let ready = ["--only-binary", ":all:", "--no-binary", "antlr4-python3-runtime"];
    let pip = ["-m", "pip", "install", "--no-input"]
        .into_iter()
        .chain(ready)
        .chain(["--requirement", REQUIREMENTS]);
    if !Task::new(workspace, "pip install", &python).args(pip).run(workspace).success {
        return Err(format!("pip could not install {REQUIREMENTS} (is the package index reachable?)"));
    }
    fs::write(&stamp, wanted).map_err(|error| format!("{}: {error}", stamp.display()))?;
    Ok(python)
}
