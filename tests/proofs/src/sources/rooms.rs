//! Which rooms of the core a result depends on: what it names, and what that names in turn.

use std::collections::{BTreeMap, BTreeSet};

/// Files that every room is built with: the crate's root, what all tests share, how state is written.
const ALWAYS: &[&str] = &["lib", "four_verbs", "snapshot"];
const CORE: &str = "crates/trunnion/src/";

/// The code of `trunnion`, room by room.
pub struct Rooms {
    code: BTreeMap<String, Vec<(String, String)>>,
    /// Rooms that each of them names.
    named: BTreeMap<String, BTreeSet<String>>,
    /// Where each macro stands.
    macros: BTreeMap<String, String>,
}

impl Rooms {
    /// Of files by path from the top folder; those of other crates count for nothing.
    pub fn of(files: &[(String, String)]) -> Self {
        let mut code: BTreeMap<String, Vec<(String, String)>> = BTreeMap::new();
        let mut macros = BTreeMap::new();
        for (path, text) in files {
            let Some(below) = path.strip_prefix(CORE) else { continue };
            let room = below.split(['/', '.']).next().unwrap_or(below).to_owned();
            for rest in text.split("macro_rules! ").skip(1) {
                macros.insert(word(rest), room.clone());
            }
            code.entry(room).or_default().push((path.clone(), text.clone()));
        }
        let mut rooms = Self { code, named: BTreeMap::new(), macros };
        for (room, files) in &rooms.code {
            let named = files.iter().flat_map(|(_, text)| rooms.named_in(text)).collect();
            rooms.named.insert(room.clone(), named);
        }
        rooms
    }

    /// There is such a room.
    pub fn has(&self, room: &str) -> bool {
        self.code.contains_key(room)
    }

    /// The code of this room, of those that the texts name, and of all that those name in turn.
    pub fn needed_by<'a>(&self, room: &str, texts: impl Iterator<Item = &'a str>) -> Vec<(String, String)> {
        let mut left: Vec<String> = texts.flat_map(|text| self.named_in(text)).collect();
        left.push(room.to_owned());
        left.extend(ALWAYS.iter().map(|name| (*name).to_owned()));
        let mut needed = BTreeSet::new();
        while let Some(room) = left.pop() {
            if needed.insert(room.clone()) {
                left.extend(self.named.get(&room).into_iter().flatten().cloned());
            }
        }
        needed.iter().filter_map(|room| self.code.get(room)).flatten().cloned().collect()
    }

    /// Rooms whose paths or macros stand in a text. One too many makes a result stale too soon and never too late.
    fn named_in(&self, text: &str) -> BTreeSet<String> {
        let mut named = BTreeSet::new();
        for room in self.code.keys() {
            let is_path = |(at, _): (usize, &str)| {
                let before = text.get(..at).unwrap_or_default();
                let after = text.get(at + room.len()..).unwrap_or_default();
                !before.ends_with(is_of_word)
                    && (after.starts_with("::") || (before.ends_with("::") && !after.starts_with(is_of_word)))
            };
            if text.match_indices(room.as_str()).any(is_path) {
                named.insert(room.clone());
            }
        }
        for (name, room) in &self.macros {
            if text.contains(&format!("{name}!")) {
                named.insert(room.clone());
            }
        }
        named
    }
}

fn is_of_word(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '_'
}

fn word(text: &str) -> String {
    text.chars().take_while(|letter| is_of_word(*letter)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_room_brings_what_it_names_and_what_that_names() {
        let file = |path: &str, text: &str| (format!("{CORE}{path}"), text.to_owned());
        let rooms = Rooms::of(&[
            file("lib.rs", "pub mod quantity;"),
            file("quantity/ratio.rs", "pub struct Ratio;"),
            file("ramp.rs", "use crate::quantity::Ratio;"),
            file("valve.rs", "crate::choices! {}"),
            file("declare/field.rs", "macro_rules! choices { () => {} }"),
            file("work.rs", "use crate::{ramp::Ramp};"),
            ("crates/trunnion-can/src/id.rs".to_owned(), "use trunnion::work;".to_owned()),
        ]);
        let names = |room: &str, text: &str| -> Vec<String> {
            let code = rooms.needed_by(room, [text].into_iter());
            code.iter().map(|(path, _)| path.trim_start_matches(CORE).to_owned()).collect()
        };
        assert_eq!(names("quantity", ""), ["lib.rs", "quantity/ratio.rs"]);
        assert_eq!(names("work", ""), ["lib.rs", "quantity/ratio.rs", "ramp.rs", "work.rs"]);
        assert_eq!(names("valve", ""), ["declare/field.rs", "lib.rs", "valve.rs"]);
        assert_eq!(
            names("quantity", "use trunnion::valve;"),
            ["declare/field.rs", "lib.rs", "quantity/ratio.rs", "valve.rs"]
        );
        assert!(rooms.has("work") && !rooms.has("can"));
    }
}
