//! The verb `unit`: a controller over its service port.

pub(in crate::command_line) mod black_box;
mod consequences;
mod faults;
mod motion;
mod record;
mod settings;
mod show;
mod watch;

use std::path::PathBuf;

use clap::{Args, Subcommand};
use trunnion::machine::Machine;
use trunnion_service::level::Level;

use super::trouble::Trouble;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::tester::conversation::Conversation;
use crate::tester::key::Key;
use crate::tester::port::Place;
use crate::tester::refusal::Refusal;
use crate::tester::unit::Unit;

#[derive(Debug, Args)]
pub(in crate::command_line) struct UnitArguments {
    /// Where the bus is: tcp:HOST:PORT, a serial adaptor such as /dev/ttyACM0, or can:INTERFACE.
    #[arg(long, value_name = "PLACE", global = true, default_value = "tcp:127.0.0.1:29536")]
    at: Place,
    /// Address of the controller.
    #[arg(long, value_name = "ADDRESS", global = true, default_value = "0x27", value_parser = address)]
    controller: u8,
    /// Address of this tool; each tool on a bus needs its own.
    #[arg(long, value_name = "ADDRESS", global = true, default_value = "0xF9", value_parser = address)]
    tester: u8,
    /// File with the unit's key, 64 hexadecimal digits: opens what writing needs.
    #[arg(long, value_name = "FILE", global = true)]
    key: Option<PathBuf>,
    /// Results as JSON.
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Say which unit this is: machine, program, version, serial number.
    Who,
    /// Show parameters and signals with their values.
    Show(show::ShowArguments),
    /// Write parameters: all of them take effect together, or none.
    Set(settings::SetArguments),
    /// Save all parameters to a text file.
    Save(settings::SaveArguments),
    /// Show what a text file would change, and write it with --yes.
    Restore(settings::RestoreArguments),
    /// Show faults with history and text, and clear their history with --clear.
    Faults(faults::FaultsArguments),
    /// Watch signals in the terminal.
    Watch(watch::WatchArguments),
    /// Run a routine, or drive an output, for as long as the space bar is held.
    Move(motion::MoveArguments),
    /// Say whether the black box has frozen; freeze it, read it into a file, let it record anew.
    Box(black_box::BoxArguments),
    /// Record every frame of the bus to a log file (candump -L).
    Record(record::RecordArguments),
}

/// Decimal, or hexadecimal with 0x.
fn address(text: &str) -> Result<u8, String> {
    let parsed = match text.strip_prefix("0x") {
        Some(digits) => u8::from_str_radix(digits, 16),
        None => text.parse(),
    };
    parsed.ok().filter(|address| *address <= 253).ok_or_else(|| "expected 0 to 253, or 0x00 to 0xFD".into())
}

impl From<Refusal> for Trouble {
    fn from(refusal: Refusal) -> Self {
        let help = refusal.help();
        Self::with_help(refusal, help)
    }
}

/// Does what was asked of the controller.
pub(super) fn unit<B: Bench>(
    arguments: &UnitArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let key = arguments.key.as_deref().map(Key::read).transpose().map_err(|what| {
        Trouble::with_help(
            what,
            "name the file that belongs to this unit; keep it where only you can read it",
        )
    })?;
    let mut desk = Desk::<B::Machine> { unit: connected(arguments)?, key, json: arguments.json };
    match &arguments.what {
        What::Who => show::who(&mut desk, streams),
        What::Show(show) => show::show(show, &mut desk, streams),
        What::Set(set) => settings::set::<B>(set, &mut desk, streams),
        What::Save(save) => settings::save::<B>(save, &mut desk, streams),
        What::Restore(restore) => settings::restore::<B>(restore, &mut desk, streams),
        What::Faults(faults) => faults::faults::<B>(faults, &mut desk, streams),
        What::Watch(watch) => watch::watch(watch, &mut desk, streams),
        What::Move(motion) => motion::motion::<B>(motion, &mut desk, streams),
        What::Box(arguments) => black_box::black_box::<B>(arguments, &mut desk, streams),
        What::Record(record) => record::record(record, &mut desk, streams),
    }
}

fn connected<M: Machine>(arguments: &UnitArguments) -> Result<Unit<M>, Trouble> {
    let port = arguments.at.open().map_err(|error| {
        Trouble::with_help(
            format!("{} cannot be opened: {error}", arguments.at),
            "start the virtual controller, or plug the adaptor in, and name its place with --at",
        )
    })?;
    Ok(Unit::new(Conversation::new(port, arguments.tester, arguments.controller)?))
}

/// A controller, and what opens it.
struct Desk<M> {
    unit: Unit<M>,
    key: Option<Key>,
    json: bool,
}

impl<M: Machine> Desk<M> {
    /// Unlocks a level with the key that was named.
    fn unlock(&mut self, level: Level) -> Result<(), Trouble> {
        let Some(key) = &self.key else {
            return Err(Trouble::with_help(
                "this needs the unit's key",
                "name its file with --key FILE; a unit without a key cannot be written to",
            ));
        };
        Ok(self.unit.unlock(level, key)?)
    }
}

/// A value as JSON, a line of its own.
fn write_json(value: &serde_json::Value, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    Ok(writeln!(streams.out, "{value:#}")?)
}
