//! Every combination of a crate's features builds, on the toolchain that runs us and on Debian's.
//!
//! A handful of features needs no program of its own to be enumerated: `cargo hack` costs a minute to install and would run
//! the same commands.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::{
    command::Task,
    tally::Tally,
    toolchain::{CrossToolchain, OLDEST, Toolchain},
    workspace::Workspace,
};

/// Features that build for a controller only.
const FOR_THE_BOARD: &[&str] = &["mps2", "planted-panic"];

/// Crates that hold the control program's blocks.
const ON_CONTROLLERS: &[&str] =
    &["trunnion", "trunnion-can", "trunnion-service", "trunnion-store", "trunnion-board"];

/// The packages of `crates/` and their features.
fn packages(workspace: &Workspace, own: &Toolchain) -> Result<BTreeMap<String, Vec<String>>, String> {
    Ok(of_metadata(&own.metadata(workspace)?, &workspace.root.join("crates").to_string_lossy()))
}

fn of_metadata(json: &Value, folder: &str) -> BTreeMap<String, Vec<String>> {
    let packages = json["packages"].as_array().into_iter().flatten();
    let ours = packages
        .filter(|package| package["manifest_path"].as_str().is_some_and(|path| path.starts_with(folder)));
    let features = |package: &Value| {
        let names = package["features"].as_object().into_iter().flat_map(|features| features.keys());
        names.filter(|name| *name != "default").cloned().collect()
    };
    ours.filter_map(|package| Some((package["name"].as_str()?.to_owned(), features(package)))).collect()
}

/// All subsets, the empty one first.
fn powerset(features: &[String]) -> Vec<Vec<String>> {
    features.iter().fold(vec![Vec::new()], |sets, feature| {
        let with = sets.iter().map(|set: &Vec<String>| [&set[..], std::slice::from_ref(feature)].concat());
        sets.iter().cloned().chain(with).collect()
    })
}

/// Checks all combinations of the crates that have features. Libraries alone: what tests need does not come along.
pub fn check(workspace: &Workspace, own: &Toolchain, cross: Option<&CrossToolchain>, tally: &mut Tally) {
    let packages = match packages(workspace, own) {
        Ok(packages) if packages.values().any(|features| !features.is_empty()) => packages,
        Ok(_) => {
            return tally
                .fail("feature combinations", "no crate has a feature: is the list still read?".to_owned());
        }
        Err(why) => return tally.fail("feature combinations", why),
    };
    for (package, features) in packages.iter().filter(|(_, features)| !features.is_empty()) {
        for set in powerset(features) {
            let what = format!(
                "{package} with {}",
                if set.is_empty() { "no feature".to_owned() } else { set.join(" and ") }
            );
            let on_board = set.iter().any(|feature| FOR_THE_BOARD.contains(&feature.as_str()));
            let task = match (on_board, cross) {
                (false, _) => own.cargo(workspace, "features").args(["check"]),
                (true, Some(cross)) => cross.cargo(workspace, "features", "check"),
                (true, None) => {
                    tally.skip(&what, "no toolchain for the image".to_owned());
                    continue;
                }
            };
            verdict(workspace, checked(task, package, &set), &what, tally);
        }
    }
}

/// Checks the crates with the oldest compiler that is promised and with Debian's, which is newer.
pub fn check_compilers(workspace: &Workspace, own: &Toolchain, tally: &mut Tally) {
    let (oldest, version) = (Toolchain::oldest(own), format!("rustc {}.{}", OLDEST.0, OLDEST.1));
    let lacking = format!("`rustup toolchain install {}.{}` brings it", OLDEST.0, OLDEST.1);
    match oldest {
        Some(oldest) if oldest == *own => {
            tally.pass(&format!("{version} is the oldest promised, and runs the whole suite"))
        }
        Some(oldest) => check_with(workspace, &oldest, "oldest", tally),
        None => tally.skip(&format!("the crates with {version}, the oldest promised"), lacking),
    }
    match Toolchain::debian() {
        Some(debian) if debian != *own => check_with(workspace, &debian, "debian", tally),
        Some(_) => tally.pass("Debian's compiler runs the whole suite"),
        None => tally.skip(
            "the crates with Debian's compiler",
            "it is not installed; see `cargo xtask setup`".to_owned(),
        ),
    }
}

/// The crates that run on a controller: what others build on. A folder of its own keeps the host's results.
fn check_with(workspace: &Workspace, toolchain: &Toolchain, folder: &str, tally: &mut Tally) {
    let task = toolchain
        .cargo(workspace, folder)
        .env("CARGO_TARGET_DIR", workspace.target.join(folder))
        .args(["check", "--quiet", "--lib"])
        .args(ON_CONTROLLERS.iter().flat_map(|package| ["--package", package]));
    verdict(workspace, task, &format!("the core crates with {}", toolchain.name()), tally);
}

fn checked(task: Task, package: &str, set: &[String]) -> Task {
    let task = task.args(["--quiet", "--lib", "--package", package, "--no-default-features"]);
    if set.is_empty() { task } else { task.args(["--features"]).args([set.join(",")]) }
}

fn verdict(workspace: &Workspace, task: Task, what: &str, tally: &mut Tally) {
    if task.run(workspace).success {
        tally.pass(what);
    } else {
        tally.fail(what, "see above".to_owned());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn three_features_have_eight_combinations_each_once() {
        let features = ["a", "b", "c"].map(str::to_owned);
        let mut sets = powerset(&features);
        assert_eq!(sets[0], Vec::<String>::new());
        sets.sort();
        sets.dedup();
        assert_eq!(sets.len(), 8);
        assert!(sets.contains(&features.to_vec()));
    }

    #[test]
    fn features_are_read_of_our_own_crates_and_the_default_is_none_of_them() {
        let json = json!({ "packages": [
            { "name": "one", "manifest_path": "/top/crates/one/Cargo.toml", "features": { "default": [], "log": ["dep:x"] } },
            { "name": "other", "manifest_path": "/top/examples/other/Cargo.toml", "features": { "desk": [] } },
        ] });
        assert_eq!(of_metadata(&json, "/top/crates"), [("one".to_owned(), vec!["log".to_owned()])].into());
    }
}
