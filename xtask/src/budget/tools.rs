//! Compiler, linker, emulator: hundreds of short commands, kept in one log instead of on the screen.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;

use super::{
    board::{BOARDS, Board},
    quiet,
    subject::Subject,
};
use crate::{
    command::{ask, on_path},
    toolchain::{CortexCore, Toolchain},
    workspace::Workspace,
};

/// The profile of the workspace's manifest in which the library is built.
const PROFILE: &str = "budget";
/// How an image is compiled: what that profile says, and each image as a whole.
const FLAGS: &[&str] =
    &["-Copt-level=3", "-Cpanic=abort", "-Clto=fat", "-Ccodegen-units=1", "-Coverflow-checks=on"];

/// The function that the panic handler of an image calls and nobody defines.
pub const MISSING: &str = "a_panic_is_reachable_in_this_image";

/// All that builds and runs images.
pub struct Tools<'a> {
    workspace: &'a Workspace,
    chain: Toolchain,
    linker: PathBuf,
    /// Programs that could be started here.
    clang: Option<PathBuf>,
}

/// The linker's scripts: a whole image, one of a whole machine, a block alone.
const WHOLE: &str = "whole.ld";
const ROOMY: &str = "roomy.ld";
const ALONE: &str = "alone.ld";

/// What of an image is linked.
#[derive(Debug, Clone, Copy)]
pub enum Linked<'a> {
    /// All of it, for this board.
    For(&'static Board),
    /// A block alone, by its functions `step` and `new`.
    Alone([&'a str; 2]),
}

/// The library for one board, built.
pub struct Library {
    /// The board.
    pub board: &'static Board,
    folder: PathBuf,
    /// Arguments that name the libraries to the compiler.
    libraries: Vec<String>,
}

/// Where a C compiler is, what it is called, its arguments for a board.
struct Compiler<'a> {
    name: &'static str,
    program: PathBuf,
    arguments: &'a [&'a str],
}

impl<'a> Tools<'a> {
    /// With the toolchain and the linker that were found.
    pub fn new(workspace: &'a Workspace, chain: Toolchain, linker: PathBuf) -> Self {
        Self { workspace, chain, linker, clang: on_path("clang") }
    }

    /// The name under which the figures are kept.
    pub fn name(&self) -> String {
        self.chain.exact_name()
    }

    /// How the figures came about, for the head of the file.
    pub fn about(&self) -> Vec<String> {
        let mut lines = vec![
            format!("{} {}", self.name(), FLAGS.join(" ")),
            "instructions counted in QEMU (-icount), 64 streams of 256 steps; flash with `new`".to_owned(),
            "C: -O2 -std=c11 -ffreestanding, for the same core".to_owned(),
        ];
        lines.extend(self.c_compilers());
        lines
    }

    /// The names and versions of the C compilers that are there.
    fn c_compilers(&self) -> Vec<String> {
        let mut lines = Vec::new();
        let mut programs: Vec<PathBuf> = BOARDS.iter().filter_map(|board| on_path(board.gcc.0)).collect();
        programs.dedup();
        programs.extend(self.clang.clone());
        for program in programs {
            if let Some(text) = ask(&program, ["--version"]) {
                lines.push(text.lines().next().unwrap_or("").to_owned());
            }
        }
        lines
    }

    /// Builds the library for a board, with Cargo.
    pub fn library(&self, board: &'static Board) -> Result<Library, String> {
        let target = self.workspace.target.join("budget");
        let mut task = self
            .chain
            .cargo(self.workspace, &format!("costs for {}", board.name))
            .env("CARGO_TARGET_DIR", &target)
            .without("RUSTFLAGS")
            .without("CARGO_ENCODED_RUSTFLAGS")
            .without("CARGO_BUILD_TARGET")
            .args(["build", "--package", "costs", "--lib", "--no-default-features"])
            .args([
                "--profile",
                PROFILE,
                "--target",
                board.triple,
                "--message-format=json-render-diagnostics",
            ]);
        if self.chain.core_for(board.triple) == Some(CortexCore::FromSource) {
            task = task.env("RUSTC_BOOTSTRAP", "1").args(["-Zbuild-std=core"]);
        }
        let built = task.run(self.workspace);
        if !built.success {
            return Err(format!("the library does not build for {}", board.triple));
        }
        let mut libraries = vec![format!("-Ldependency={}", target.join(PROFILE).join("deps").display())];
        for name in ["costs", "core", "compiler_builtins"] {
            let Some(path) = built.out.lines().find_map(|line| artifact(line, name)) else { continue };
            if name == "costs" {
                let deps = Path::new(&path).with_file_name("deps");
                libraries.push(format!("-Ldependency={}", deps.display()));
                libraries.push(format!("--extern=costs={path}"));
            } else {
                libraries.push(format!("--extern=noprelude,nounused:{name}={path}"));
            }
        }
        let folder = target.join("images").join(board.triple);
        fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        let layouts =
            [(WHOLE, board.layout(true)), (ROOMY, board.roomy().layout(true)), (ALONE, board.layout(false))];
        for (name, layout) in layouts {
            fs::write(folder.join(name), layout).map_err(|error| error.to_string())?;
        }
        Ok(Library { board, folder, libraries })
    }

