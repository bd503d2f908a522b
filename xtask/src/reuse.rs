//! How much of a machine is its own, and how much is a room's: counted in its sources, for its README.
//!
//! A line of code is one that is neither blank nor a comment. Of the control program each is one of three:
//! - *own decision*: it compares, branches or combines conditions;
//! - *room line*: it names an item of a core crate, calls one of a block's verbs, reads a parameter, or is a row of a literal
//!   of a room's type, such as a block's settings or inputs;
//! - *frame*: the rest: `use`, signatures, types, braces, values that are passed on.
//!
//! In doubt a line is an own decision: it is looked for first.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
    process::ExitCode,
};

use crate::{Verdict, workspace::Workspace};

/// Crates whose items a control program reuses.
const CORE: &[&str] = &["trunnion::", "trunnion_can::"];
/// What a block is asked to do, and what a parameter set gives.
const VERBS: &[&str] =
    &[".step(", ".reconfigure(", ".reset(", ".gate(", "::new(", "parameters.", ".chosen(", ".map("];

/// Code lines of a part.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Lines {
    own: usize,
    room: usize,
    frame: usize,
}

impl Lines {
    fn all(self) -> usize {
        self.own + self.room + self.frame
    }

    fn and(self, other: Self) -> Self {
        Self { own: self.own + other.own, room: self.room + other.room, frame: self.frame + other.frame }
    }
}

/// The verb: prints tables of Markdown.
pub fn verb(workspace: &Workspace, machine: &str) -> Verdict {
    let folder = workspace.root.join("examples").join(machine);
    if !folder.join("Cargo.toml").is_file() {
        return Err(format!("no machine `{machine}`: expected a package at examples/{machine}"));
    }
    control(&folder)?;
    println!();
    surroundings(workspace, &folder)?;
    Ok(ExitCode::SUCCESS)
}

fn control(folder: &Path) -> Result<(), String> {
    let mut rooms: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut total = Lines::default();
    println!("| control program | code lines | room lines | own decisions | frame |");
    println!("|---|---|---|---|---|");
    for path in sources(&folder.join("src"))? {
        let name = path.strip_prefix(folder.join("src")).unwrap_or(&path).display().to_string();
        if name.starts_with("declaration") {
            continue;
        }
        let text = read(&path)?;
        let lines = classify(&text);
        for (room, item) in imported(&text) {
            let items = rooms.entry(room).or_default();
            if !items.contains(&item) {
                items.push(item);
            }
        }
        println!("| `{name}` | {} | {} | {} | {} |", lines.all(), lines.room, lines.own, lines.frame);
        total = total.and(lines);
    }
    let decided = (total.room + total.own).max(1);
    println!("| all | {} | {} | {} | {} |", total.all(), total.room, total.own, total.frame);
    println!(
        "\nOf the {decided} lines that do something, {} % are a room's and {} % are own decisions. Of all lines of the control \
         program {} % are a room's.\n",
        share(total.room, decided),
        share(total.own, decided),
        share(total.room, total.all())
    );
    println!("| room | what is used of it |\n|---|---|");
    for (room, mut items) in rooms {
        items.retain(|item| is_block(item));
        items.sort_unstable();
        if !items.is_empty() {
            let named: Vec<String> = items.iter().map(|item| format!("`{item}`")).collect();
            println!("| `{room}` | {} |", named.join(", "));
        }
    }
    Ok(())
}

/// Whole per cent, rounded to nearest.
fn share(part: usize, whole: usize) -> usize {
    (100 * part + whole / 2) / whole.max(1)
}

/// Settings, inputs, errors and states belong to a block and are not counted beside it.
fn is_block(item: &str) -> bool {
    const BESIDE: &[&str] =
        &["Config", "Inputs", "Error", "State", "Reading", "Refusal", "Flaw", "Health", "Reasons", "Kind"];
    item.starts_with(|letter: char| letter.is_ascii_uppercase())
        && !BESIDE.iter().any(|end| item.ends_with(end))
}

fn surroundings(workspace: &Workspace, folder: &Path) -> Result<(), String> {
    println!("| beside the control program | code lines |\n|---|---|");
    let count = |path: &Path| -> Result<usize, String> {
        sources(path)?.iter().map(|path| Ok(code(&read(path)?).count())).sum()
    };
    let own = [
        ("declaration, a row a signal, parameter and fault", folder.join("src/declaration")),
        ("simulated machine, requirements, plots", folder.join("desk")),
        ("image and build script", folder.join("firmware")),
    ];
    for (what, path) in own {
        println!("| own: {what} | {} |", count(&path)?);
    }
    let shared = ["trunnion-rig", "trunnion-desk", "trunnion-board", "trunnion-build"];
    for name in shared {
        let lines = count(&workspace.root.join("crates").join(name).join("src"))?;
        println!("| reused: `{name}` | {} |", about(lines));
    }
    Ok(())
}

/// To the nearest thousand from there on, so that not every change of a crate changes a machine's README.
fn about(lines: usize) -> String {
    if lines < 1_000 { lines.to_string() } else { format!("about {} 000", (lines + 500) / 1_000) }
}

fn sources(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let entries = fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort_unstable();
    let mut found = Vec::new();
    for path in paths {
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or("");
        if path.is_dir() {
            if name != "tests" {
                found.extend(sources(&path)?);
            }
        } else if name.ends_with(".rs") && name != "tests.rs" {
            found.push(path);
        }
    }
    Ok(found)
}

fn read(path: &Path) -> Result<String, String> {
    fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}

