//! The subjects and their twins: what lies in the folders of tests/costs.

use std::{fs, path::Path};

use crate::workspace::Workspace;

/// A subject and what it can be compared with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Subject {
    /// The room of the core crate.
    pub room: String,
    /// The file in it.
    pub block: String,
    /// It has a twin in `f32`.
    pub float: bool,
    /// It has a twin in C.
    pub c: bool,
}

impl Subject {
    /// `lever/axis`.
    pub fn name(&self) -> String {
        format!("{}/{}", self.room, self.block)
    }

    /// It is a machine, a path through one, or its station on the bus, and not a block: it wants more memory than the
    /// smallest board has.
    pub fn is_large(&self) -> bool {
        matches!(self.room.as_str(), "path" | "service")
    }

    /// `lever_axis`, as symbols and files are named.
    pub fn key(&self) -> String {
        format!("{}_{}", self.room, self.block)
    }

    /// The whole root of its image.
    pub fn image(&self) -> String {
        let Self { room, block, .. } = self;
        let float =
            if self.float { format!("; float costs::float::{room}::{block}::Twin") } else { String::new() };
        root(&format!("image!(costs::subject::{room}::{block}::Block{float})"))
    }

    /// The whole root of the image of its twins in C, by these compilers.
    pub fn twin_image(&self, compilers: &[&str]) -> String {
        let (key, mut twins) = (self.key(), String::new());
        for name in compilers {
            twins.push_str(&format!("; {name:?} {key}_size_{name} {key}_new_{name} {key}_step_{name}"));
        }
        root(&format!("twin_image!(costs::subject::{}::{}::Block{twins})", self.room, self.block))
    }
}

/// The root of an image: one line.
pub fn root(call: &str) -> String {
    format!("#![no_std]\n#![no_main]\ncosts::{call};\n")
}

/// The subjects whose names begin as wanted; all when nothing is wanted.
pub fn all(workspace: &Workspace, wanted: &[String]) -> Result<Vec<Subject>, String> {
    let folder = workspace.root.join("tests/costs");
    let mut found = Vec::new();
    for room in names(&folder.join("src/subject"), "") {
        for block in names(&folder.join("src/subject").join(&room), ".rs") {
            let float = folder.join("src/float").join(&room).join(format!("{block}.rs")).is_file();
            let c = folder.join("twins").join(format!("{room}_{block}.c")).is_file();
            found.push(Subject { room: room.clone(), block, float, c });
        }
    }
    if let Some(word) = wanted.iter().find(|word| !found.iter().any(|subject| is_meant(subject, word))) {
        let names: Vec<String> = found.iter().map(Subject::name).collect();
        return Err(format!("no subject `{word}`; there are {}", names.join(", ")));
    }
    found.retain(|subject| wanted.is_empty() || wanted.iter().any(|word| is_meant(subject, word)));
    Ok(found)
}

fn is_meant(subject: &Subject, word: &str) -> bool {
    subject.name() == word || subject.room == word
}

fn names(folder: &Path, ending: &str) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut names: Vec<String> = entries
        .filter(|entry| entry.path().is_dir() == ending.is_empty())
        .filter_map(|entry| Some(entry.file_name().to_str()?.strip_suffix(ending)?.to_owned()))
        .collect();
    names.sort();
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_subject_is_found_by_its_name_and_a_room_gives_all_of_its_own() {
        let workspace = Workspace::find().unwrap();
        let one = all(&workspace, &["lever/axis".to_owned()]).unwrap();
        assert_eq!(one.len(), 1);
        assert!(one[0].image().contains("costs::image!(costs::subject::lever::axis::Block"));
        let room = all(&workspace, &["ramp".to_owned()]).unwrap();
        assert!(!room.is_empty() && room.iter().all(|subject| subject.room == "ramp"));
        assert!(all(&workspace, &["lever/axle".to_owned()]).unwrap_err().contains("lever/axis"));
    }

    #[test]
    fn the_root_of_a_twin_image_names_what_each_compiler_made() {
        let subject = Subject { room: "lever".into(), block: "axis".into(), float: false, c: true };
        let root = subject.twin_image(&["gcc", "clang"]);
        assert!(
            root.contains("; \"clang\" lever_axis_size_clang lever_axis_new_clang lever_axis_step_clang")
        );
    }
}
