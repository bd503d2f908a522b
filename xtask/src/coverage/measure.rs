//! Builds the crate's tests with the compiler's own counters, runs them, and reads the counts.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};

use serde_json::Value;

use crate::{
    command::{Task, on_path},
    toolchain::Toolchain,
    workspace::Workspace,
};

const PACKAGE: &str = "trunnion";
const SOURCES: &str = "crates/trunnion/src/";
/// What begins the tests of a file; the house style puts them last.
const TESTS: &str = "#[cfg(test)]\nmod ";

/// The programs that read the counts.
pub struct Tools {
    /// Shows what was reached.
    pub cov: PathBuf,
    profdata: PathBuf,
}

/// What was reached, by path from the workspace's top folder.
pub struct Measured {
    /// The files that have code.
    pub files: BTreeMap<String, File>,
}

/// What was reached of a file.
#[derive(Debug, Clone, Default)]
pub struct File {
    /// Lines that have code.
    pub lines: usize,
    /// Those that were not reached: number, and text without indentation.
    pub missed_lines: Vec<(usize, String)>,
    /// Regions: pieces of code that run as a whole or not.
    pub regions: usize,
    /// Those that were not reached, as `line:column`.
    pub missed_regions: Vec<String>,
}

impl Tools {
    /// Those of the compiler's LLVM: the toolchain's own, or the system's of the same main version.
    pub fn find(own: &Toolchain) -> Option<Self> {
        let version = own.llvm()?;
        let folders = [own.programs(), PathBuf::from(format!("/usr/lib/llvm-{version}/bin"))];
        let program = |name: &str| {
            let beside = folders.iter().map(|folder| folder.join(name)).find(|path| path.is_file());
            beside.or_else(|| on_path(&format!("{name}-{version}")))
        };
        Some(Self { cov: program("llvm-cov")?, profdata: program("llvm-profdata")? })
    }
}

impl Measured {
    /// All files together.
    pub fn total(&self) -> File {
        let mut total = File::default();
        for file in self.files.values() {
            total.lines += file.lines;
            total.regions += file.regions;
            total.missed_lines.extend(file.missed_lines.iter().cloned());
            total.missed_regions.extend(file.missed_regions.iter().cloned());
        }
        total
    }
}

impl File {
    /// Percent of the lines that were reached.
    pub fn lines(&self) -> f64 {
        percent(self.missed_lines.len(), self.lines)
    }

    /// Percent of the regions that were reached.
    pub fn regions(&self) -> f64 {
        percent(self.missed_regions.len(), self.regions)
    }
}

fn percent(missed: usize, all: usize) -> f64 {
    if all == 0 { 100.0 } else { 100.0 * (all - missed) as f64 / all as f64 }
}

/// Builds, runs, reads.
pub fn measure(workspace: &Workspace, own: &Toolchain) -> Result<Measured, String> {
    let tools = Tools::find(own).ok_or("no llvm-cov of the compiler's LLVM: see `cargo xtask setup`")?;
    let folder = workspace.target.join("coverage");
    let program = build(workspace, own, &folder)?;
    let counts = folder.join("counts");
    let _ = fs::remove_dir_all(&counts);
    let tests = Task::new(workspace, "coverage tests", &program)
        .env("LLVM_PROFILE_FILE", counts.join("%p-%m.profraw"))
        .env("PROPTEST_RNG_SEED", "1")
        // Without optimisation, what a property generates lies on the stack.
        .env("RUST_MIN_STACK", "33554432")
        .args(["--quiet"]);
    if !tests.run(workspace).success {
        return Err("the tests of the core crate fail; see above".to_owned());
    }
    let profile = folder.join("profile.profdata");
    let raw = fs::read_dir(&counts).map_err(|error| format!("{}: {error}", counts.display()))?;
    let merge = Task::new(workspace, "llvm-profdata", &tools.profdata)
        .args(["merge", "--sparse"])
        .args(raw.flatten().map(|entry| entry.path()))
        .args(["--output"])
        .args([&profile]);
    if !merge.run(workspace).success {
        return Err("the counts cannot be merged; see above".to_owned());
    }
    let export = |format: &str| {
        let task = Task::new(workspace, &format!("llvm-cov {format}"), &tools.cov)
            .args(["export", &format!("--format={format}"), "--instr-profile"])
            .args([&profile, &program])
            .args(["--sources"])
            .args([workspace.root.join(SOURCES)]);
        let outcome = task.run_quietly(workspace);
        if outcome.success { Ok(outcome.out) } else { Err(format!("llvm-cov: {}", outcome.text)) }
    };
    let mut files = BTreeMap::new();
    lines(workspace, &export("lcov")?, &mut files)?;
    regions(workspace, &export("text")?, &mut files)?;
    files.retain(|_, file| file.lines > 0);
    Ok(Measured { files })
}

