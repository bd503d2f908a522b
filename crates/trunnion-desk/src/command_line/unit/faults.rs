//! Faults with history and text.

use clap::Args;
use serde_json::json;
use trunnion::declare::FaultSet;
use trunnion::machine::Machine;
use trunnion_service::level::Level;

use super::{Desk, write_json};
use crate::bench::Bench;
use crate::command_line::streams::Tone;
use crate::command_line::trouble::Trouble;
use crate::command_line::{Outcome, Streams};
use crate::sheets::reaction_names;
use crate::tester::unit::FaultState;

#[derive(Debug, Args)]
pub(super) struct FaultsArguments {
    /// Clear the history of all faults, after showing it; needs --key. What is active stays.
    #[arg(long)]
    clear: bool,
}

/// Shows faults, and clears their history.
pub(super) fn faults<B: Bench>(
    arguments: &FaultsArguments,
    desk: &mut Desk<B::Machine>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let faults = desk.unit.faults()?;
    if desk.json {
        write_json(&faults.iter().filter_map(as_json::<B>).collect(), streams)?;
    } else if faults.is_empty() {
        writeln!(streams.out, "no fault is active, and none came since the history was cleared")?;
    } else {
        for fault in &faults {
            show::<B>(fault, streams)?;
        }
    }
    if arguments.clear {
        desk.unlock(Level::Tune)?;
        desk.unit.clear(None)?;
        desk.unit.leave()?;
        writeln!(streams.errors, "the history is cleared; active faults stay")?;
    }
    Ok(Outcome::AllHeld)
}

type FaultsOf<B> = <<B as Bench>::Machine as Machine>::Faults;

fn seconds<B: Bench>(periods: u32) -> f64 {
    f64::from(periods) * f64::from(B::Machine::PERIOD.micros()) / 1e6
}

fn as_json<B: Bench>(fault: &FaultState) -> Option<serde_json::Value> {
    let place = usize::from(fault.place);
    let (rule, info) = FaultsOf::<B>::RULES.get(place).zip(FaultsOf::<B>::INFO.get(place))?;
    Some(json!({
        "name": info.name,
        "spn": rule.spn,
        "fmi": rule.fmi,
        "active": fault.active,
        "count": fault.count,
        "first_seconds": seconds::<B>(fault.first),
        "last_seconds": seconds::<B>(fault.last),
    }))
}

fn show<B: Bench>(fault: &FaultState, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    let place = usize::from(fault.place);
    let row = FaultsOf::<B>::RULES.get(place).zip(FaultsOf::<B>::INFO.get(place));
    let Some((rule, info)) = row else { return Ok(()) };
    let state = if fault.active {
        streams.look.toned(Tone::Bad, "active")
    } else {
        streams.look.toned(Tone::Quiet, "gone")
    };
    writeln!(
        streams.out,
        "{state:<8} {}  SPN {} FMI {}  lamp {}",
        info.name, rule.spn, rule.fmi, rule.blink
    )?;
    let (first, last) = (seconds::<B>(fault.first), seconds::<B>(fault.last));
    writeln!(
        streams.out,
        "         came {} times, first at {first:.2} s, last at {last:.2} s after the start",
        fault.count
    )?;
    let reaction = reaction_names(rule.reactions, B::REACTIONS);
    writeln!(streams.out, "         {}; {reaction}", info.location)?;
    writeln!(streams.out, "         {}", streams.look.wrapped(info.doc.trim(), 9))?;
    Ok(())
}
