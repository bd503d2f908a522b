//! What a set would do, before it is written to a controller.

use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use clap::Args;
use trunnion::declare::ParameterSet;
use trunnion::machine::Machine;

use super::Desk;
use crate::bench::Bench;
use crate::command_line::Streams;
use crate::command_line::drives::DriveArguments;
use crate::command_line::preview::{self, Stored, Typed};
use crate::command_line::trouble::Trouble;
use crate::previewing::RecordedLog;
use crate::tester::settings::{Setting, differing, typed};

/// How long the bus is listened to between two looks at the preview.
const LISTEN: Duration = Duration::from_millis(10);

#[derive(Debug, Args)]
pub(super) struct PreviewOptions {
    /// Keep what the set does to margins and stopping distances in this file; what it holds of exactly this set and this
    /// program is not run again. Beside the set's file when left out, or target/preview.json.
    #[arg(long, value_name = "FILE")]
    preview: Option<PathBuf>,
    /// Write the set although requirements are violated with it that are not now; needs the safety level.
    #[arg(long)]
    despite_violations: bool,
    #[command(flatten)]
    drives: DriveArguments,
}

/// Whether a set may be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Leave {
    /// It breaks nothing.
    Given,
    /// It breaks requirements, and a person asked for it nevertheless.
    AgainstRequirements,
    /// It breaks requirements.
    Refused,
}

impl PreviewOptions {
    fn file(&self, set: Option<&Path>) -> PathBuf {
        let beside = || match set {
            Some(set) => {
                let mut name = set.as_os_str().to_owned();
                name.push(".preview.json");
                PathBuf::from(name)
            }
            None => PathBuf::from("target/preview.json"),
        };
        self.preview.clone().unwrap_or_else(beside)
    }
}

/// Runs the stories with the controller's set as it is and as it would be, shows both, and keeps the result beside the
/// set.
pub(super) fn weigh<B: Bench>(
    options: &PreviewOptions,
    set: Option<&Path>,
    changes: &[Setting],
    desk: &mut Desk<B::Machine>,
    streams: &mut Streams<'_>,
) -> Result<Leave, Trouble> {
    type Set<B> = <<B as Bench>::Machine as Machine>::Parameters;
    let now = desk.unit.parameters()?;
    let standard = Set::<B>::default();
    let all = (0..).zip(Set::<B>::INFO).map(|(place, _)| Setting { place, raw: now.raw(place) });
    let present = typed::<Set<B>>(&differing(&all.collect::<Vec<_>>(), &standard));
    let file = options.file(set);
    let wanted = typed::<Set<B>>(changes);
    let drives = options.drives.logs::<B>()?;
    let stored = match preview::fresh::<B>(&file, &drives, &present, &wanted)? {
        Some(stored) => {
            writeln!(streams.errors, "this program has tried this very set: taken from {}", file.display())?;
            stored
        }
        None => run::<B>(&drives, present, wanted, desk, streams)?,
    };
    let shown: &mut dyn std::io::Write = if desk.json { &mut streams.errors } else { &mut streams.out };
    preview::tell(&stored, shown)?;
    preview::store(&file, &stored)?;
    writeln!(streams.errors, "kept in {}", file.display())?;
    let again = desk.unit.parameters()?;
    if (0..).zip(Set::<B>::INFO).any(|(place, _)| now.raw(place) != again.raw(place)) {
        return Err(Trouble::with_help(
            "the controller's parameters have changed meanwhile: the preview is of another set",
            "see who else writes to it, then begin again",
        ));
    }
    let broken = stored.preview.broken().count();
    match (broken, options.despite_violations) {
        (0, _) => return Ok(Leave::Given),
        (_, true) => writeln!(
            streams.errors,
            "{broken} requirements that held are violated with this set, and you asked to write it nevertheless: the machine \
             may then do what its risk assessment forbids"
        )?,
        (_, false) => writeln!(
            streams.errors,
            "refused: {broken} requirements that held are violated with this set (BREAKS above). Nothing was written. Who \
             answers for that may write it with --despite-violations, which opens the safety level"
        )?,
    }
    Ok(if options.despite_violations { Leave::AgainstRequirements } else { Leave::Refused })
}

/// The runs go on beside the bus, which must be listened to or its frames pile up.
fn run<B: Bench>(
    drives: &[RecordedLog],
    present: Typed,
    wanted: Typed,
    desk: &mut Desk<B::Machine>,
    streams: &Streams<'_>,
) -> Result<Stored, Trouble> {
    let look = streams.look;
    thread::scope(|scope| {
        let runs = scope.spawn(move || preview::stored::<B>(drives, present, wanted, None, look));
        while !runs.is_finished() {
            desk.unit.conversation().listen(LISTEN)?;
        }
        runs.join().unwrap_or_else(|_| Err(Trouble::with_help("the preview broke", "tell its makers")))
    })
}
