//! The workspace's own programs, run by Cargo as a person would, or those that the suite has built anyway.

use std::path::PathBuf;

use crate::{command::Task, toolchain::Toolchain, workspace::Workspace};

/// Everything that the suite runs: programs, and the integration tests, which use them. Cargo resolves features for what is
/// selected, so a program built alone stands on libraries of its own; here each is built once.
const BUILT: [&str; 5] = ["build", "--workspace", "--bins", "--test", "*"];

/// How a command of the form `run … --package NAME -- WORDS` is run.
pub enum Programs<'a> {
    /// As it stands, by Cargo.
    ByCargo(&'a Toolchain),
    /// The built program in this folder.
    In(PathBuf),
}

impl Programs<'_> {
    /// Builds what the suite runs.
    pub fn build(workspace: &Workspace, own: &Toolchain) -> Result<Self, String> {
        if own.cargo(workspace, "programs").args(BUILT).run(workspace).success {
            Ok(Self::In(workspace.target.join("debug")))
        } else {
            Err("the workspace's programs do not build; see above".to_owned())
        }
    }

    /// The task for these words of Cargo.
    pub fn task(&self, workspace: &Workspace, name: &str, words: &[&str]) -> Result<Task, String> {
        match self {
            Self::ByCargo(own) => Ok(own.cargo(workspace, name).args(words)),
            Self::In(folder) => {
                let (package, own_words) = parts(words)
                    .ok_or_else(|| format!("`cargo {}` does not run a package", words.join(" ")))?;
                Ok(Task::new(workspace, name, folder.join(package)).args(own_words))
            }
        }
    }
}

/// The package of a `run`, and the words for its program.
fn parts<'a>(words: &'a [&'a str]) -> Option<(&'a str, &'a [&'a str])> {
    let end = words.iter().position(|word| *word == "--").unwrap_or(words.len());
    let (ours, own) = (&words[..end], words.get(end + 1..).unwrap_or(&[]));
    let place = ours.iter().position(|word| *word == "--package")?;
    (ours.first() == Some(&"run")).then_some((*ours.get(place + 1)?, own))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_program_gets_the_words_behind_the_dashes() {
        let words = ["run", "--quiet", "--package", "roller", "--", "sheet", "--package"];
        assert_eq!(parts(&words), Some(("roller", &["sheet", "--package"][..])));
        assert_eq!(parts(&words[..4]), Some(("roller", &[][..])));
    }

    #[test]
    fn what_runs_no_package_is_refused() {
        for words in
            [&["build", "--package", "roller"][..], &["run", "--quiet"], &["run", "--", "--package", "x"]]
        {
            assert_eq!(parts(words), None);
        }
    }
}