/// Lines of code of the product: a test module ends a file by the house's habit.
fn code(text: &str) -> impl Iterator<Item = &str> {
    text.lines()
        .take_while(|line| *line != "#[cfg(test)]")
        .map(str::trim)
        .filter(|line| !line.is_empty() && !line.starts_with("//"))
}

/// Items that a file takes from the core crates, with their rooms.
fn imported(text: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let flat = code(text).collect::<Vec<_>>().join(" ");
    for statement in flat.split("use ").skip(1).filter_map(|rest| rest.split(';').next()) {
        let Some(path) = CORE.iter().find_map(|start| statement.strip_prefix(start)) else { continue };
        let Some((room, items)) = path.rsplit_once("::") else { continue };
        for item in items.split(['{', '}', ',']).map(str::trim).filter(|item| !item.is_empty()) {
            let own_name = item.rsplit(" as ").next().unwrap_or(item);
            found.push((room.to_owned(), own_name.to_owned()));
        }
    }
    found
}

fn classify(text: &str) -> Lines {
    let names: Vec<String> = imported(text).into_iter().map(|(_, item)| item).collect();
    let mut lines = Lines::default();
    let mut in_use = false;
    let mut in_type = false;
    // How deep the literal of a room's type lies, while one is open.
    let mut literal: Option<usize> = None;
    let mut depth = 0_usize;
    for line in code(text) {
        in_use |= line.starts_with("use ") || line.starts_with("pub use ");
        in_type |= is_type(line);
        let room =
            literal.is_some() || names_room(line, &names) || VERBS.iter().any(|verb| line.contains(verb));
        if in_use || in_type || is_signature(line) || line.chars().all(|letter| "{}()[],;".contains(letter)) {
            lines.frame += 1;
        } else if decides(line) {
            lines.own += 1;
        } else if room {
            lines.room += 1;
        } else {
            lines.frame += 1;
        }
        let before = depth;
        depth = (depth + line.matches(['{', '(']).count()).saturating_sub(line.matches(['}', ')']).count());
        if literal.is_none()
            && depth > before
            && line.ends_with('{')
            && names_room(line, &names)
            && !is_signature(line)
        {
            literal = Some(before);
        } else if literal.is_some_and(|opened| depth <= opened) {
            literal = None;
        }
        in_use &= !line.ends_with(';');
        in_type &= !(line == "}" || line.ends_with("};") || line.ends_with(';') || line.ends_with("{ }"));
    }
    lines
}

fn is_type(line: &str) -> bool {
    ["struct ", "enum ", "pub struct ", "pub enum ", "pub type ", "trunnion::choices!"]
        .iter()
        .any(|start| line.starts_with(start))
}

fn is_signature(line: &str) -> bool {
    const STARTS: &[&str] =
        &["fn ", "pub fn ", "pub(super) fn ", "const fn ", "impl ", "mod ", "pub mod ", "#"];
    STARTS.iter().any(|start| line.starts_with(start))
        || line.starts_with("type ")
        || line.starts_with(") ->")
}

fn names_room(line: &str, names: &[String]) -> bool {
    let is_word = |letter: char| letter.is_alphanumeric() || letter == '_';
    line.split(|letter| !is_word(letter)).any(|word| names.iter().any(|name| name == word))
}

/// It compares, branches or combines conditions.
fn decides(line: &str) -> bool {
    const SIGNS: &[&str] =
        &["=>", "&&", "||", "==", "!=", "<=", ">=", " < ", " > ", "if ", "match ", "is_some_and("];
    let words = line.replace("|_|", "");
    let negated = words.char_indices().any(|(at, letter)| {
        letter == '!'
            && !words[..at].ends_with(|before: char| before.is_alphanumeric())
            && words[at + 1..].starts_with(|after: char| after.is_alphabetic() || after == '(')
    });
    negated || SIGNS.iter().any(|sign| words.contains(sign))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOURCE: &str = "\
//! Doc.
use trunnion::ramp::{RateLimit, RateLimitConfig};
use trunnion::quantity::Ratio;

/// A drum.
pub struct Drum {
    ramp: RateLimit,
}

fn config(parameters: &Parameters) -> RateLimitConfig {
    RateLimitConfig {
        rise: parameters.rise(),
        fall: FALL,
    }
}

impl Drum {
    fn step(&mut self, asked: bool) -> Ratio {
        let target = if asked { Ratio::ONE } else { Ratio::ZERO };
        let seen = self.ramp.step(target);
        seen
    }
}
#[cfg(test)]
mod tests {
    fn many() { if a && b {} }
}
";

    #[test]
    fn lines_are_told_apart_by_what_they_do() {
        // Own: the branch. Room: three of the literal (it opens, two rows) and the step of the block.
        let lines = classify(SOURCE);
        assert_eq!((lines.own, lines.room), (1, 4));
        assert_eq!(lines.all(), code(SOURCE).count());
    }

    #[test]
    fn items_are_found_with_their_room() {
        let expected = [("ramp", "RateLimit"), ("ramp", "RateLimitConfig"), ("quantity", "Ratio")];
        assert_eq!(imported(SOURCE), expected.map(|(room, item)| (room.to_owned(), item.to_owned())));
        assert!(is_block("RateLimit") && !is_block("RateLimitConfig") && !is_block("smallest"));
    }

    #[test]
    fn a_closure_that_ignores_its_argument_decides_nothing_and_a_negation_does() {
        assert!(!decides(".map_err(|_| refuse(parameters))?,"));
        assert!(decides(".with_if(bit, !sensed.key_on)") && decides("a && b"));
        assert!(!decides("assert!(true)") && !decides("fn a() -> u8 {"));
    }
}
