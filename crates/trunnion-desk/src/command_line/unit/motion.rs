//! A routine or an output, for as long as a key is held.

use std::io::BufRead;
use std::time::{Duration, Instant};

use clap::Args;
use trunnion::machine::Machine;
use trunnion_service::routine::{RoutineReport, RoutineStep};

use super::Desk;
use crate::bench::{Bench, GuidedMotion, MotionKind};
use crate::command_line::streams::Tone;
use crate::command_line::trouble::Trouble;
use crate::command_line::{Outcome, Streams};
use crate::tester::guidance::{prompt, why};
use crate::tester::hold::Hold;
use crate::tester::settings::nearest;
use crate::tester::unit::MotionEnd;

/// How long the hand may take to find the key.
const PATIENCE: Duration = Duration::from_secs(30);
/// How often a session is kept alive while a person makes up their mind; it ends after five seconds of silence.
const STAY: Duration = Duration::from_millis(1_500);
/// How long a person may take for that.
const DECISION: Duration = Duration::from_secs(120);
/// What holds for every motion on purpose.
const CAUTIONS: [&str; 3] = [
    "Something may move. Wheels off the ground or the machine where it can hurt nobody, an emergency stop in reach.",
    "Keep your eyes on the machine, not on this screen. Let the space bar go and it stops.",
    "If it does not stop within half a second, press the emergency stop: do not wait for this program.",
];

#[derive(Debug, Args)]
pub(super) struct MoveArguments {
    /// Name of the routine or output; what there is when left out.
    #[arg(value_name = "NAME")]
    name: Option<String>,
    /// What an output is driven to, raw; the controller holds it to its own cap.
    #[arg(long, value_name = "RAW", default_value_t = 0)]
    value: i32,
}

/// Leads through a motion.
pub(super) fn motion<B: Bench>(
    arguments: &MoveArguments,
    desk: &mut Desk<B::Machine>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let Some(name) = &arguments.name else {
        if B::MOTIONS.is_empty() {
            writeln!(streams.out, "this machine has no routine and no output that a tester may drive")?;
        }
        for motion in B::MOTIONS {
            writeln!(streams.out, "{:<24} {}", motion.name, motion.does)?;
        }
        return Ok(Outcome::AllHeld);
    };
    let found = B::MOTIONS.iter().find(|motion| motion.name == name);
    let motion = found.ok_or_else(|| {
        let near = nearest(name, B::MOTIONS.iter().map(|motion| motion.name));
        Trouble::with_help(format!("nothing is called `{name}`; {near}"), "see `unit move` alone")
    })?;
    cautions(motion, streams)?;
    confirm(motion, streams)?;
    desk.unlock(motion.level)?;
    hold(motion, arguments.value, desk, streams)
}

fn cautions(motion: &GuidedMotion, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    writeln!(streams.out, "{}: {}", streams.look.toned(Tone::Heading, motion.name), motion.does)?;
    for caution in CAUTIONS {
        writeln!(streams.out, "  ! {}", streams.look.wrapped(caution, 4))?;
    }
    Ok(())
}

/// Each condition is confirmed by a word of its own.
fn confirm(motion: &GuidedMotion, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    for condition in motion.before {
        write!(streams.out, "{condition} Is that so? Type yes: ")?;
        streams.out.flush()?;
        let mut typed = String::new();
        std::io::stdin().lock().read_line(&mut typed)?;
        if typed.trim() != "yes" {
            return Err(Trouble::with_help("nothing was started", "begin again when it is so"));
        }
    }
    Ok(())
}

#[cfg(unix)]
fn key() -> std::io::Result<impl Hold> {
    crate::tester::hold::SpaceBar::new()
}

#[cfg(not(unix))]
fn key() -> std::io::Result<Box<dyn Hold>> {
    Err(std::io::Error::new(std::io::ErrorKind::Unsupported, "a held key is known on Unix only"))
}

fn hold<M: Machine>(
    motion: &GuidedMotion,
    value: i32,
    desk: &mut Desk<M>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let mut key = key().map_err(|error| {
        Trouble::with_help(
            format!("no key can be held here: {error}"),
            "type this in a terminal: a motion is never kept going by a script",
        )
    })?;
    writeln!(streams.out, "Hold the space bar down. It begins while you hold, and stops when you let go.")?;
    let until = Instant::now() + PATIENCE;
    while !key.is_held() {
        if Instant::now() > until {
            return Err(Trouble::with_help("nothing was started: the space bar was not held", "begin again"));
        }
        // The session would end by silence meanwhile: the bus is listened to, nothing is kept alive.
        desk.unit.conversation().listen(Duration::from_millis(10))?;
    }
    let mut guide = Guide::default();
    let end = desk.unit.hold_motion(motion, value, &mut key, &mut |report| guide.tell(report, streams))?;
    // The terminal is as before: lines are typed again.
    drop(key);
    match end {
        MotionEnd::Done(report) => {
            writeln!(streams.out, "done; it found {:?}", report.found)?;
            if desk.unit.staged()? > 0 {
                decide(desk, streams)?;
            }
        }
        MotionEnd::Failed(report) => {
            let (what, help) = why(report.reason);
            desk.unit.leave()?;
            return Err(Trouble::with_help(format!("the machine has ended it: {what}"), help));
        }
        MotionEnd::LetGo if motion.kind == MotionKind::Control => {
            writeln!(streams.out, "let go: the output is given back")?;
        }
        MotionEnd::LetGo => writeln!(streams.out, "let go: it is stopped, and nothing was learnt")?,
    }
    desk.unit.leave()?;
    Ok(Outcome::AllHeld)
}

/// Says each step of a routine once.
#[derive(Debug, Default)]
struct Guide(RoutineStep);

impl Guide {
    fn tell(&mut self, report: &RoutineReport, streams: &mut Streams<'_>) {
        if report.step == self.0 {
            return;
        }
        self.0 = report.step;
        if report.step != RoutineStep::Nothing {
            // A screen that is gone is no reason to let a motion run on: the hand decides.
            let _ = writeln!(streams.out, "> {}", prompt(report.step));
        }
    }
}

/// What was learnt takes effect only when a person says so; the session is kept alive until then.
fn decide<M: Machine>(desk: &mut Desk<M>, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    let count = desk.unit.staged()?;
    write!(
        streams.out,
        "{count} values differ from those in effect. With the machine at rest and the levers released, type yes to write \
         them: "
    )?;
    streams.out.flush()?;
    let (sender, typed) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let mut line = String::new();
        let read = std::io::stdin().lock().read_line(&mut line);
        // Nobody listens any more when it took too long.
        let _ = sender.send(read.map(|_| line));
    });
    let until = Instant::now() + DECISION;
    let mut stay = Instant::now();
    let answer = loop {
        if let Ok(line) = typed.try_recv() {
            break line?;
        }
        if Instant::now() > until {
            break String::new();
        }
        if stay.elapsed() >= STAY {
            stay = Instant::now();
            desk.unit.stay()?;
        }
        desk.unit.conversation().listen(Duration::from_millis(10))?;
    };
    if answer.trim() == "yes" {
        desk.unit.commit()?;
        writeln!(streams.out, "{count} values were written")?;
    } else {
        writeln!(streams.out, "nothing was written")?;
    }
    Ok(())
}
