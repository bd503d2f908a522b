//! What others say of a block: independent checks and exhaustive proofs.

use std::{env, fs, path::Path, process::Command};

use super::source::read;

/// Independent checks, by block.
pub struct Checks(Vec<(String, String)>);

impl Checks {
    /// From the marks at the heads of the tests.
    pub fn read(top: &Path) -> Result<Self, String> {
        let folder = top.join("tests/tests/it");
        let entries = fs::read_dir(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        let mut paths: Vec<_> = entries.flatten().map(|entry| entry.path()).collect();
        paths.retain(|path| path.extension().is_some_and(|ending| ending == "rs"));
        paths.sort_unstable();
        let mut marks = Vec::new();
        for path in paths {
            let file = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or("").to_owned();
            let text = read(&path)?;
            let lines = text.lines().filter_map(|line| line.strip_prefix("//! Checks: "));
            for key in lines.flat_map(|line| line.trim_end_matches('.').split(", ")) {
                marks.push((key.to_owned(), file.clone()));
            }
        }
        Ok(Self(marks))
    }

    /// Files that check a block.
    pub fn of(&self, keys: &[String; 2]) -> impl Iterator<Item = &str> {
        self.0.iter().filter(|(key, _)| keys.contains(key)).map(|(_, file)| file.as_str())
    }

    /// All blocks that are named.
    #[cfg(test)]
    pub fn keys(&self) -> impl Iterator<Item = &String> {
        self.0.iter().map(|(key, _)| key)
    }
}

/// A sweep or a walk.
pub struct Proof {
    pub name: String,
    pub kind: String,
    pub claims: Vec<String>,
    block: String,
}

/// All sweeps and walks.
pub struct Proofs(Vec<Proof>);

impl Proofs {
    /// Asks the package `proofs`; none where there is no such package.
    pub fn listed(top: &Path) -> Result<Self, String> {
        if !top.join("tests/proofs/Cargo.toml").is_file() {
            return Ok(Self(Vec::new()));
        }
        let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let words = ["run", "--quiet", "--package", "proofs", "--", "list", "--json"];
        let answer = Command::new(cargo)
            .args(words)
            .current_dir(top)
            .output()
            .map_err(|error| format!("cargo {}: {error}", words.join(" ")))?;
        if !answer.status.success() {
            let said = String::from_utf8_lossy(&answer.stderr);
            return Err(format!("cargo {}: {}", words.join(" "), said.trim()));
        }
        Self::parsed(&String::from_utf8_lossy(&answer.stdout))
    }

    /// From a list of `{ "name", "block", "kind", "claims" }`.
    fn parsed(json: &str) -> Result<Self, String> {
        let list: serde_json::Value =
            serde_json::from_str(json).map_err(|error| format!("the list of proofs is no JSON: {error}"))?;
        let list = list.as_array().ok_or("the list of proofs is no list")?;
        let proof = |entry: &serde_json::Value| {
            let text = |field: &str| {
                entry[field].as_str().map(str::to_owned).ok_or_else(|| format!("a proof without `{field}`"))
            };
            let claims = entry["claims"].as_array().into_iter().flatten();
            Ok(Proof {
                name: text("name")?,
                kind: text("kind")?,
                block: text("block")?,
                claims: claims.filter_map(|claim| claim.as_str().map(str::to_owned)).collect(),
            })
        };
        list.iter().map(proof).collect::<Result<Vec<Proof>, String>>().map(Self)
    }

    /// Those of a block. Properties in the long mode are told as properties.
    pub fn of(&self, keys: &[String; 2]) -> impl Iterator<Item = &Proof> {
        self.0.iter().filter(|proof| keys.contains(&proof.block) && proof.kind != "property")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_of_proofs_is_read_and_a_broken_one_refused() {
        let json = r#"[{"name":"lock","block":"guard/lock","kind":"walk","family":"all","claims":["opens only in neutral"]}]"#;
        let proofs = Proofs::parsed(json).unwrap();
        let keys = ["guard/lock".to_owned(), "guard/lock".to_owned()];
        assert_eq!(proofs.of(&keys).next().unwrap().claims, ["opens only in neutral"]);
        assert!(Proofs::parsed("[{\"name\":\"x\"}]").is_err_and(|why| why.contains("`kind`")));
    }
}
