//! Lists what lies in the folders, so that a new subject or twin needs no line elsewhere; compiles the twins in C.

use std::{
    env,
    fmt::Write,
    fs,
    path::{Path, PathBuf},
};

/// Where the tables go that the crate includes.
struct Build {
    here: PathBuf,
    out: PathBuf,
}

fn main() {
    let folder = |key| PathBuf::from(env::var_os(key).expect("cargo sets the folders of a build script"));
    let build = Build { here: folder("CARGO_MANIFEST_DIR"), out: folder("OUT_DIR") };
    for watched in ["src/subject", "src/float", "twins"] {
        println!("cargo::rerun-if-changed={watched}");
    }
    println!("cargo::rerun-if-env-changed=COSTS_CLANG");
    build.write("subjects.rs", &build.table("src/subject", "scale::Entry::of", "subject", "Block"));
    build.write("floats.rs", &build.table("src/float", "scale::FloatEntry::of", "float", "Twin"));
    build.write("c_twins.rs", &build.c_twins());
}

impl Build {
    fn write(&self, name: &str, text: &str) {
        fs::write(self.out.join(name), text).expect("a table is written to OUT_DIR");
    }

    /// Room and block of every file `ROOM/BLOCK.rs` below a folder.
    fn blocks(&self, folder: &str) -> Vec<(String, String)> {
        let mut found = Vec::new();
        for room in names(&self.here.join(folder)) {
            for file in names(&self.here.join(folder).join(&room)) {
                if let Some(block) = file.strip_suffix(".rs") {
                    found.push((room.clone(), block.to_owned()));
                }
            }
        }
        found
    }

    /// An expression: one call of `constructor` for the type of each file.
    fn table(&self, folder: &str, constructor: &str, path: &str, name: &str) -> String {
        let mut table = String::from("&[\n");
        for (room, block) in self.blocks(folder) {
            writeln!(table, "    {constructor}::<{path}::{room}::{block}::{name}>(),").expect("text");
        }
        table.push(']');
        table
    }

    /// The declarations of all twins in C and the table of them; compiles them on the way.
    fn c_twins(&self) -> String {
        let (mut declared, mut table) = (String::new(), String::new());
        for compiler in self.compilers() {
            for (room, block) in self.blocks("src/subject") {
                let key = format!("{room}_{block}");
                let file = self.here.join("twins").join(format!("{key}.c"));
                if !file.is_file() {
                    continue;
                }
                compile(&compiler, &key, &file);
                let name = compiler.suffix;
                let [size, new, step] = SYMBOLS.map(|symbol| format!("{key}_{symbol}_{name}"));
                writeln!(
                    declared,
                    "    static {size}: u32;\n    fn {new}(state: *mut c_void);\n    \
                     fn {step}(state: *mut c_void, input: *const i32, output: *mut i32);"
                )
                .expect("text");
                writeln!(
                    table,
                    "    CTwin {{ name: \"{room}/{block}\", compiler: \"{name}\", \
                     size: &raw const {size}, new: {new}, step: {step} }},"
                )
                .expect("text");
            }
        }
        format!(
            "unsafe extern \"C\" {{\n{declared}}}\n\n/// Every twin in C, once for each compiler that was there.\npub static C_TWINS: &[CTwin] = &[\n{table}];\n"
        )
    }

    #[cfg(not(feature = "twins"))]
    fn compilers(&self) -> Vec<Compiler> {
        Vec::new()
    }

    #[cfg(feature = "twins")]
    fn compilers(&self) -> Vec<Compiler> {
        let clang = env::var("COSTS_CLANG").unwrap_or_else(|_| "clang".to_owned());
        let there = std::process::Command::new(&clang)
            .arg("--version")
            .output()
            .is_ok_and(|done| done.status.success());
        let mut all = vec![Compiler { suffix: "gcc", program: None }];
        if there {
            all.push(Compiler { suffix: "clang", program: Some(clang) });
        }
        all
    }
}

/// What a twin defines: `ROOM_BLOCK_size` and so on.
const SYMBOLS: [&str; 3] = ["size", "new", "step"];

#[cfg_attr(not(feature = "twins"), allow(dead_code))]
struct Compiler {
    /// Behind its symbols, so that the work of two compilers links into one test.
    suffix: &'static str,
    /// The program, or the host's C compiler.
    program: Option<String>,
}

#[cfg(not(feature = "twins"))]
fn compile(_: &Compiler, _: &str, _: &Path) {}

#[cfg(feature = "twins")]
fn compile(compiler: &Compiler, key: &str, file: &Path) {
    let mut build = cc::Build::new();
    if let Some(program) = &compiler.program {
        build.compiler(program);
    }
    for symbol in SYMBOLS {
        build.define(&format!("{key}_{symbol}"), format!("{key}_{symbol}_{}", compiler.suffix).as_str());
    }
    build
        .file(file)
        .opt_level(2)
        .flag("-std=c11")
        .warnings(true)
        .extra_warnings(true)
        .warnings_into_errors(true)
        .cargo_metadata(true)
        .compile(&format!("{key}_{}", compiler.suffix));
}

/// What a folder holds, in order.
fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok()).collect();
    names.sort();
    names
}
