//! What the project needs beside Rust, whether it is there, and how it comes here.

use std::process::ExitCode;

use crate::{
    Verdict,
    apt::Apt,
    budget,
    command::on_path,
    coverage, mutants,
    progress::say,
    python, slurm,
    toolchain::{
        CORTEX_M, Toolchain, any_linker, arm_linker, cortex_toolchain, cortex_toolchain_with_lints, shown,
        with_cargo_command,
    },
    workspace::Workspace,
};

/// Something that must be on the computer for a part of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Runs the image.
    Qemu,
    /// Links the image.
    Linker,
    /// `core` for the Cortex-M.
    Core,
    /// `cargo fmt`.
    Format,
    /// `cargo clippy`.
    Lint,
    /// `cargo clippy` of the toolchain that builds the image.
    LintForCore,
    /// Runs images of RISC-V.
    QemuRiscv,
    /// Links images of all cores.
    AnyLinker,
    /// `core` for all cores.
    AllCores,
    /// Python with `venv` and `pip`, for the independent oracles.
    Python,
    /// Plants mutants in the core crate.
    Mutants,
    /// Reads the compiler's coverage counts.
    Coverage,
    /// Tells Slurm's daemons and commands who speaks.
    Munge,
    /// Runs a job array.
    Slurm,
    /// Runs a Linux with CAN.
    QemuPc,
    /// The commands of that Linux.
    Busybox,
    /// Linux's own tools for CAN.
    CanUtils,
    /// Packs the files of that Linux.
    Cpio,
}

/// Where programs that Cargo installs for us go, below the target folder.
pub const TOOLS: &str = "tools";

/// What the demo needs.
pub const FOR_DEMO: &[Need] = &[Need::Qemu, Need::Linker, Need::Core];
/// What the suite needs: everything.
pub const FOR_TEST: &[Need] = &[
    Need::Format,
    Need::Lint,
    Need::Python,
    Need::Linker,
    Need::Core,
    Need::LintForCore,
    Need::Qemu,
    Need::QemuRiscv,
    Need::AnyLinker,
    Need::AllCores,
    Need::Coverage,
    Need::Mutants,
];

