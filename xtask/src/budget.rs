//! Weighs every block: builds it alone, runs it in QEMU, counts, and compares with what is checked in.
//!
//! An image has no log and no start-up code but its own. Its panic handler calls a function that does not exist, so that
//! `new` and `step` of a block, linked alone, link exactly when they cannot panic; flash is that of this link. The whole
//! image has a stream of inputs around them and is run.

mod board;
mod book;
mod quiet;
mod sheet;
mod subject;
mod table;
mod tools;

use std::{
    collections::BTreeMap,
    fs,
    path::PathBuf,
    process::ExitCode,
    sync::{
        Mutex, PoisonError,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
};

use clap::Args;

use crate::{
    Verdict,
    image::Image,
    progress::{Running, say},
    setup::{self, Need},
    tally::Tally,
    toolchain::{Toolchain, any_linker},
    workspace::Workspace,
};
use board::{BOARDS, Board};
use book::{Book, Figures};
use subject::Subject;
use tools::{Library, Linked, MISSING, Tools};

/// What it needs.
pub const NEEDS: &[Need] = &[Need::AllCores, Need::AnyLinker, Need::Qemu, Need::QemuRiscv];
/// What is compared: the functions of a block alone.
const ALONE: Linked<'_> = Linked::Alone(["block_step", "block_new"]);

const TEACH: &str = "\
Examples:
  cargo xtask budget                                    every block on every core, beside its twins
  cargo xtask budget --subject lever --target m4f       one room on one core, in seconds
  cargo xtask budget --subject lever/axis --json a.json one block, figures for a program
  cargo xtask budget --write                            you changed a cost on purpose: keep the new figures

Columns: instructions of the median step and of the longest step found (64 streams of 256 steps; exact, from QEMU's
instruction count); bytes of code and constants; bytes of state; bytes of stack below the call; then
instructions as a ratio to the same function in C (gcc -O2, clang -O2) and in f32, typical and largest.";

/// What the verb takes.
#[derive(Args)]
#[command(after_help = TEACH)]
pub struct Options {
    /// This block or room only, such as `lever/axis` or `lever` (may be given more than once)
    #[arg(long, value_name = "NAME")]
    subject: Vec<String>,
    /// This core only: M0, M3, M4F, M33, RV32IMAC, or a triple (may be given more than once)
    #[arg(long, value_name = "CORE")]
    target: Vec<String>,
    /// Only say what is beyond its budget; no table, no twins
    #[arg(long, conflicts_with = "write")]
    check: bool,
    /// Keep the figures as the new budget
    #[arg(long)]
    write: bool,
    /// Write the figures to a file, for other programs
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
}

/// What is weighed.
struct Order {
    subjects: Vec<Subject>,
    boards: Vec<&'static Board>,
    /// Twins in C, too.
    twins: bool,
}

/// The verb.
pub fn verb(workspace: &Workspace, options: &Options) -> Verdict {
    let mut boards = options.target.iter().map(|word| Board::named(word)).collect::<Result<Vec<_>, _>>()?;
    if boards.is_empty() {
        boards.extend(BOARDS);
    }
    let order = Order { subjects: subject::all(workspace, &options.subject)?, boards, twins: !options.check };
    let own = Toolchain::own()?;
    if !setup::provide(workspace, &own, NEEDS).is_empty() {
        return Ok(ExitCode::FAILURE);
    }
    let tools = tools(workspace, &own)?;
    let name = tools.name();
    let (measured, mut failures) = weigh(&tools, &order);
    if !options.check {
        for board in &order.boards {
            say(format_args!("\n{}", table::of(board, &measured)));
        }
    }
    if let Some(path) = &options.json {
        fs::write(path, table::json(&name, &measured))
            .map_err(|error| format!("{}: {error}", path.display()))?;
    }
    let path = book::path(workspace, &name);
    let kept = Book::read(&path)?;
    if options.write && failures.is_empty() {
        let mut book = kept.unwrap_or_default();
        book.take(&measured, options.subject.is_empty() && options.target.is_empty());
        let folder = path.parent().ok_or("a file without a folder")?;
        fs::create_dir_all(folder).map_err(|error| error.to_string())?;
        fs::write(&path, book.text(&tools.about())).map_err(|error| error.to_string())?;
        say(format_args!("{} figures kept in {}", measured.rows.len(), workspace.shown(&path)));
        return Ok(ExitCode::SUCCESS);
    }
    match kept {
        Some(kept) => {
            failures.extend(kept.findings(&measured));
            let smaller = kept.savings(&measured);
            if smaller > 0 {
                say(format_args!("{smaller} rows became smaller by more than 3 %: `--write` keeps that."));
            }
        }
        None => say(format_args!("No budget for {name}: nothing to compare with; `--write` makes one.")),
    }
    if failures.is_empty() {
        return Ok(ExitCode::SUCCESS);
    }
    say(format_args!("\nBeyond the budget ({}):", workspace.shown(&path)));
    for failure in failures {
        say(format_args!("  {failure}"));
    }
    say("If you meant it, run the same with `--write` and commit the file.");
    Ok(ExitCode::FAILURE)
}

/// The core of the suite's steps, that of the machines' images: all five take half an hour.
const OF_SUITE: &str = "M4F";

/// The step of the suite: every block alone links, so cannot panic, and keeps its budget.
pub fn prove(workspace: &Workspace, own: &Toolchain, tally: &mut Tally) {
    let links = "every block alone on the M4F: the image links, so no panic is reachable";
    let keeps = "no figure of a block on the M4F grew by more than 3 %";
    let order = subject::all(workspace, &[])
        .and_then(|subjects| Ok(Order { subjects, boards: vec![Board::named(OF_SUITE)?], twins: false }));
    let (tools, order) = match tools(workspace, own).and_then(|tools| Ok((tools, order?))) {
        Ok(both) => both,
        Err(why) => return tally.fail(links, why),
    };
    let (measured, failures) = weigh(&tools, &order);
    match failures.as_slice() {
        [] => tally.pass(links),
        [first, ..] => tally.fail(links, format!("{} did not; first: {first}", failures.len())),
    }
    let path = book::path(workspace, &tools.name());
    match Book::read(&path) {
        Err(why) => tally.fail(keeps, why),
        Ok(None) => tally.skip(keeps, format!("no budget is kept for {}", tools.name())),
        Ok(Some(kept)) => match kept.findings(&measured).as_slice() {
            [] => tally.pass(keeps),
            all => {
                let remedy = "if you meant it: `cargo xtask budget --write`";
                tally.fail(keeps, format!("{} grew: {}; {remedy}", all.len(), all.join("; ")));
            }
        },
    }
}

/// The other step: a block with a planted panic must not link.
pub fn refute(workspace: &Workspace, own: &Toolchain, tally: &mut Tally) {
    let tools = match tools(workspace, own) {
        Ok(tools) => tools,
        Err(why) => return tally.fail("a block with a planted panic", why),
    };
    for board in BOARDS.iter().filter(|board| board.name == OF_SUITE) {
        let claim = format!("a block with a planted panic does not link for {}", board.name);
        let linked = tools.library(board).and_then(|library| {
            let root = subject::root("image!(costs::image::Planted)");
            let archive = tools.compile(&library, "planted", &root)?;
            Ok(tools.link(&library, "planted", ALONE, &[archive]))
        });
        match linked {
            Err(why) => tally.fail(&claim, why),
            Ok(Ok(_)) => tally.fail(&claim, "it linked: the proof proves nothing".to_owned()),
            Ok(Err(text)) if text.contains(MISSING) => tally.pass(&claim),
            Ok(Err(text)) => {
                tally.fail(&claim, format!("it failed, but not for want of `{MISSING}`: {text}"))
            }
        }
    }
}

/// The toolchain that can build for every core: one whose figures are kept before others.
pub fn toolchain(own: &Toolchain) -> Option<Toolchain> {
    let mut able: Vec<Toolchain> = [Some(own.clone()), Toolchain::debian()]
        .into_iter()
        .flatten()
        .filter(|chain| BOARDS.iter().all(|board| chain.core_for(board.triple).is_some()))
        .collect();
    if let Ok(workspace) = Workspace::find() {
        able.sort_by_key(|chain| !book::path(&workspace, &chain.exact_name()).is_file());
    }
    able.into_iter().next()
}

fn tools<'a>(workspace: &'a Workspace, own: &Toolchain) -> Result<Tools<'a>, String> {
    let chain = toolchain(own).ok_or("no toolchain has `core` for every controller")?;
    let linker = any_linker(own).ok_or("no linker for every controller")?;
    Ok(Tools::new(workspace, chain, linker))
}

