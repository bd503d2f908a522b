//! Finds from where a panic is reached when an image does not link: the linker names the handler only.
//!
//! The image is linked once more, in a folder of its own, with the missing function defined away, and then read.

use std::collections::BTreeSet;

use super::{MISSING, Order, inside, task};
use crate::{
    command::{ask, on_path, quote},
    image::Image,
    progress::say,
    toolchain::CrossToolchain,
    workspace::Workspace,
};

/// Prints who calls what panics.
pub fn list(workspace: &Workspace, cross: &CrossToolchain, order: Order<'_>) {
    let folder = workspace.target.join("firmware-that-panics");
    let built = task(workspace, cross, order, "firmware that panics")
        .env("CARGO_TARGET_DIR", &folder)
        .env("RUSTFLAGS", format!("-Clink-arg=--defsym={MISSING}=0"))
        .run(workspace);
    if !built.success {
        return;
    }
    let path = inside(&folder, order.machine);
    let listing = on_path("arm-none-eabi-objdump")
        .and_then(|program| ask(program, ["-d".as_ref(), "-C".as_ref(), path.as_os_str()]));
    if let Some(listing) = listing {
        say("  Calls of what panics:");
        quote(&calls(&listing).into_iter().collect::<Vec<_>>().join("\n"));
    } else if let Ok(image) = Image::read(&path) {
        say("  What panics (install binutils-arm-none-eabi to see who calls it):");
        quote(&image.panics().join("\n"));
    }
    say("  Usual causes: `/` or `%` by a variable, indexing, `clamp`, `copy_from_slice`, plain arithmetic.");
}

/// `caller -> callee` for every branch to a panicking function, without those within the machinery itself.
fn calls(listing: &str) -> BTreeSet<String> {
    let mut caller = "";
    let mut found = BTreeSet::new();
    for line in listing.lines() {
        if let Some(name) = line.strip_suffix(">:").and_then(|line| line.split_once(" <")) {
            caller = name.1;
        } else if let Some(callee) = line.strip_suffix('>').and_then(branch_target)
            && is_machinery(callee)
            && !is_machinery(caller)
        {
            found.insert(format!("{caller} -> {callee}"));
        }
    }
    found
}

fn branch_target(line: &str) -> Option<&str> {
    let (before, target) = line.split_once(" <")?;
    let branches = before.split('\t').any(|word| word.starts_with('b') && word.len() <= 6);
    branches.then_some(target)
}

fn is_machinery(name: &str) -> bool {
    ["core::panicking::", "core::option::", "core::result::", "core::slice::index::", "core::cell::panic"]
        .iter()
        .any(|start| name.starts_with(start))
        || name.contains("rust_begin_unwind")
        || name.contains("_fail")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn callers_of_panics_are_listed_once_and_the_machinery_is_left_out() {
        let listing = "\
0000040c <loader::control::step>:
     40c:\tb580      \tpush\t{r7, lr}
     410:\tf000 f8a2 \tbl\t558 <core::panicking::panic_const::panic_const_div_by_zero>
     414:\tf000 f8a2 \tbl\t558 <core::panicking::panic_const::panic_const_div_by_zero>
     418:\tf000 f8a2 \tbl\t700 <loader::control::other>

00000558 <core::panicking::panic_const::panic_const_div_by_zero>:
     558:\tf000 f8a2 \tb.w\t600 <core::panicking::panic_fmt>
";
        let expected = "loader::control::step -> core::panicking::panic_const::panic_const_div_by_zero";
        assert_eq!(calls(listing).into_iter().collect::<Vec<_>>(), [expected]);
    }
}