fn build(workspace: &Workspace, own: &Toolchain, folder: &Path) -> Result<PathBuf, String> {
    let task = own
        .cargo(workspace, "coverage build")
        .env("RUSTFLAGS", "-C instrument-coverage")
        .env("CARGO_TARGET_DIR", folder)
        // Build scripts count as well, into a file that nobody reads.
        .env("LLVM_PROFILE_FILE", folder.join("build.profraw"))
        // What was folded or inlined away would look as if it had not been reached.
        .env("CARGO_PROFILE_DEV_OPT_LEVEL", "0")
        .env("CARGO_PROFILE_DEV_DEBUG", "0")
        .args(["test", "--package", PACKAGE, "--lib", "--no-run", "--message-format", "json"]);
    let outcome = task.run(workspace);
    let ours = |line: &str| {
        let message: Value = serde_json::from_str(line).ok()?;
        let name = message["target"]["name"].as_str()?;
        (name == PACKAGE).then(|| message["executable"].as_str().map(PathBuf::from))?
    };
    let program = outcome.out.lines().filter_map(ours).next();
    program.ok_or_else(|| "the tests of the core crate do not build; see above".to_owned())
}

/// Lines by the LCOV format: `SF:path`, then `DA:line,count` for each line that has code.
fn lines(workspace: &Workspace, text: &str, files: &mut BTreeMap<String, File>) -> Result<(), String> {
    let mut current: Option<(String, Product)> = None;
    for line in text.lines() {
        if let Some(path) = line.strip_prefix("SF:") {
            current = Product::read(workspace, path)?;
        } else if let (Some(data), Some((path, product))) = (line.strip_prefix("DA:"), &current) {
            let mut numbers = data.split(',').map(|word| word.parse::<usize>().unwrap_or(0));
            let (number, count) = (numbers.next().unwrap_or(0), numbers.next().unwrap_or(0));
            let Some(text) = product.line(number) else { continue };
            let file = files.entry(path.clone()).or_default();
            file.lines += 1;
            if count == 0 {
                file.missed_lines.push((number, text.to_owned()));
            }
        }
    }
    Ok(())
}

/// Regions by the export's functions: each region is `[line, column, end line, end column, count, file, …, kind]`,
/// where kind 0 is code. A generic function is there once for each instance.
fn regions(workspace: &Workspace, text: &str, files: &mut BTreeMap<String, File>) -> Result<(), String> {
    let export: Value = serde_json::from_str(text).map_err(|error| format!("llvm-cov: {error}"))?;
    let mut counts: BTreeMap<(String, [u64; 4]), u64> = BTreeMap::new();
    let functions = export["data"][0]["functions"].as_array().ok_or("llvm-cov: no functions")?;
    for function in functions {
        for region in function["regions"].as_array().into_iter().flatten() {
            let number = |index: usize| region[index].as_u64().unwrap_or(0);
            let file = &function["filenames"][number(5) as usize];
            if number(7) == 0
                && let Some(path) = file.as_str()
            {
                let place = [number(0), number(1), number(2), number(3)];
                *counts.entry((path.to_owned(), place)).or_default() += number(4);
            }
        }
    }
    let mut known: BTreeMap<String, Option<(String, Product)>> = BTreeMap::new();
    for ((path, place), count) in counts {
        if !known.contains_key(&path) {
            known.insert(path.clone(), Product::read(workspace, &path)?);
        }
        let Some(Some((shown, product))) = known.get(&path) else { continue };
        if product.line(place[0] as usize).is_none() {
            continue;
        }
        let file = files.entry(shown.clone()).or_default();
        file.regions += 1;
        if count == 0 {
            file.missed_regions.push(format!("{}:{}", place[0], place[1]));
        }
    }
    Ok(())
}