    /// Compiles an image up to the linker. `root` is its whole source.
    pub fn compile(&self, library: &Library, name: &str, root: &str) -> Result<PathBuf, String> {
        let source = library.folder.join(format!("{name}.rs"));
        fs::write(&source, root).map_err(|error| format!("{}: {error}", source.display()))?;
        let archive = library.folder.join(format!("{name}.a"));
        let mut command = Command::new(self.chain.compiler());
        command.env("RUSTC_BOOTSTRAP", "1").args([
            "--edition=2024",
            "--crate-type=staticlib",
            "--crate-name=image",
        ]);
        command.args(FLAGS).args(["-Zunstable-options", "--target", library.board.triple]);
        command.args(&library.libraries).arg(&source).arg("-o").arg(&archive);
        if self.chain.is_foreign() {
            command.env_remove("RUSTUP_TOOLCHAIN");
        }
        self.succeed(command)?;
        Ok(archive)
    }

    /// Links an image.
    pub fn link(
        &self,
        library: &Library,
        name: &str,
        what: Linked<'_>,
        objects: &[PathBuf],
    ) -> Result<PathBuf, String> {
        let image = library.folder.join(format!("{name}.elf"));
        let script = match what {
            Linked::Alone(_) => ALONE,
            Linked::For(board) if board == library.board => WHOLE,
            Linked::For(_) => ROOMY,
        };
        let mut command = Command::new(&self.linker);
        if self.linker.file_name().is_some_and(|file| file == "rust-lld") {
            command.args(["-flavor", "gnu"]);
        }
        command.args(["--gc-sections", "--nmagic", "-T"]).arg(library.folder.join(script));
        match what {
            Linked::Alone([step, new]) => command.args(["-e", step, "-u", new]),
            // Inputs are made by code of the tests, which may panic; then the run breaks off and says so.
            Linked::For(_) => command.args(["-e", "begin", &format!("--defsym={MISSING}=broke_off")]),
        };
        command.args(objects).arg("-o").arg(&image);
        self.succeed(command)?;
        Ok(image)
    }

    /// Compiles the twin in C with every compiler that is there: name, then object and the runtime beside it.
    pub fn c_twins(
        &self,
        library: &Library,
        subject: &Subject,
    ) -> Result<Vec<(&'static str, Vec<PathBuf>)>, String> {
        let key = subject.key();
        let source = self.workspace.root.join("tests/costs/twins").join(format!("{key}.c"));
        let mut twins = Vec::new();
        for compiler in self.compilers(library.board) {
            let object = library.folder.join(format!("{key}.{}.o", compiler.name));
            let mut command = Command::new(&compiler.program);
            command.args(compiler.arguments).args(["-O2", "-std=c11", "-ffreestanding", "-c"]);
            command.args(["-ffunction-sections", "-fdata-sections", "-fno-asynchronous-unwind-tables"]);
            for symbol in ["size", "new", "step"] {
                command.arg(format!("-D{key}_{symbol}={key}_{symbol}_{}", compiler.name));
            }
            command.arg(&source).arg("-o").arg(&object);
            self.succeed(command)?;
            twins.push((
                compiler.name,
                [Some(object), self.runtime(library.board)].into_iter().flatten().collect(),
            ));
        }
        Ok(twins)
    }

    fn compilers(&self, board: &'static Board) -> Vec<Compiler<'static>> {
        let gcc =
            on_path(board.gcc.0).map(|program| Compiler { name: "gcc", program, arguments: board.gcc.1 });
        let clang =
            self.clang.clone().map(|program| Compiler { name: "clang", program, arguments: board.clang });
        gcc.into_iter().chain(clang).collect()
    }

    /// What a C program links for the arithmetic that a core lacks: the library of gcc.
    fn runtime(&self, board: &Board) -> Option<PathBuf> {
        let program = on_path(board.gcc.0)?;
        let arguments = board.gcc.1.iter().copied().chain(["-print-libgcc-file-name"]);
        ask(program, arguments).map(|path| PathBuf::from(path.trim()))
    }

    /// Runs an image and gives what it told.
    pub fn run(&self, board: &Board, image: &Path) -> Result<String, String> {
        let (program, machine) = board.emulator.split_first().ok_or("a board without an emulator")?;
        let mut command = Command::new(program);
        command.args(machine).args(["-nographic", "-monitor", "none", "-serial", "none"]);
        command.args(["-semihosting-config", "enable=on,target=native", "-icount", "shift=10", "-kernel"]);
        command.arg(image);
        self.succeed(command)
    }

    fn succeed(&self, command: Command) -> Result<String, String> {
        quiet::succeed(command, &self.workspace.logs().join("budget-commands.log"))
    }
}

/// The file that Cargo tells to have made of a library.
fn artifact(line: &str, name: &str) -> Option<String> {
    let message: Value = serde_json::from_str(line).ok()?;
    if message["reason"] != "compiler-artifact" || message["target"]["name"] != name {
        return None;
    }
    let files = message["filenames"].as_array()?.iter().filter_map(Value::as_str);
    files.into_iter().find(|file| file.ends_with(".rlib")).map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_library_is_found_among_the_messages_of_cargo() {
        let line = r#"{"reason":"compiler-artifact","target":{"kind":["lib"],"name":"core"},"filenames":["a/libcore-1.rmeta","a/libcore-1.rlib"]}"#;
        assert_eq!(artifact(line, "core").as_deref(), Some("a/libcore-1.rlib"));
        assert_eq!(artifact(line, "costs"), None);
        assert_eq!(artifact("Compiling core", "core"), None);
    }
}
