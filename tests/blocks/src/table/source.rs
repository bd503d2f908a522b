//! Blocks as the sources of the core tell them.

use std::{
    fs,
    path::{Path, PathBuf},
};

use crate::pictures::snake;

/// Where the core lies, from the top folder.
const CORE: &str = "crates/trunnion";

/// A block as it stands in the table of its room.
pub struct Block {
    pub room: &'static str,
    pub name: String,
    /// File, from the folder of the core.
    pub path: String,
    /// First paragraph of its docs.
    pub does: String,
    pub doctest: bool,
    /// File, from the folder of the core, and name of each property beside it.
    pub properties: Vec<(String, String)>,
}

impl Block {
    /// Names under which others know it: room and type, room and file.
    pub fn keys(&self) -> [String; 2] {
        let stem = Path::new(&self.path).file_stem().and_then(|stem| stem.to_str()).unwrap_or("");
        [format!("{}/{}", self.room, snake(&self.name)), format!("{}/{stem}", self.room)]
    }
}

/// The blocks of a room in the order of its table.
pub fn blocks(top: &Path, room: &'static str) -> Result<Vec<Block>, String> {
    let files = sources(top, room)?;
    let map = read(&top.join(CORE).join(format!("src/{room}.rs")))?;
    let rows =
        map.lines().filter_map(|line| line.strip_prefix("//! | [")).filter_map(|row| row.split(" | ").next());
    let mut blocks = Vec::new();
    for name in rows.flat_map(names) {
        let found = files.iter().find_map(|(path, text)| defined(text, &name).map(|line| (path, text, line)));
        let (path, text, line) =
            found.ok_or_else(|| format!("{room}.rs lists `{name}`, which is not in the room"))?;
        let docs = docs_above(text, line);
        blocks.push(Block {
            room,
            does: first_paragraph(&docs),
            doctest: docs.contains(&"```"),
            properties: properties(&files, path),
            path: path.clone(),
            name,
        });
    }
    Ok(blocks)
}

/// Types of a room that have a public `step`.
#[cfg(test)]
pub fn stepped(top: &Path, room: &str) -> Result<Vec<String>, String> {
    let mut found = Vec::new();
    for (path, text) in sources(top, room)? {
        if is_of_tests(&path) {
            continue;
        }
        let product = text.split("\nmod tests {").next().unwrap_or(&text);
        let mut type_of_impl = "";
        for line in product.lines() {
            if let Some(head) = line.strip_prefix("impl") {
                let head = head
                    .strip_prefix('<')
                    .map_or(head, |rest| rest.split_once("> ").map_or(rest, |parts| parts.1));
                type_of_impl = head.trim_start().split(['<', ' ', '{']).next().unwrap_or("");
            }
            if line.starts_with("    pub")
                && line.contains(" fn step(")
                && !found.iter().any(|name| name == type_of_impl)
            {
                found.push(type_of_impl.to_owned());
            }
        }
    }
    Ok(found)
}

/// Names between the brackets of a table's cell, such as `[A], [B]`.
fn names(cell: &str) -> Vec<String> {
    let bare = |part: &str| part.trim_matches(|letter: char| "[]`()! ".contains(letter)).to_owned();
    cell.split(", ").map(bare).filter(|name| !name.is_empty()).collect()
}

fn sources(top: &Path, room: &str) -> Result<Vec<(String, String)>, String> {
    let mut paths = Vec::new();
    let core = top.join(CORE);
    collect(&core.join("src").join(room), &mut paths)?;
    let named = |path: PathBuf| {
        let text = read(&path)?;
        let below = path.strip_prefix(core.join("src")).unwrap_or(&path);
        Ok((below.to_string_lossy().replace('\\', "/"), text))
    };
    paths.into_iter().map(named).collect()
}

