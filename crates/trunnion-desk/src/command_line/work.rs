//! Runs scenarios side by side and gives their results in the order in which they were asked for.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use trunnion::machine::Machine;
use trunnion_rig::language::Complaints;
use trunnion_rig::run::{Run, Tick};

use super::progress::{Bar, Progress};
use super::selection::{BenchRig, Job};
use crate::bench::Bench;
use crate::lock_step::{self, Board};
use crate::report::{LogLine, Parity};
use crate::virtual_controller::{self, BoardRun, VirtualControllerError};

/// A scenario that was run.
pub(super) struct Done {
    pub(super) run: Run,
    /// Time that the host needed for plant and control program.
    pub(super) host: Duration,
    pub(super) firmware: Firmware,
    /// What the image has logged.
    pub(super) log: Vec<LogLine>,
}

/// What the firmware said beside the host.
#[derive(Debug)]
pub(super) enum Firmware {
    /// It was not asked.
    NotAsked,
    /// Every tick was equal.
    Equal(BoardRun),
    /// It differs, or the board broke down.
    Failed(VirtualControllerError),
    /// There is nothing here that could run it.
    NotAvailable(VirtualControllerError),
}

/// What a scenario came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    Passed,
    Failed,
    /// The host's part held, the firmware could not be asked.
    Skipped,
}

impl Done {
    pub(super) fn mark(&self) -> Mark {
        match &self.firmware {
            _ if !self.run.passed() => Mark::Failed,
            Firmware::Failed(_) => Mark::Failed,
            Firmware::NotAvailable(_) => Mark::Skipped,
            Firmware::NotAsked | Firmware::Equal(_) => Mark::Passed,
        }
    }

    /// Seconds that were simulated.
    pub(super) fn simulated(&self) -> f64 {
        self.run.trace.period * self.run.trace.rows() as f64
    }
}

impl Firmware {
    /// As the report tells it.
    pub(super) fn parity(&self) -> Parity {
        let controller =
            || "firmware image on an emulated Cortex-M4 board (QEMU), over its serial port".to_owned();
        match self {
            Self::NotAsked => Parity::NotCompared,
            Self::Equal(run) => Parity::BitForBit { controller: controller(), ticks: run.ticks.into() },
            Self::Failed(error) => Parity::Differs { controller: controller(), first: error.to_string() },
            Self::NotAvailable(error) => Parity::Skipped(error.to_string()),
        }
    }
}

/// Runs all jobs on all processors; `each` is given the results in the order of the jobs, as soon as their turn
/// has come.
pub(super) fn all<B: Bench>(
    rig: &BenchRig<B>,
    jobs: &[Job],
    image: Option<&Path>,
    progress: &Progress,
    mut each: impl FnMut(&Job, Result<Done, Complaints>),
) {
    let workers = thread::available_parallelism().map_or(1, usize::from).min(jobs.len());
    let next = AtomicUsize::new(0);
    let (results, arrived) = mpsc::channel();
    thread::scope(|scope| {
        for _ in 0..workers {
            let (results, next) = (results.clone(), &next);
            scope.spawn(move || {
                let mut board = None;
                while let Some((place, job)) = take(jobs, next) {
                    let bar = progress.bar(&job.name);
                    let done = one::<B>(rig, job, image, &mut board, &bar);
                    bar.finish();
                    if results.send((place, done)).is_err() {
                        return;
                    }
                }
            });
        }
        drop(results);
        let mut early = BTreeMap::new();
        let mut turn = 0;
        for (place, done) in arrived {
            early.insert(place, done);
            while let Some(done) = early.remove(&turn) {
                if let Some(job) = jobs.get(turn) {
                    progress.aside(|| each(job, done));
                }
                turn += 1;
            }
        }
    });
}

fn take<'a>(jobs: &'a [Job], next: &AtomicUsize) -> Option<(usize, &'a Job)> {
    let place = next.fetch_add(1, Ordering::Relaxed);
    jobs.get(place).map(|job| (place, job))
}

type BenchBoard<B> = Box<dyn Board<<B as Bench>::Machine>>;

fn one<B: Bench>(
    rig: &BenchRig<B>,
    job: &Job,
    image: Option<&Path>,
    board: &mut Option<BenchBoard<B>>,
    bar: &Bar,
) -> Result<Done, Complaints> {
    let mut session = rig.start(&job.scenario)?;
    let mut host = Duration::ZERO;
    let mut trouble = None;
    loop {
        let began = Instant::now();
        let Some(tick) = session.step() else { break };
        host += began.elapsed();
        bar.tick(tick.index, tick.ticks, f64::from(B::Machine::PERIOD.micros()) / 1e6);
        if let (Some(image), None) = (image, &trouble) {
            trouble = follow::<B>(image, board, &tick).err();
        }
    }
    let (firmware, log) = finished::<B>(image, board, trouble);
    Ok(Done { run: session.finish(), host, firmware, log })
}

/// One tick on the board, which is started with the first one of a run.
fn follow<B: Bench>(
    image: &Path,
    board: &mut Option<BenchBoard<B>>,
    tick: &Tick<'_, B::Machine>,
) -> Result<(), VirtualControllerError> {
    if tick.index == 0 {
        match board {
            Some(board) => board.restart(tick.boot)?,
            None => *board = Some(B::board(image, tick.boot)?),
        }
    }
    board.as_mut().map_or(Ok(()), |board| lock_step::follow(board.as_mut(), tick))
}

/// What the board says at the end of a run. One that failed is not used again.
fn finished<B: Bench>(
    image: Option<&Path>,
    board: &mut Option<BenchBoard<B>>,
    trouble: Option<VirtualControllerError>,
) -> (Firmware, Vec<LogLine>) {
    if image.is_none() {
        return (Firmware::NotAsked, Vec::new());
    }
    let result = match (trouble, board.as_mut()) {
        (Some(trouble), _) => Err(trouble),
        (None, Some(board)) => board.finish(),
        (None, None) => return (Firmware::NotAsked, Vec::new()),
    };
    let lines = board.as_mut().map(|board| board.take_log()).unwrap_or_default();
    let log = lines.into_iter().map(log_line::<B::Machine>).collect();
    let firmware = match result {
        Ok(run) => Firmware::Equal(run),
        Err(error) => {
            *board = None;
            match error {
                VirtualControllerError::NoEmulator { .. } => Firmware::NotAvailable(error),
                error => Firmware::Failed(error),
            }
        }
    };
    (firmware, log)
}

fn log_line<M: Machine>(line: virtual_controller::LogLine) -> LogLine {
    LogLine {
        at: line.tick.map(|tick| f64::from(tick) * f64::from(M::PERIOD.micros()) / 1e6),
        source: "firmware".to_owned(),
        text: format!("{}: {}", line.level, line.message),
    }
}