/// Weighs what was ordered; gives the figures and what went wrong.
fn weigh(tools: &Tools<'_>, order: &Order) -> (Book, Vec<String>) {
    let mut failures = Vec::new();
    let mut libraries = Vec::new();
    for board in &order.boards {
        match tools.library(board) {
            Ok(library) => libraries.push(library),
            Err(why) => failures.push(why),
        }
    }
    let jobs: Vec<(&Library, &Subject)> = libraries
        .iter()
        .flat_map(|library| order.subjects.iter().map(move |subject| (library, subject)))
        .collect();
    say(format_args!("  {} images; commands are kept in target/xtask/budget-commands.log", jobs.len()));
    let running = Running::start("budget");
    let (next, results) = (AtomicUsize::new(0), Mutex::new((Book::default(), failures)));
    let checksums = Mutex::new(BTreeMap::new());
    let worker = || {
        while let Some((library, subject)) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
            let place = next.load(Ordering::Relaxed).min(jobs.len());
            running.note(&format!("{place}/{} {} on {}", jobs.len(), subject.name(), library.board.name));
            let weighed = one(tools, library, subject, order.twins);
            let mut results = results.lock().unwrap_or_else(PoisonError::into_inner);
            match weighed {
                Ok(rows) => {
                    for (key, figures, checksum) in rows {
                        // Twins in `f32` are near, not equal.
                        let mut checksums = checksums.lock().unwrap_or_else(PoisonError::into_inner);
                        let first = *checksums.entry(subject.name()).or_insert(checksum);
                        if key.2 != "float" && first != checksum {
                            let (subject, core, by) = &key;
                            results
                                .1
                                .push(format!("{subject} on {core} by {by}: other outputs than elsewhere"));
                        }
                        results.0.rows.insert(key, figures);
                    }
                }
                Err(why) => results.1.push(format!("{} on {}: {why}", subject.name(), library.board.name)),
            }
        }
    };
    thread::scope(|scope| {
        for _ in 0..thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(worker);
        }
    });
    drop(running);
    results.into_inner().unwrap_or_else(PoisonError::into_inner)
}

