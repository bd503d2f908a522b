//! Which compilers, cores and linkers this computer has, and which of them builds what.
//!
//! The host is always built with the Cargo that runs us. The image needs `core` for the Cortex-M4F as well:
//! ready-made in the toolchain, or built from the toolchain's own sources, or from Debian's packages.

use std::{
    env,
    path::{Path, PathBuf},
};

use serde_json::Value;

use crate::{
    command::{Task, ask, on_path},
    workspace::Workspace,
};

/// The target triple of the images.
pub const CORTEX_M: &str = "thumbv7em-none-eabihf";
/// The oldest compiler that builds the workspace; `rust-version` in the workspace's manifest says the same.
pub const OLDEST: (u32, u32) = (1, 95);

/// A Cargo and the compiler that goes with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Toolchain {
    cargo: PathBuf,
    rustc: PathBuf,
    sysroot: PathBuf,
    host: String,
    version: (u32, u32),
    /// `rustc -vV`, all of it.
    about: String,
    /// Not the toolchain that runs us, so the environment must be turned towards it.
    foreign: bool,
}

impl Toolchain {
    /// The toolchain that runs this program.
    pub fn own() -> Result<Self, String> {
        let cargo = env::var_os("CARGO").map_or_else(|| PathBuf::from("cargo"), PathBuf::from);
        let beside = cargo.with_file_name("rustc");
        let rustc = if beside.is_file() { beside } else { PathBuf::from("rustc") };
        Self::probe(cargo, rustc, false)
            .ok_or_else(|| "`rustc` does not answer: is Rust installed?".to_owned())
    }

    /// Debian's own toolchain, if it is installed.
    pub fn debian() -> Option<Self> {
        let (cargo, rustc) = (PathBuf::from("/usr/bin/cargo"), PathBuf::from("/usr/bin/rustc"));
        if cargo.is_file() && rustc.is_file() { Self::probe(cargo, rustc, true) } else { None }
    }

    fn probe(cargo: PathBuf, rustc: PathBuf, foreign: bool) -> Option<Self> {
        let text = ask(&rustc, ["-vV"])?;
        let sysroot = PathBuf::from(ask(&rustc, ["--print", "sysroot"])?);
        let host = field(&text, "host")?.to_owned();
        let version = version(field(&text, "release")?)?;
        Some(Self { cargo, rustc, sysroot, host, version, about: text, foreign })
    }

    /// The toolchain of the oldest compiler that is promised: our own, or one that rustup keeps.
    pub fn oldest(own: &Self) -> Option<Self> {
        if own.version == OLDEST {
            return Some(own.clone());
        }
        let name = format!("{}.{}", OLDEST.0, OLDEST.1);
        let which =
            |program: &str| ask("rustup", ["which", "--toolchain", &name, program]).map(PathBuf::from);
        Self::probe(which("cargo")?, which("rustc")?, true).filter(|found| found.version == OLDEST)
    }

    /// What a person calls it.
    pub fn name(&self) -> String {
        let origin = if self.foreign { "Debian's " } else { "" };
        format!("{origin}rustc {}.{}", self.version.0, self.version.1)
    }

    /// Its compiler and what generates its code, to the last digit: figures of another one do not compare.
    pub fn exact_name(&self) -> String {
        let number = |key| field(&self.about, key).unwrap_or("unknown");
        format!("rustc-{}-llvm-{}", number("release"), number("LLVM version"))
    }

    /// The triple of this computer.
    pub fn host(&self) -> &str {
        &self.host
    }

    /// Its compiler.
    pub fn compiler(&self) -> &Path {
        &self.rustc
    }

    /// Whether the environment must be turned towards it.
    pub fn is_foreign(&self) -> bool {
        self.foreign
    }

