//! Where things are, whichever folder the command was typed in.

use std::{
    env, fs,
    path::{Path, PathBuf},
};

/// The folders of the project on this computer.
pub struct Workspace {
    /// The folder of the workspace's `Cargo.toml`.
    pub root: PathBuf,
    /// Where build results go (`target`, or what `CARGO_TARGET_DIR` says).
    pub target: PathBuf,
}

impl Workspace {
    /// Finds the workspace from where Cargo says this program's package lies, else upwards from here.
    pub fn find() -> Result<Self, String> {
        let here = env::current_dir().map_err(|error| format!("no current folder: {error}"))?;
        let start = env::var_os("CARGO_MANIFEST_DIR").map_or_else(|| here.clone(), PathBuf::from);
        let root = start.ancestors().find(|folder| is_workspace(folder)).ok_or_else(|| {
            format!(
                "no workspace at or above {}: run `cargo xtask` inside a clone of the project",
                start.display()
            )
        })?;
        let target =
            env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), |given| here.join(given));
        Ok(Self { root: root.to_owned(), target })
    }

    /// The folder in which output of commands is kept.
    pub fn logs(&self) -> PathBuf {
        self.target.join("xtask")
    }

    /// The machines: packages of `examples/` that make an image, by name.
    pub fn machines(&self) -> Result<Vec<String>, String> {
        let folder = self.root.join("examples");
        let entries = fs::read_dir(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        let mut names: Vec<String> = entries
            .flatten()
            .filter(|entry| entry.path().join("firmware/main.rs").is_file())
            .map(|entry| entry.file_name().to_string_lossy().into_owned())
            .collect();
        names.sort_unstable();
        if names.is_empty() {
            return Err(format!("{}: no machine has a firmware/main.rs", folder.display()));
        }
        Ok(names)
    }

    /// A path as a person in the top folder would write it.
    pub fn shown(&self, path: &Path) -> String {
        path.strip_prefix(&self.root).unwrap_or(path).display().to_string()
    }
}

fn is_workspace(folder: &Path) -> bool {
    fs::read_to_string(folder.join("Cargo.toml"))
        .is_ok_and(|text| text.lines().any(|line| line.trim() == "[workspace]"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_workspace_is_found_from_the_folder_of_this_package() {
        let workspace = Workspace::find().unwrap();
        assert!(workspace.root.join("xtask/src/workspace.rs").is_file());
        assert_eq!(workspace.shown(&workspace.root.join("target/x")), "target/x");
    }

    #[test]
    fn every_example_with_an_image_is_a_machine() {
        let machines = Workspace::find().unwrap().machines().unwrap();
        assert!(
            ["loader", "roller"].iter().all(|name| machines.iter().any(|one| one == name)),
            "{machines:?}"
        );
    }

    #[test]
    fn a_package_is_not_taken_for_the_workspace() {
        assert!(!is_workspace(Path::new(env!("CARGO_MANIFEST_DIR"))));
    }
}