impl Need {
    /// Its name, for a person.
    pub fn name(self) -> &'static str {
        match self {
            Self::Qemu => "QEMU for ARM",
            Self::Linker => "a linker for ARM",
            Self::Core => "Rust's core library for the Cortex-M4F",
            Self::Format => "cargo fmt",
            Self::Lint => "cargo clippy",
            Self::LintForCore => "cargo clippy for the Cortex-M4F",
            Self::QemuRiscv => "QEMU for RISC-V",
            Self::AnyLinker => "a linker for every controller",
            Self::AllCores => "Rust's core library for five controllers",
            Self::Python => "Python 3.11 or newer with venv",
            Self::Mutants => "cargo-mutants",
            Self::Coverage => "llvm-cov and llvm-profdata of the compiler's LLVM",
            Self::Munge => "MUNGE, which Slurm needs",
            Self::Slurm => "Slurm",
            Self::QemuPc => "QEMU for a PC",
            Self::Busybox => "BusyBox, linked statically",
            Self::CanUtils => "candump and cansend",
            Self::Cpio => "cpio",
        }
    }

    /// The Debian packages that bring it.
    pub fn packages(self) -> &'static [&'static str] {
        match self {
            Self::Qemu => &["qemu-system-arm"],
            Self::Linker => &["binutils-arm-none-eabi"],
            Self::QemuRiscv => &["qemu-system-misc"],
            Self::AnyLinker => &["lld"],
            Self::Core | Self::AllCores => &["rustc-web", "cargo-web", "rust-web-src"],
            Self::Format => &["rustc-web", "cargo-web", "rustfmt-web"],
            Self::Lint | Self::LintForCore => &["rustc-web", "cargo-web", "rust-web-clippy"],
            Self::Python => &["python3", "python3-venv"],
            Self::Coverage => &["llvm-22"],
            Self::Munge => &["munge"],
            Self::Slurm => &["slurm-wlm"],
            Self::QemuPc => &["qemu-system-x86"],
            Self::Busybox => &["busybox-static"],
            Self::CanUtils => &["can-utils"],
            Self::Cpio => &["cpio"],
            Self::Mutants => &[],
        }
    }

    /// Where it comes from, for a person.
    fn source(self) -> String {
        match self.packages() {
            [] => install_words().join(" "),
            packages => format!("apt: {}", packages.join(" ")),
        }
    }

    /// Another way to it, where there is one.
    fn otherwise(self) -> Option<String> {
        match self {
            Self::Core => Some(format!("rustup target add {CORTEX_M}   (or: rustup component add rust-src)")),
            Self::AllCores => Some("rustup component add rust-src".to_owned()),
            Self::Format => Some("rustup component add rustfmt".to_owned()),
            Self::Lint => Some("rustup component add clippy".to_owned()),
            Self::Coverage => Some("rustup component add llvm-tools".to_owned()),
            Self::Mutants => Some(install_words().join(" ")),
            Self::LintForCore
            | Self::Qemu
            | Self::QemuRiscv
            | Self::Linker
            | Self::AnyLinker
            | Self::Munge
            | Self::Slurm
            | Self::QemuPc
            | Self::Busybox
            | Self::CanUtils
            | Self::Cpio
            | Self::Python => None,
        }
    }

    /// Where it was found.
    pub fn found(self, workspace: &Workspace, own: &Toolchain) -> Option<String> {
        match self {
            Self::Qemu => on_path("qemu-system-arm").map(|path| shown(&path)),
            Self::Linker => arm_linker(own).map(|path| shown(&path)),
            Self::Core => cortex_toolchain(own).map(|(chain, core)| format!("{} ({core:?})", chain.name())),
            Self::QemuRiscv => on_path("qemu-system-riscv32").map(|path| shown(&path)),
            Self::AnyLinker => any_linker(own).map(|path| shown(&path)),
            Self::AllCores => budget::toolchain(own).map(|chain| chain.name()),
            Self::Format => with_cargo_command(own, "fmt").map(|chain| chain.name()),
            Self::Lint => with_cargo_command(own, "clippy").map(|chain| chain.name()),
            Self::LintForCore => cortex_toolchain_with_lints(own).map(|(chain, _)| chain.name()),
            Self::Python => python::interpreter().map(|path| shown(&path)),
            Self::Mutants => mutants::program(workspace).map(|path| shown(&path)),
            Self::Coverage => coverage::Tools::find(own).map(|tools| shown(&tools.cov)),
            Self::QemuPc => on_path("qemu-system-x86_64").map(|path| shown(&path)),
            Self::Busybox => on_path("busybox").map(|path| shown(&path)),
            Self::CanUtils => on_path("candump").map(|path| shown(&path)),
            Self::Cpio => on_path("cpio").map(|path| shown(&path)),
            Self::Munge => slurm::program("munged").map(|path| shown(&path)),
            Self::Slurm => {
                let all =
                    ["slurmctld", "slurmd", "sbatch", "scontrol", "sinfo", "scancel"].map(slurm::program);
                all.iter().all(Option::is_some).then(|| all[0].as_deref().map(shown)).flatten()
            }
        }
    }
}

/// Something that is still lacking after we did what we could, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lack {
    /// What.
    pub need: Need,
    /// Why it could not be installed.
    pub reason: String,
    /// Nobody allowed us to install, as opposed to a failed attempt.
    pub forbidden: bool,
}

/// The verb: look, install what can be, say what cannot.
pub fn verb(workspace: &Workspace, check: bool) -> Verdict {
    let own = Toolchain::own()?;
    for need in FOR_TEST {
        match need.found(workspace, &own) {
            Some(place) => say(format_args!("  there    {:<40} {place}", need.name())),
            None => say(format_args!("  lacking  {:<40} {}", need.name(), need.source())),
        }
    }
    let lacking = lacking(FOR_TEST, workspace, &own);
    if lacking.is_empty() {
        say("Nothing is lacking: `cargo xtask demo` comes next.");
        return Ok(ExitCode::SUCCESS);
    }
    if check {
        say(advice(&lacking));
        return Ok(ExitCode::FAILURE);
    }
    let lacks = provide(workspace, &own, FOR_TEST);
    if lacks.is_empty() { Ok(ExitCode::SUCCESS) } else { Ok(ExitCode::FAILURE) }
}