    /// A Cargo command of this toolchain.
    pub fn cargo(&self, workspace: &Workspace, name: &str) -> Task {
        let task = Task::new(workspace, name, &self.cargo);
        if !self.foreign {
            return task.shown_as("cargo");
        }
        // Cargo finds its extra commands on the path, where another toolchain's may come first.
        let task = match self.cargo.parent() {
            Some(folder) => task.path_first(folder),
            None => task,
        };
        let turned = ["RUSTUP_TOOLCHAIN", "RUSTDOC", "CARGO", "RUSTC_WRAPPER", "RUSTC_WORKSPACE_WRAPPER"];
        turned.into_iter().fold(task.env("RUSTC", &self.rustc), Task::without)
    }

    /// What it knows of the workspace's own packages.
    pub fn metadata(&self, workspace: &Workspace) -> Result<Value, String> {
        let task = self.cargo(workspace, "metadata").args(["metadata", "--no-deps", "--format-version", "1"]);
        let outcome = task.run_quietly(workspace);
        serde_json::from_str(&outcome.out).map_err(|error| format!("cargo metadata: {error}"))
    }

    /// A command that calls Cargo by itself, made to call this one.
    pub fn beside_cargo(&self, task: Task) -> Task {
        task.env("CARGO", &self.cargo)
    }

    /// The folder of the programs that come with the compiler for its own use.
    pub fn programs(&self) -> PathBuf {
        self.sysroot.join("lib/rustlib").join(&self.host).join("bin")
    }

    /// The main version of the compiler's LLVM.
    pub fn llvm(&self) -> Option<u32> {
        field(&ask(&self.rustc, ["-vV"])?, "LLVM version")?.split('.').next()?.parse().ok()
    }

    /// Whether it has this extra command of Cargo (`fmt`, `clippy`).
    pub fn has_cargo_command(&self, command: &str) -> bool {
        let program = format!("cargo-{command}");
        self.cargo.with_file_name(&program).is_file() || (!self.foreign && on_path(&program).is_some())
    }

    /// How it comes by `core` for the Cortex-M4F of the images, if at all.
    pub fn cortex_core(&self) -> Option<CortexCore> {
        self.core_for(CORTEX_M)
    }

    /// How it comes by `core` for a controller, if at all.
    pub fn core_for(&self, triple: &str) -> Option<CortexCore> {
        let rustlib = self.sysroot.join("lib/rustlib");
        if self.version < OLDEST {
            None
        } else if rustlib.join(triple).join("lib").is_dir() {
            Some(CortexCore::Ready)
        } else if rustlib.join("src/rust/library/core/Cargo.toml").is_file() {
            Some(CortexCore::FromSource)
        } else {
            None
        }
    }

    fn lld(&self) -> Option<PathBuf> {
        let path = self.programs().join("rust-lld");
        path.is_file().then_some(path)
    }
}

/// Where `core` for the Cortex-M comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CortexCore {
    /// Ready-made in the toolchain.
    Ready,
    /// Built from the toolchain's sources with `-Zbuild-std` (hence `RUSTC_BOOTSTRAP=1`).
    FromSource,
}

/// All that builds an image.
#[derive(Debug, Clone)]
pub struct CrossToolchain {
    /// The compiler.
    pub toolchain: Toolchain,
    /// Its `core`.
    pub core: CortexCore,
    /// The linker for ARM objects.
    pub linker: PathBuf,
}

impl CrossToolchain {
    /// The first toolchain that has a Cortex-M core, and the first linker.
    pub fn find(own: &Toolchain) -> Option<Self> {
        Self::of(cortex_toolchain(own)?, own)
    }

    /// The same, of a toolchain that has Clippy too.
    pub fn find_with_lints(own: &Toolchain) -> Option<Self> {
        Self::of(cortex_toolchain_with_lints(own)?, own)
    }

    fn of((toolchain, core): (Toolchain, CortexCore), own: &Toolchain) -> Option<Self> {
        Some(Self { toolchain, core, linker: arm_linker(own)? })
    }

