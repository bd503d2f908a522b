//! Recorded drives that a preview takes.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;

use super::trouble::Trouble;
use super::{logs, replay};
use crate::bench::Bench;
use crate::previewing::RecordedLog;

/// How a log of a folder ends, and the story of its wires beside it.
const LOG: &str = "log";
const STORY: &str = "scenario";

#[derive(Debug, Args)]
pub(super) struct DriveArguments {
    /// Drive the simulated machine by this log of the bus, too, with both sets: a file as `run --log`, `serve --record`,
    /// `unit record` and candump -L write it, or a folder with such files that end in .log. It has to hold the controller's
    /// start. What the levers sent drives the machine; what the controller, the engine and tools sent is left out, since the
    /// simulated ones speak for themselves. What the wires brought (key, switches, throttle) no log holds: see --with. May be
    /// given several times; the drives that are part of the program are always taken.
    #[arg(long, value_name = "LOG")]
    drive: Vec<PathBuf>,
    /// Let this story tell what the wires bring in the drives of --drive: a scenario's name or path, or at_rest. It begins with
    /// the controller's start; its levers are not heard. When left out, the file beside the log tells it that has the same
    /// name and ends in .scenario.
    #[arg(long = "with", value_name = "SCENARIO", requires = "drive")]
    story: Option<String>,
    /// The bus of logs that hold several.
    #[arg(long = "drive-interface", value_name = "NAME", requires = "drive")]
    interface: Option<String>,
}

impl DriveArguments {
    /// The drives of the program, and those that were named.
    pub fn logs<B: Bench>(&self) -> Result<Vec<RecordedLog>, Trouble> {
        let mut drives = RecordedLog::built_in::<B>()
            .map_err(|error| Trouble::with_help(error, "tell its makers: it is part of the program"))?;
        for named in &self.drive {
            for file in files(named)? {
                drives.push(self.one::<B>(&file)?);
            }
        }
        Ok(drives)
    }

    fn one<B: Bench>(&self, file: &Path) -> Result<RecordedLog, Trouble> {
        let beside = file.with_extension(STORY);
        let wires = match &self.story {
            Some(story) => replay::wires::<B>(story)?,
            None if beside.exists() => replay::wires::<B>(&beside.display().to_string())?,
            None => {
                let what = format!("{}: nothing tells what the wires brought", file.display());
                let help = format!(
                    "name a story with --with, or write {}: without key and switches nothing is permitted",
                    beside.display()
                );
                return Err(Trouble::with_help(what, help));
            }
        };
        let frames = logs::of_one_bus(
            file,
            self.interface.as_deref(),
            "name the bus of the controller with --drive-interface",
        )?;
        Ok(RecordedLog::new(&file.display().to_string(), frames, wires))
    }
}

/// The file, or all logs of the folder by their names.
fn files(named: &Path) -> Result<Vec<PathBuf>, Trouble> {
    if !named.is_dir() {
        return Ok(vec![named.to_owned()]);
    }
    let entries = fs::read_dir(named).map_err(|error| Trouble::unreadable(named, &error))?;
    let mut files: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    files.retain(|file| file.extension().is_some_and(|extension| extension == LOG));
    files.sort();
    if files.is_empty() {
        let what = format!("{} holds no file that ends in .{LOG}", named.display());
        return Err(Trouble::with_help(what, "name a log, or a folder with logs"));
    }
    Ok(files)
}