/// One subject on one board, with its twins.
fn one(
    tools: &Tools<'_>,
    library: &Library,
    subject: &Subject,
    twins: bool,
) -> Result<Vec<(book::Key, Figures, u32)>, String> {
    let key = subject.key();
    let board = if subject.is_large() { library.board.roomy() } else { library.board };
    let archive = tools.compile(library, &key, &subject.image())?;
    let objects = [archive.clone()];
    let alone = tools
        .link(library, &format!("{key}.alone"), ALONE, &objects)
        .map_err(|text| if text.contains(MISSING) { panics(&text) } else { text })?;
    let mut flash = BTreeMap::from([("rust", Image::read(&alone)?.size.text)]);
    let image = tools.link(library, &key, Linked::For(board), &objects)?;
    let mut sheets = sheet::read(board, &tools.run(board, &image)?)?;
    if twins && subject.c {
        let made = tools.c_twins(library, subject)?;
        let names: Vec<&str> = made.iter().map(|(name, _)| *name).collect();
        if !names.is_empty() {
            let archive_of_twins =
                tools.compile(library, &format!("{key}.twins"), &subject.twin_image(&names))?;
            let mut objects: Vec<PathBuf> = made.iter().flat_map(|(_, objects)| objects.clone()).collect();
            objects.push(archive_of_twins);
            let image = tools.link(library, &format!("{key}.twins"), Linked::For(board), &objects)?;
            sheets.extend(sheet::read(board, &tools.run(board, &image)?)?);
            for (name, mut objects) in made {
                let functions = [format!("{key}_step_{name}"), format!("{key}_new_{name}")];
                objects.push(archive.clone());
                let alone = tools.link(
                    library,
                    &format!("{key}.{name}"),
                    Linked::Alone([&functions[0], &functions[1]]),
                    &objects,
                )?;
                flash.insert(name, Image::read(&alone)?.size.text);
            }
        }
    }
    let row = |sheet: &sheet::Sheet| {
        let by = sheet.implementation.clone();
        let figures = Figures::of(sheet, flash.get(by.as_str()).copied());
        ((subject.name(), board.name.to_owned(), by), figures, sheet.checksum)
    };
    Ok(sheets.iter().map(row).collect())
}

/// Where the linker says that a panic comes from.
fn panics(text: &str) -> String {
    let from = text.lines().find_map(|line| line.trim().strip_prefix(">>> referenced by "));
    format!(
        "a panic is reachable ({}); usual causes: `/` or `%` by a variable, indexing, `clamp`, plain arithmetic",
        from.unwrap_or("the linker does not say from where")
    )
}
