//! Every frame of the bus to a log file.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;
use std::time::{Duration, Instant};

use clap::Args;
use trunnion::machine::Machine;

use super::Desk;
use crate::command_line::trouble::Trouble;
use crate::command_line::{Outcome, Streams};
use crate::gateway::log::{Logged, written};

#[derive(Debug, Args)]
pub(super) struct RecordArguments {
    /// File to write, in the format of candump -L.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Seconds to record.
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0)]
    seconds: f64,
}

/// Records; times count from the start of the recording.
pub(super) fn record<M: Machine>(
    arguments: &RecordArguments,
    desk: &mut Desk<M>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let unwritable = |error| Trouble::unwritable(&arguments.file, &error);
    let mut file = BufWriter::new(File::create(&arguments.file).map_err(unwritable)?);
    let began = Instant::now();
    let mut frames = 0_u64;
    while began.elapsed().as_secs_f64() < arguments.seconds {
        if let Some(frame) = desk.unit.conversation().listen(Duration::from_millis(20))? {
            let micros = u64::try_from(began.elapsed().as_micros()).unwrap_or(u64::MAX);
            writeln!(file, "{}", written(&Logged { micros, frame }, "can0")).map_err(unwritable)?;
            frames += 1;
        }
    }
    file.flush().map_err(unwritable)?;
    writeln!(
        streams.out,
        "{frames} frames in {:.1} s are in {}",
        arguments.seconds,
        arguments.file.display()
    )?;
    Ok(Outcome::AllHeld)
}
