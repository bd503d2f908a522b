//! The verb `check`.

use super::arguments::CheckArguments;
use super::selection::{self, BenchRig};
use super::trouble::{Trouble, pointed};
use super::{Outcome, Streams};
use crate::bench::Bench;

/// Reads files and tells every error in all of them; what is well is said too.
pub(super) fn check<B: Bench>(
    arguments: &CheckArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let mut errors = 0;
    for file in &arguments.files {
        let wrong = match selection::read(file) {
            Ok(scenario) => rig.start(&scenario).err().map(|complaints| pointed(&complaints)),
            Err(Trouble::Told(reports)) => Some(reports),
            Err(other) => return Err(other),
        };
        match wrong {
            None => writeln!(streams.out, "{}: no error found", file.display())?,
            Some(reports) => {
                errors += reports.len();
                streams.draw_all(&reports)?;
                writeln!(streams.errors)?;
            }
        }
    }
    if errors == 0 {
        return Ok(Outcome::AllHeld);
    }
    let plural = if errors == 1 { "error" } else { "errors" };
    writeln!(streams.errors, "{errors} {plural} found")?;
    Ok(Outcome::Refused)
}
