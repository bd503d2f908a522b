//! Signals in the terminal, with a small plot each.

use std::collections::VecDeque;
use std::time::{Duration, Instant};

use clap::Args;
use serde_json::{Map, Value};
use trunnion::declare::Record;
use trunnion::machine::Machine;

use super::Desk;
use crate::command_line::trouble::Trouble;
use crate::command_line::{Outcome, Streams};
use crate::tester::settings::nearest;
use crate::tester::values::Scale;

/// Samples of a plot.
const SAMPLES: usize = 48;
/// Heights of a column of a plot.
const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

#[derive(Debug, Args)]
pub(super) struct WatchArguments {
    /// Names of signals; see `sheet identifiers`.
    #[arg(value_name = "SIGNAL", required = true)]
    signals: Vec<String>,
    /// Milliseconds between two samples.
    #[arg(long, value_name = "MILLISECONDS", default_value_t = 100)]
    every: u64,
    /// Seconds after which it ends; until Ctrl-C when left out.
    #[arg(long, value_name = "SECONDS")]
    seconds: Option<f64>,
}

/// Watches until the time is over.
pub(super) fn watch<M: Machine>(
    arguments: &WatchArguments,
    desk: &mut Desk<M>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let places = arguments.signals.iter().map(|name| place::<M>(name)).collect::<Result<Vec<u16>, _>>()?;
    let mut past: Vec<VecDeque<f64>> = vec![VecDeque::new(); places.len()];
    let began = Instant::now();
    let mut drawn = false;
    loop {
        let due = Instant::now() + Duration::from_millis(arguments.every);
        let read = desk.unit.signals(&places)?;
        if desk.json {
            writeln!(streams.out, "{}", as_json::<M>(&read, began.elapsed()))?;
        } else {
            if drawn && streams.look.colour {
                // Back to the first line of the last picture.
                write!(streams.out, "\u{1b}[{}A", places.len())?;
            }
            draw::<M>(&read, &mut past, streams)?;
            drawn = true;
        }
        streams.out.flush()?;
        if arguments.seconds.is_some_and(|seconds| began.elapsed().as_secs_f64() >= seconds) {
            return Ok(Outcome::AllHeld);
        }
        while Instant::now() < due {
            desk.unit.conversation().listen(Duration::from_millis(5))?;
        }
    }
}

fn place<M: Machine>(name: &str) -> Result<u16, Trouble> {
    let fields = M::Diagnostics::FIELDS;
    (0..).zip(fields).find(|(_, field)| field.name == name).map(|(place, _)| place).ok_or_else(|| {
        let near = nearest(name, fields.iter().map(|field| field.name));
        Trouble::with_help(format!("no signal is called `{name}`; {near}"), "see `sheet identifiers`")
    })
}

fn as_json<M: Machine>(read: &[(u16, i64)], at: Duration) -> Value {
    let mut sample = Map::new();
    sample.insert("seconds".into(), at.as_secs_f64().into());
    for (place, raw) in read {
        if let Some(field) = M::Diagnostics::FIELDS.get(usize::from(*place)) {
            sample.insert(field.name.into(), Scale::from(field).value(*raw).into());
        }
    }
    sample.into()
}

fn draw<M: Machine>(
    read: &[(u16, i64)],
    past: &mut [VecDeque<f64>],
    streams: &mut Streams<'_>,
) -> Result<(), Trouble> {
    for ((place, raw), past) in read.iter().zip(past) {
        let Some(field) = M::Diagnostics::FIELDS.get(usize::from(*place)) else { continue };
        let scale = Scale::from(field);
        past.push_back(scale.value(*raw));
        if past.len() > SAMPLES {
            past.pop_front();
        }
        let clear = if streams.look.colour { "\u{1b}[K" } else { "" };
        writeln!(streams.out, "{:<28} {:>16} {}{clear}", field.name, scale.shown(*raw), plot(past))?;
    }
    Ok(())
}

/// Columns between the lowest and the highest sample that is shown; a steady signal is a low line.
fn plot(samples: &VecDeque<f64>) -> String {
    let low = samples.iter().copied().fold(f64::INFINITY, f64::min);
    let high = samples.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let step =
        |sample: f64| if high > low { ((sample - low) / (high - low) * 7.0).round() as usize } else { 0 };
    samples.iter().map(|sample| BARS.get(step(*sample)).copied().unwrap_or('?')).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plot_spans_what_it_shows_and_a_steady_signal_is_a_line() {
        assert_eq!(plot(&VecDeque::from([0.0, 50.0, 100.0])), "▁▅█");
        assert_eq!(plot(&VecDeque::from([3.0, 3.0])), "▁▁");
        assert_eq!(plot(&VecDeque::new()), "");
    }
}
