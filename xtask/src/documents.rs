//! Keeps the generated parts of documents equal to what the program says: a wiring table is typed once.
//!
//! A part stands between two comments of Markdown, the first of which names the command that writes it:
//!
//! ```text
//! <!-- written by: cargo run --quiet --package loader -- wiring --format markdown -->
//! …
//! <!-- end of what was written -->
//! ```
//!
//! A folder of pictures is written as a whole: what its program does not draw is not there.

use std::{
    collections::BTreeMap,
    fs, io,
    path::{Path, PathBuf},
    process::ExitCode,
};

use crate::{Verdict, programs::Programs, progress::say, toolchain::Toolchain, workspace::Workspace};

const BEGIN: &str = "<!-- written by: cargo ";
const BEGIN_END: &str = " -->";
const END: &str = "<!-- end of what was written -->";
/// A folder whose files a program writes, and the words for Cargo behind which the place to write to stands.
struct Drawn {
    folder: &'static str,
    command: &'static [&'static str],
}

const DRAWN: &[Drawn] = &[Drawn {
    folder: "crates/trunnion/docs",
    command: &["run", "--quiet", "--package", "blocks", "--", "pictures", "--into"],
}];

/// Folders that hold no document of ours.
const FOREIGN: &[&str] = &["target", "node_modules"];

/// The verb: rewrites the generated parts, or with `check` only tells which are stale.
pub fn verb(workspace: &Workspace, check: bool) -> Verdict {
    let stale = stale(workspace, &Programs::ByCargo(&Toolchain::own()?))?;
    for (path, text) in &stale {
        if check {
            say(format_args!("  stale: {}", workspace.shown(path)));
        } else {
            put(path, text.as_deref()).map_err(|error| format!("{}: {error}", path.display()))?;
            say(format_args!("  written: {}", workspace.shown(path)));
        }
    }
    if stale.is_empty() {
        say("  Every generated part is as the program says.");
    }
    Ok(if check && !stale.is_empty() { ExitCode::FAILURE } else { ExitCode::SUCCESS })
}

/// A file as it should be; nothing where there should be none.
type Stale = (PathBuf, Option<String>);

fn put(path: &Path, text: Option<&str>) -> io::Result<()> {
    let Some(text) = text else { return fs::remove_file(path) };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    fs::write(path, text)
}

/// The documents whose generated parts differ from what their commands say, and the drawn files that differ from what
/// their program draws.
pub fn stale(workspace: &Workspace, programs: &Programs) -> Result<Vec<Stale>, String> {
    let mut stale = stale_parts_below(workspace, programs, &workspace.root)?;
    for drawn in DRAWN {
        let fresh = workspace.target.join("xtask/drawn").join(drawn.folder);
        if fresh.exists() {
            fs::remove_dir_all(&fresh).map_err(|error| format!("{}: {error}", fresh.display()))?;
        }
        let outcome = programs.task(workspace, "drawn", drawn.command)?.args([&fresh]).run(workspace);
        if !outcome.success {
            return Err(format!("{}: cargo {} failed", drawn.folder, drawn.command.join(" ")));
        }
        stale.extend(differing(&workspace.root.join(drawn.folder), &files(&fresh)?)?);
    }
    Ok(stale)
}

/// What has to change in a folder so that it holds these files and no others.
fn differing(folder: &Path, fresh: &BTreeMap<PathBuf, String>) -> Result<Vec<Stale>, String> {
    let present = if folder.is_dir() { files(folder)? } else { BTreeMap::new() };
    let changed = fresh
        .iter()
        .filter(|(path, text)| present.get(*path) != Some(text))
        .map(|(path, text)| (folder.join(path), Some(text.clone())));
    let gone = present.keys().filter(|path| !fresh.contains_key(*path)).map(|path| (folder.join(path), None));
    Ok(changed.chain(gone).collect())
}

/// All files below a folder, by their path in it.
fn files(folder: &Path) -> Result<BTreeMap<PathBuf, String>, String> {
    let mut paths = Vec::new();
    collect(folder, "", &mut paths)?;
    let read = |path: PathBuf| {
        let text = fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
        Ok((path.strip_prefix(folder).unwrap_or(&path).to_owned(), text))
    };
    paths.into_iter().map(read).collect()
}

