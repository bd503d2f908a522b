//! Builds a machine's bare-metal image and proves that no panic is reachable in it.
//!
//! The image's panic handler calls a function that does not exist. The linker throws away what nothing calls, so
//! the image links exactly when nothing can panic. Two more looks keep that proof honest: the linked image's
//! symbols are searched for `core::panicking`, and the same image with a panic planted in it must fail to link,
//! for this reason and no other.

mod callers;

use std::{
    path::{Path, PathBuf},
    process::ExitCode,
};

use crate::{
    Verdict,
    command::{Outcome, Task},
    image::Image,
    progress::say,
    setup,
    setup::Need,
    tally::Tally,
    toolchain::{CORTEX_M, CrossToolchain, Toolchain},
    workspace::Workspace,
};

/// What the image needs.
pub const NEEDS: &[Need] = &[Need::Linker, Need::Core];
/// The function that the panic handler calls and nobody defines.
const MISSING: &str = "a_panic_is_reachable_in_this_image";
/// The feature that plants a panic.
const PLANTED: &str = "planted-panic";
const PROFILE: &str = "firmware";

/// What to build.
#[derive(Debug, Clone, Copy)]
pub struct Order<'a> {
    /// The package in `examples/`.
    pub machine: &'a str,
    /// Log messages of level `info` compiled in, else errors only.
    pub log: bool,
    /// A panic planted: must not link.
    pub planted: bool,
}

/// The verb: build, measure, prove.
pub fn verb(workspace: &Workspace, machine: &str, log: bool) -> Verdict {
    if !workspace.root.join("examples").join(machine).join("Cargo.toml").is_file() {
        return Err(format!("no machine `{machine}`: expected a package at examples/{machine}"));
    }
    let own = Toolchain::own()?;
    let lacks = setup::provide(workspace, &own, NEEDS);
    if !lacks.is_empty() {
        return Ok(ExitCode::FAILURE);
    }
    let cross = CrossToolchain::find(&own).ok_or("no toolchain for the image")?;
    let mut tally = Tally::default();
    let image = prove(workspace, &cross, Order { machine, log, planted: false }, &mut tally);
    if let Some(path) = image {
        say(format_args!("  image: {}", workspace.shown(&path)));
    }
    Ok(if tally.failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// Builds the image and looks at it: two checks. Gives its path when it could be linked.
pub fn prove(
    workspace: &Workspace,
    cross: &CrossToolchain,
    order: Order<'_>,
    tally: &mut Tally,
) -> Option<PathBuf> {
    let built = build(workspace, cross, order);
    let links = "the image links, so no panic is reachable";
    if !built.success {
        let why = if built.text.contains(MISSING) {
            format!("a panic is reachable (`{MISSING}` is missed); its callers are listed above")
        } else {
            "it does not build".to_owned()
        };
        if built.text.contains(MISSING) {
            callers::list(workspace, cross, order);
        }
        tally.fail(links, why);
        return None;
    }
    tally.pass(links);
    let path = path(workspace, order.machine);
    let named = "no symbol of the image belongs to core::panicking";
    match Image::read(&path) {
        Err(why) => tally.fail(named, why),
        // A stripped image holds no names, and a search in nothing finds nothing.
        Ok(image) if !image.symbols.iter().any(|name| name == "Reset") => {
            tally.fail(named, "the image has no symbol `Reset`: were the names stripped?".to_owned());
        }
        Ok(image) => {
            say(format_args!(
                "    text {} B, data {} B, bss {} B ({} symbols)",
                image.size.text,
                image.size.data,
                image.size.bss,
                image.symbols.len()
            ));
            match image.panics().as_slice() {
                [] => tally.pass(named),
                found => tally.fail(named, format!("found {}", found.join(", "))),
            }
        }
    }
    Some(path)
}

/// Shows that the proof can fail: one check.
pub fn refute(workspace: &Workspace, cross: &CrossToolchain, order: Order<'_>, tally: &mut Tally) {
    let claim = "the image with a planted panic does not link";
    say("  (the next command must fail, and because of the planted panic)");
    let built = build(workspace, cross, Order { planted: true, ..order });
    if built.success {
        tally.fail(claim, "it linked: the proof proves nothing".to_owned());
    } else if built.text.contains(MISSING) {
        tally.pass(claim);
    } else {
        tally.fail(claim, format!("it failed, but not for want of `{MISSING}`; see target/xtask"));
    }
}

fn build(workspace: &Workspace, cross: &CrossToolchain, order: Order<'_>) -> Outcome {
    let name = if order.planted { "firmware with a planted panic" } else { "firmware" };
    let task = task(workspace, cross, order, name);
    if order.planted { task.run_quietly(workspace) } else { task.run(workspace) }
}

fn task(workspace: &Workspace, cross: &CrossToolchain, order: Order<'_>, name: &str) -> Task {
    let Order { machine, log, planted } = order;
    let features = if planted { format!("firmware,{PLANTED}") } else { "firmware".to_owned() };
    let bin = format!("{machine}-firmware");
    let task = cross
        .cargo(workspace, name, "build")
        .args(["--package", machine, "--bin", &bin, "--profile", PROFILE])
        .args(["--no-default-features", "--features", &features]);
    if log { task.env("DEFMT_LOG", "info") } else { task.without("DEFMT_LOG") }
}

/// Where the image of a machine lies once it is built.
pub fn path(workspace: &Workspace, machine: &str) -> PathBuf {
    inside(&workspace.target.join("firmware"), machine)
}

fn inside(folder: &Path, machine: &str) -> PathBuf {
    folder.join(CORTEX_M).join(PROFILE).join(format!("{machine}-firmware"))
}
