//! The files of the project as they lie in this clone.

use std::{
    fs,
    path::{Path, PathBuf},
};

use super::code;

/// Folders with no file of ours in them.
const FOREIGN: &[&str] = &["target", ".git", "node_modules", "__pycache__"];

/// A text file of the project.
pub struct File {
    /// Its path from the top folder, with `/` between the parts.
    pub path: String,
    /// What is in it.
    pub text: String,
}

impl File {
    /// Its name without folders and ending.
    pub fn stem(&self) -> &str {
        let name = self.path.rsplit('/').next().unwrap_or(&self.path);
        name.split('.').next().unwrap_or(name)
    }

    /// Whether it is Rust source.
    pub fn is_rust(&self) -> bool {
        self.path.ends_with(".rs")
    }
}

/// The top folder.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the tests lie one below the top").to_owned()
}

/// All text files of the project.
pub fn files() -> Vec<File> {
    let mut found = Vec::new();
    collect(&root(), "", &mut found);
    assert!(found.len() > 20, "the walk found only {} files: is it in the right folder?", found.len());
    found
}

/// The Rust files of the product: those that are not compiled for tests only.
pub fn product() -> Vec<File> {
    let mut files = files();
    files.retain(File::is_rust);
    let mut for_tests = Vec::new();
    for file in &files {
        let folder = match file.path.rsplit_once('/') {
            Some((folder, "lib.rs" | "main.rs" | "mod.rs")) => folder,
            _ => file.path.trim_end_matches(".rs"),
        };
        let names = code::modules_for_tests(&file.text);
        for_tests.extend(names.iter().map(|name| format!("{folder}/{name}")));
    }
    let is_for_tests = |path: &str| {
        path.contains("/tests/")
            || for_tests.iter().any(|module| {
                path.strip_prefix(module.as_str()).is_some_and(|rest| rest == ".rs" || rest.starts_with('/'))
            })
    };
    files.retain(|file| !is_for_tests(&file.path));
    files
}

/// One file that must be there.
pub fn read(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// The names in a folder, folders with a `/` at the end; empty if there is no such folder.
pub fn names(folder: &str) -> Vec<String> {
    let Ok(entries) = fs::read_dir(root().join(folder)) else { return Vec::new() };
    let mut names: Vec<String> = entries
        .flatten()
        .map(|entry| {
            let end = if entry.path().is_dir() { "/" } else { "" };
            format!("{}{end}", entry.file_name().to_string_lossy())
        })
        .collect();
    names.sort_unstable();
    names
}

fn collect(folder: &Path, prefix: &str, found: &mut Vec<File>) {
    let mut entries: Vec<_> = fs::read_dir(folder).expect("a readable folder").flatten().collect();
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        let name = entry.file_name().to_string_lossy().into_owned();
        let path = format!("{prefix}{name}");
        if entry.path().is_dir() {
            if !FOREIGN.contains(&name.as_str()) {
                collect(&entry.path(), &format!("{path}/"), found);
            }
        } else if let Ok(text) = fs::read_to_string(entry.path()) {
            // What is not UTF-8 (a picture) is no text; `.git` is a file in a linked work tree.
            if name != ".git" {
                found.push(File { path, text });
            }
        }
    }
}
