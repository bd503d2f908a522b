//! The black box of a controller: its state, its bytes, a new beginning.

use std::fs;
use std::path::PathBuf;

use clap::Args;
use serde_json::json;
use trunnion::declare::FaultSet;
use trunnion::machine::Machine;
use trunnion_board::black_box::Memory;
use trunnion_board::black_box::header::{Cause, Header};
use trunnion_service::level::Level;

use super::{Desk, write_json};
use crate::bench::Bench;
use crate::black_box::BlackBox;
use crate::command_line::progress::counted;
use crate::command_line::trouble::Trouble;
use crate::command_line::{Outcome, Streams};
use crate::tester::refusal::Refusal;

/// Conditions are not right (ISO 14229-1, annex A): the box records, or the machine is not at rest.
const CONDITIONS: u8 = 0x22;

#[derive(Debug, Args)]
pub(super) struct BoxArguments {
    /// Keep what it recorded so far; needs --key.
    #[arg(long)]
    freeze: bool,
    /// Read the whole box into this file.
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// At the end, forget what it holds and let it record anew; needs --key and a machine at rest in neutral.
    #[arg(long)]
    arm: bool,
}

/// Freezes, tells, reads and arms, in this order.
pub(super) fn black_box<B: Bench>(
    arguments: &BoxArguments,
    desk: &mut Desk<B::Machine>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let Some(BlackBox { memory, .. }) = B::BLACK_BOX else {
        return Err(Trouble::with_help(format!("the {} keeps no black box", B::NAME), "see `unit faults`"));
    };
    if arguments.freeze {
        desk.unlock(Level::Tune)?;
        desk.unit.freeze_box()?;
    }
    match desk.unit.box_header() {
        Ok(header) => tell::<B>(&header, memory, desk.json, streams)?,
        Err(refusal) if refusal.code() == Some(CONDITIONS) && arguments.to.is_none() => {
            let state = "the box is still recording, or the machine is not at rest in neutral";
            if desk.json {
                write_json(&json!({ "frozen": false, "memory_bytes": memory.all() }), streams)?;
            } else {
                writeln!(streams.out, "{state}; {}", room(memory))?;
            }
        }
        Err(refusal) => return Err(unread(refusal)),
    }
    if let Some(file) = &arguments.to {
        let bar = counted(streams.look, "reading the black box");
        let bytes = desk.unit.read_box(&mut |so_far, total| {
            bar.set_length(total.into());
            bar.set_position(so_far.into());
        });
        bar.finish_and_clear();
        let bytes = bytes.map_err(unread)?;
        fs::write(file, &bytes).map_err(|error| Trouble::unwritable(file, &error))?;
        let what = format!("{} bytes are in {}: go through them with", bytes.len(), file.display());
        writeln!(streams.errors, "{what} `{} box {}`", B::NAME, file.display())?;
    }
    if arguments.arm {
        desk.unlock(Level::Tune)?;
        desk.unit.arm_box()?;
        writeln!(streams.errors, "the box records anew")?;
    }
    if arguments.freeze || arguments.arm {
        desk.unit.leave()?;
    }
    Ok(Outcome::AllHeld)
}

fn unread(refusal: Refusal) -> Trouble {
    if refusal.code() == Some(CONDITIONS) {
        return Trouble::with_help(
            "the black box cannot be read now",
            "bring the machine to rest in neutral; freeze a box that still records with --freeze",
        );
    }
    refusal.into()
}

/// What the box takes in the controller, whatever it holds.
fn room(memory: Memory) -> String {
    format!("it has {} bytes of the controller's memory", memory.all())
}

fn tell<B: Bench>(
    header: &Header,
    memory: Memory,
    as_json: bool,
    streams: &mut Streams<'_>,
) -> Result<(), Trouble> {
    let seconds = f64::from(header.periods()) * f64::from(header.period_micros) / 1e6;
    let cause = cause::<B>(header);
    if as_json {
        let told = json!({
            "frozen": header.frozen,
            "cause": cause,
            "periods": header.periods(),
            "seconds": seconds,
            "bytes": header.total_bytes(),
            "memory_bytes": memory.all(),
        });
        return write_json(&told, streams);
    }
    let (periods, bytes, room) = (header.periods(), header.total_bytes(), room(memory));
    Ok(writeln!(streams.out, "frozen {cause}; {periods} periods, {seconds:.2} s, {bytes} bytes; {room}")?)
}

/// Why a box froze.
pub(in crate::command_line) fn cause<B: Bench>(header: &Header) -> String {
    match header.cause {
        Cause::None => "for no reason that it tells".to_owned(),
        Cause::Tester => "by a tester".to_owned(),
        Cause::Fault { place, periods_after } => {
            let info = <B::Machine as Machine>::Faults::INFO.get(usize::from(place));
            let after = f64::from(periods_after) * f64::from(header.period_micros) / 1e6;
            format!("{after:.2} s after the fault {}", info.map_or("of another version", |info| info.name))
        }
    }
}