/// Installs what is lacking of `needs`, as far as that is possible; gives what is lacking still.
pub fn provide(workspace: &Workspace, own: &Toolchain, needs: &[Need]) -> Vec<Lack> {
    let mut wanted = lacking(needs, workspace, own);
    let mut left = Vec::new();
    if wanted.contains(&Need::Mutants) {
        wanted.retain(|need| *need != Need::Mutants);
        if let Err(reason) = install_mutants(workspace, own) {
            say(advice(&[Need::Mutants]));
            left = lacks(&[Need::Mutants], &reason, false);
        }
    }
    if !wanted.is_empty() {
        left.extend(provide_packages(workspace, own, &wanted));
    }
    left
}

/// cargo-mutants is no package of Debian: Cargo builds it, below the target folder.
fn install_mutants(workspace: &Workspace, own: &Toolchain) -> Result<(), String> {
    let root = workspace.target.join(TOOLS);
    let task =
        own.cargo(workspace, "cargo install").args(&install_words()[1..]).args(["--root"]).args([&root]);
    if task.run(workspace).success {
        Ok(())
    } else {
        Err("Cargo could not install cargo-mutants (is the package index reachable?)".to_owned())
    }
}

fn install_words() -> [&'static str; 6] {
    ["cargo", "install", "--locked", "--version", mutants::VERSION, mutants::PROGRAM]
}

fn provide_packages(workspace: &Workspace, own: &Toolchain, wanted: &[Need]) -> Vec<Lack> {
    let apt = match Apt::find() {
        Ok(apt) => apt,
        Err(reason) => {
            say(format_args!("  Cannot install ({reason})."));
            say(advice(wanted));
            return lacks(wanted, &reason, true);
        }
    };
    let failed = apt.install(workspace, &packages(wanted)).err();
    let left = lacking(wanted, workspace, own);
    if left.is_empty() {
        return Vec::new();
    }
    let reason = failed.unwrap_or_else(|| "the installed packages are too old or do not hold it".to_owned());
    say(format_args!("  {reason}."));
    say(advice(&left));
    lacks(&left, &reason, false)
}

fn lacking(needs: &[Need], workspace: &Workspace, own: &Toolchain) -> Vec<Need> {
    needs.iter().copied().filter(|need| need.found(workspace, own).is_none()).collect()
}

fn lacks(needs: &[Need], reason: &str, forbidden: bool) -> Vec<Lack> {
    needs.iter().map(|&need| Lack { need, reason: reason.to_owned(), forbidden }).collect()
}

fn packages(needs: &[Need]) -> Vec<&'static str> {
    let mut all = Vec::new();
    for package in needs.iter().flat_map(|need| need.packages()) {
        if !all.contains(package) {
            all.push(*package);
        }
    }
    all
}

fn advice(needs: &[Need]) -> String {
    let mut lines = Vec::new();
    let packages = packages(needs);
    if !packages.is_empty() {
        lines.push("  To install what is lacking, have an administrator run:".to_owned());
        lines.push(format!(
            "    apt-get update && apt-get install --no-install-recommends {}",
            packages.join(" ")
        ));
    }
    for need in needs {
        if let Some(way) = need.otherwise() {
            lines.push(format!("  or, for {}, without an administrator: {way}", need.name()));
        }
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packages_are_named_once_even_when_two_needs_share_them() {
        let names = packages(&[Need::Core, Need::Lint]);
        assert_eq!(names, ["rustc-web", "cargo-web", "rust-web-src", "rust-web-clippy"]);
    }

    #[test]
    fn advice_names_every_package_and_the_way_without_an_administrator() {
        let text = advice(&[Need::Qemu, Need::Core]);
        assert!(text.contains("qemu-system-arm rustc-web cargo-web rust-web-src"), "{text}");
        assert!(text.contains("rustup target add thumbv7em-none-eabihf"), "{text}");
    }

    #[test]
    fn the_demo_needs_nothing_that_the_suite_does_not() {
        assert!(FOR_DEMO.iter().all(|need| FOR_TEST.contains(need)));
    }
}
