//! Which targets hold unit tests: what a manifest says is not tested is not built for it.

use serde_json::Value;

use crate::{toolchain::Toolchain, workspace::Workspace};

/// Words for `cargo test` that select every library and program with unit tests, and nothing else. `--lib --bins` alone would
/// also select what a manifest says has none, and build all that those stand on a second time.
pub fn of_units(workspace: &Workspace, own: &Toolchain) -> Result<Vec<String>, String> {
    Ok(of_metadata(&own.metadata(workspace)?))
}

fn of_metadata(json: &Value) -> Vec<String> {
    let mut words = vec!["--workspace".to_owned(), "--lib".to_owned()];
    for package in json["packages"].as_array().into_iter().flatten() {
        let tested = |kind: &str| {
            let targets = package["targets"].as_array().into_iter().flatten();
            let ours = targets.filter(|target| target["test"] == true && target["kind"][0] == kind);
            ours.filter_map(|target| target["name"].as_str()).map(str::to_owned).collect::<Vec<_>>()
        };
        let programs = tested("bin");
        if programs.is_empty() && tested("lib").is_empty() {
            words.extend(["--exclude".to_owned(), package["name"].as_str().unwrap_or("").to_owned()]);
        }
        words.extend(programs.into_iter().flat_map(|program| ["--bin".to_owned(), program]));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_a_manifest_says_has_no_unit_test_is_left_out() {
        let target =
            |kind: &str, name: &str, test: bool| json!({ "kind": [kind], "name": name, "test": test });
        let json = json!({ "packages": [
            { "name": "block", "targets": [target("lib", "block", true), target("test", "it", true)] },
            { "name": "machine", "targets": [target("lib", "machine", true), target("bin", "desk", false)] },
            { "name": "tool", "targets": [target("bin", "tool", true)] },
            { "name": "checks", "targets": [target("lib", "checks", false), target("test", "it", true)] },
        ] });
        assert_eq!(of_metadata(&json), ["--workspace", "--lib", "--bin", "tool", "--exclude", "checks"]);
    }
}