/// The text of a source file in front of its tests.
struct Product(Vec<String>);

impl Product {
    /// Nothing for a file that is not the product's.
    fn read(workspace: &Workspace, path: &str) -> Result<Option<(String, Self)>, String> {
        let shown = workspace.shown(Path::new(path));
        if !shown.starts_with(SOURCES) || is_of_tests(workspace, &shown)? {
            return Ok(None);
        }
        let text =
            fs::read_to_string(workspace.root.join(&shown)).map_err(|error| format!("{shown}: {error}"))?;
        Ok(Some((shown, Self::of(&text))))
    }

    fn of(text: &str) -> Self {
        // An inline module of tests; one in a file of its own ends with a semicolon and hides nothing here.
        let begin = text.match_indices(TESTS).find(|(place, _)| {
            text[*place..].lines().nth(1).is_some_and(|line| line.trim_end().ends_with('{'))
        });
        let product = begin.map_or(text, |(place, _)| &text[..place]);
        Self(product.lines().map(|line| line.trim().to_owned()).collect())
    }

    fn line(&self, number: usize) -> Option<&str> {
        self.0.get(number.checked_sub(1)?).map(String::as_str)
    }
}

/// Whether a file is a test module, or one that its parent declares for tests only.
fn is_of_tests(workspace: &Workspace, path: &str) -> Result<bool, String> {
    if path.ends_with("/tests.rs") || path.contains("/tests/") {
        return Ok(true);
    }
    let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
    let parent = match SOURCES.trim_end_matches('/') {
        root if root == folder => format!("{folder}/lib.rs"),
        _ => format!("{folder}.rs"),
    };
    let parent = workspace.root.join(parent);
    if !parent.is_file() {
        return Ok(false);
    }
    let text = fs::read_to_string(&parent).map_err(|error| format!("{}: {error}", parent.display()))?;
    let declared = format!("mod {};", name.trim_end_matches(".rs"));
    let lines: Vec<&str> = text.lines().collect();
    let place = lines.iter().position(|line| line.ends_with(&declared)).unwrap_or(0);
    let mut above = lines[..place].iter().rev().take_while(|line| line.starts_with("#["));
    Ok(above.any(|line| *line == "#[cfg(test)]"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_tests_do_not_count_and_those_in_front_of_them_do() {
        let product = Product::of("#[cfg(test)]\nmod tests;\nfn a() {\n}\n#[cfg(test)]\nmod more {\n}\n");
        assert_eq!(product.line(3), Some("fn a() {"));
        assert_eq!(product.line(6), None);
        assert_eq!(product.line(0), None);
    }

    #[test]
    fn a_file_for_tests_only_is_told_from_the_product() {
        let workspace = Workspace::find().unwrap();
        let of_tests = |name: &str| is_of_tests(&workspace, &format!("{SOURCES}{name}")).unwrap();
        assert!(
            of_tests("four_verbs.rs") && of_tests("valve/coil_model.rs") && of_tests("propel/mixer/tests.rs")
        );
        assert!(!of_tests("valve/coil.rs") && !of_tests("lib.rs"));
    }

    #[test]
    fn counts_are_read_and_those_of_several_instances_added() {
        let workspace = Workspace::find().unwrap();
        let path = workspace.root.join(SOURCES).join("lib.rs").display().to_string();
        let mut files = BTreeMap::new();
        lines(&workspace, &format!("SF:{path}\nDA:1,5\nDA:2,0\nDA:9999,0\nend_of_record\n"), &mut files)
            .unwrap();
        let instance = |count: u32| {
            format!(
                "{{\"filenames\": [\"{path}\"], \"regions\": [[1,1,1,9,{count},0,0,0], [2,1,2,9,0,0,0,0], [2,1,2,9,0,0,0,3]]}}"
            )
        };
        let text = format!("{{\"data\": [{{\"functions\": [{}, {}]}}]}}", instance(0), instance(3));
        regions(&workspace, &text, &mut files).unwrap();
        let file = &files["crates/trunnion/src/lib.rs"];
        assert_eq!((file.lines, file.missed_lines.len()), (2, 1));
        assert_eq!((file.regions, file.missed_regions.as_slice()), (2, &["2:1".to_owned()][..]));
    }
}