fn collect(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), String> {
    let entries = fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort_unstable();
    for path in paths {
        if path.is_dir() {
            collect(&path, found)?;
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    Ok(())
}

pub fn read(path: &Path) -> Result<String, String> {
    fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}

/// Line, from 1, on which a type or a function of this name is defined.
fn defined(text: &str, name: &str) -> Option<usize> {
    let kinds = ["pub struct ", "pub enum ", "pub const fn ", "pub fn "];
    let defines = |line: &str| {
        kinds.iter().filter_map(|kind| line.strip_prefix(kind)).any(|rest| {
            rest.strip_prefix(name).is_some_and(|rest| {
                !rest.starts_with(|letter: char| letter.is_alphanumeric() || letter == '_')
            })
        })
    };
    text.lines().position(defines).map(|place| place + 1)
}

/// Lines of docs above a definition, in order.
fn docs_above(text: &str, line: usize) -> Vec<&str> {
    let lines: Vec<&str> = text.lines().collect();
    let above = lines.get(..line.saturating_sub(1)).unwrap_or(&[]);
    let start = above
        .iter()
        .rposition(|line| !line.starts_with("///") && !line.starts_with("#["))
        .map_or(0, |at| at + 1);
    above[start..].iter().filter_map(|line| line.strip_prefix("///")).map(str::trim).collect()
}

fn first_paragraph(docs: &[&str]) -> String {
    let lines: Vec<&str> =
        docs.iter().copied().take_while(|line| !line.is_empty() && *line != "```").collect();
    lines.join(" ").replace('|', "\\|").replace("[`", "`").replace("`]", "`")
}

/// Properties in a file and in its own tests.
fn properties(files: &[(String, String)], path: &str) -> Vec<(String, String)> {
    let own = format!("{}/", path.trim_end_matches(".rs"));
    let beside =
        files.iter().filter(|(file, _)| file == path || (file.starts_with(&own) && is_of_tests(file)));
    beside
        .flat_map(|(file, text)| in_proptest(text).into_iter().map(move |name| (file.clone(), name)))
        .collect()
}

fn is_of_tests(path: &str) -> bool {
    path.ends_with("/tests.rs") || path.contains("/tests/")
}

/// Names of the tests inside of `proptest! { … }`.
fn in_proptest(text: &str) -> Vec<String> {
    let mut names = Vec::new();
    let mut end = None;
    let mut is_test = false;
    for line in text.lines() {
        if line.trim_start().starts_with("proptest! {") {
            let indent = &line[..line.len() - line.trim_start().len()];
            end = Some(format!("{indent}}}"));
        } else if end.as_deref() == Some(line) {
            end = None;
        } else if end.is_some() {
            let line = line.trim();
            if let Some(rest) = line.strip_prefix("fn ").filter(|_| is_test) {
                names.push(rest.split('(').next().unwrap_or(rest).to_owned());
            }
            is_test = line == "#[test]" || (is_test && line.starts_with("#["));
        }
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn properties_are_told_from_other_tests() {
        let text = "mod tests {\n    fn help() {}\n    proptest! {\n        #[test]\n        fn it_holds(a: u8) {\n        }\n    }\n    #[test]\n    fn an_example() {}\n}\n";
        assert_eq!(in_proptest(text), ["it_holds"]);
    }

    #[test]
    fn a_definition_is_found_by_its_whole_name_and_read_with_its_docs() {
        let text = "pub struct PairRampConfig;\n/// Ramps both sides\n/// as a pair.\n///\n/// ```\n/// ```\n#[derive(Debug)]\npub struct PairRamp {\n}\n";
        let line = defined(text, "PairRamp").unwrap();
        assert_eq!(line, 8);
        assert_eq!(first_paragraph(&docs_above(text, line)), "Ramps both sides as a pair.");
    }

    #[test]
    fn a_cell_names_one_block_or_several() {
        assert_eq!(names("`CutOffTest`], [`CutOffMonitor`]"), ["CutOffTest", "CutOffMonitor"]);
    }
}
