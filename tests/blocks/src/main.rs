//! Tells of every block of the core: draws its response, and gathers its evidence in one table.

mod chart;
mod drawing;
mod pictures;
mod scenes;
mod table;

use std::{
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::{Parser, Subcommand};

#[derive(Parser)]
#[command(name = "blocks", about = "Pictures and the table of the control blocks, for `cargo xtask docs`")]
struct Words {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// Draw the response of every block into a folder: ROOM-BLOCK.svg
    Pictures {
        /// The folder; what lies in it stays
        #[arg(long, value_name = "FOLDER")]
        into: PathBuf,
    },
    /// Print the table of all blocks as Markdown
    Table,
}

/// The top folder of this clone.
fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).map(Path::to_owned).unwrap_or_default()
}

fn main() -> ExitCode {
    let done = match Words::parse().verb {
        Verb::Pictures { into } => pictures::write(&into),
        Verb::Table => table::markdown(&top()).map(|text| print!("{text}")),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}