    /// A Cargo command for the image, into a target folder of its own: the flags would otherwise
    /// throw away the host's build each time.
    pub fn cargo(&self, workspace: &Workspace, name: &str, verb: &str) -> Task {
        let mut task = self
            .toolchain
            .cargo(workspace, name)
            .env("CARGO_TARGET_DIR", workspace.target.join("firmware"))
            .env("CARGO_TARGET_THUMBV7EM_NONE_EABIHF_LINKER", &self.linker)
            .without("RUSTFLAGS")
            .without("CARGO_ENCODED_RUSTFLAGS")
            .without("CARGO_BUILD_TARGET")
            .args([verb, "--target", CORTEX_M]);
        if self.core == CortexCore::FromSource {
            task = task.env("RUSTC_BOOTSTRAP", "1").args(["-Zbuild-std=core"]);
        }
        task
    }
}

/// The toolchain that has a core for the Cortex-M: our own before Debian's.
pub fn cortex_toolchain(own: &Toolchain) -> Option<(Toolchain, CortexCore)> {
    with_core(own, |_| true)
}

/// The toolchain that has a core for the Cortex-M and Clippy: our own before Debian's.
pub fn cortex_toolchain_with_lints(own: &Toolchain) -> Option<(Toolchain, CortexCore)> {
    with_core(own, |toolchain| toolchain.has_cargo_command("clippy"))
}

fn with_core(own: &Toolchain, fit: impl Fn(&Toolchain) -> bool) -> Option<(Toolchain, CortexCore)> {
    let look = |toolchain: Toolchain| toolchain.cortex_core().map(|core| (toolchain, core));
    look(own.clone())
        .filter(|(toolchain, _)| fit(toolchain))
        .or_else(|| Toolchain::debian().filter(|debian| fit(debian)).and_then(look))
}

/// A linker for ARM objects: the toolchain's own LLD before binutils.
pub fn arm_linker(own: &Toolchain) -> Option<PathBuf> {
    own.lld().or_else(|| on_path("arm-none-eabi-ld"))
}

/// A linker for objects of any controller.
pub fn any_linker(own: &Toolchain) -> Option<PathBuf> {
    own.lld().or_else(|| on_path("ld.lld"))
}

/// The toolchain with an extra command of Cargo (`fmt`, `clippy`): our own before Debian's.
pub fn with_cargo_command(own: &Toolchain, command: &str) -> Option<Toolchain> {
    if own.has_cargo_command(command) {
        return Some(own.clone());
    }
    Toolchain::debian().filter(|debian| debian.version >= OLDEST && debian.has_cargo_command(command))
}

/// A short name for where a tool was found.
pub fn shown(path: &Path) -> String {
    path.display().to_string()
}

fn field<'a>(text: &'a str, key: &str) -> Option<&'a str> {
    text.lines().find_map(|line| line.strip_prefix(key)?.strip_prefix(": "))
}

fn version(release: &str) -> Option<(u32, u32)> {
    let mut numbers = release.split(['.', '-']);
    Some((numbers.next()?.parse().ok()?, numbers.next()?.parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    const ANSWER: &str =
        "rustc 1.95.0 (59807616e 2026-04-14)\nhost: x86_64-unknown-linux-gnu\nrelease: 1.95.0";

    #[test]
    fn a_compiler_is_asked_for_its_host_and_release() {
        assert_eq!(field(ANSWER, "host"), Some("x86_64-unknown-linux-gnu"));
        assert_eq!(field(ANSWER, "release").and_then(version), Some((1, 95)));
        assert_eq!(version("1.97.0-nightly"), Some((1, 97)));
        assert_eq!(version("unknown"), None);
    }

    #[test]
    fn the_oldest_compiler_here_is_the_one_of_the_manifest() {
        let manifest = std::fs::read_to_string(Workspace::find().unwrap().root.join("Cargo.toml")).unwrap();
        let line = manifest.lines().find_map(|line| line.strip_prefix("rust-version = ")).unwrap();
        assert_eq!(version(line.trim_matches('"')), Some(OLDEST));
    }

    #[test]
    fn the_toolchain_that_runs_the_tests_is_found() {
        let own = Toolchain::own().unwrap();
        assert!(own.version >= OLDEST && own.sysroot.is_dir(), "{own:?}");
    }
}