/// Of the documents in a folder, those whose generated parts differ, with the text they should have.
pub fn stale_parts_below(
    workspace: &Workspace,
    programs: &Programs,
    folder: &Path,
) -> Result<Vec<Stale>, String> {
    let mut paths = Vec::new();
    collect(folder, ".md", &mut paths)?;
    let mut parts = 0;
    let mut stale = Vec::new();
    for path in paths {
        let text = fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
        let fresh = rewritten(&text, |words| {
            parts += 1;
            let outcome = programs.task(workspace, "generated part", words)?.run(workspace);
            if outcome.success { Ok(outcome.out) } else { Err("the command failed".to_owned()) }
        })
        .map_err(|why| format!("{}: {why}", workspace.shown(&path)))?;
        if fresh != text {
            stale.push((path, Some(fresh)));
        }
    }
    if parts == 0 {
        return Err(format!(
            "no document has a generated part (`{BEGIN}…{BEGIN_END}`): is the marker right?"
        ));
    }
    Ok(stale)
}

/// A text with every generated part replaced by what `write` gives for the words of its command.
fn rewritten(text: &str, mut write: impl FnMut(&[&str]) -> Result<String, String>) -> Result<String, String> {
    let mut fresh = String::new();
    let mut rest = text;
    while let Some(start) = rest.find(BEGIN) {
        let line = text[..text.len() - rest.len() + start].matches('\n').count() + 1;
        let after = &rest[start + BEGIN.len()..];
        let (command, body) = after
            .split_once(BEGIN_END)
            .filter(|(command, _)| !command.contains('\n'))
            .ok_or_else(|| format!("line {line}: the comment does not end with `{BEGIN_END}`"))?;
        let end =
            body.find(END).ok_or_else(|| format!("line {line}: there is no `{END}` behind this part"))?;
        let words: Vec<&str> = command.split_whitespace().collect();
        let written = write(&words).map_err(|why| format!("cargo {command}: {why}"))?;
        fresh.push_str(&rest[..start]);
        fresh.push_str(&format!("{BEGIN}{command}{BEGIN_END}\n\n{}\n\n", written.trim()));
        fresh.push_str(END);
        rest = &body[end + END.len()..];
    }
    fresh.push_str(rest);
    Ok(fresh)
}

fn collect(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) -> Result<(), String> {
    let entries = fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort_unstable();
    for path in paths {
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or("");
        if path.is_dir() {
            if !name.starts_with('.') && !FOREIGN.contains(&name) {
                collect(&path, ending, found)?;
            }
        } else if name.ends_with(ending) {
            found.push(path);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const STALE: &str =
        "# A\n<!-- written by: cargo run -p x -- y -->\nold\n<!-- end of what was written -->\ntail\n";

    #[test]
    fn a_part_is_replaced_and_the_rest_of_the_text_stays() {
        let fresh = rewritten(STALE, |words| Ok(format!("| {} |\n", words.join(" ")))).unwrap();
        assert!(
            fresh.starts_with(
                "# A\n<!-- written by: cargo run -p x -- y -->\n\n| run -p x -- y |\n\n<!-- end"
            )
        );
        assert!(fresh.ends_with("written -->\ntail\n"));
    }

    #[test]
    fn a_fresh_part_is_left_as_it_is() {
        let once = rewritten(STALE, |_| Ok("new".to_owned())).unwrap();
        assert_ne!(once, STALE);
        assert_eq!(rewritten(&once, |_| Ok("new".to_owned())).unwrap(), once);
    }

    #[test]
    fn a_drawn_file_that_is_stale_missing_or_left_over_is_told() {
        let folder = std::env::temp_dir().join(format!("drawn-{}", std::process::id()));
        let file = |name: &str| folder.join("room").join(name);
        put(&file("fresh.svg"), Some("a")).unwrap();
        put(&file("stale.svg"), Some("b")).unwrap();
        put(&file("left.svg"), Some("c")).unwrap();
        let drawn = [("fresh.svg", "a"), ("stale.svg", "B"), ("missing.svg", "d")];
        let fresh = drawn.map(|(name, text)| (Path::new("room").join(name), text.to_owned())).into();
        let mut found = differing(&folder, &fresh).unwrap();
        found.sort();
        let expected = [
            (file("left.svg"), None),
            (file("missing.svg"), Some("d".to_owned())),
            (file("stale.svg"), Some("B".to_owned())),
        ];
        assert_eq!(found, expected);
        for (path, text) in &found {
            put(path, text.as_deref()).unwrap();
        }
        assert_eq!(differing(&folder, &fresh).unwrap(), []);
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn a_part_without_end_is_refused_with_its_line() {
        let open = STALE.replace(END, "");
        let refusal = rewritten(&open, |_| Ok(String::new())).unwrap_err();
        assert!(refusal.starts_with("line 2: ") && refusal.contains(END), "{refusal}");
    }
}
