//! How far a run is: bars on a terminal, a line now and then elsewhere.

use std::{
    io::{self, IsTerminal, Write},
    sync::{
        Mutex, PoisonError,
        atomic::{AtomicU64, Ordering},
    },
    time::{Duration, Instant},
};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

const REMIND: Duration = Duration::from_secs(15);

/// Shows what runs and how far it is.
pub struct Progress {
    bar: ProgressBar,
    terminal: bool,
    done: AtomicU64,
    of: AtomicU64,
    what: Mutex<(String, Instant)>,
}

impl Default for Progress {
    fn default() -> Self {
        Self::new()
    }
}

impl Progress {
    /// Shows nothing yet.
    pub fn new() -> Self {
        let terminal = io::stderr().is_terminal();
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr_with_hz(4));
        if let Ok(style) =
            ProgressStyle::with_template("{bar:24} {percent:>3} %  {elapsed} (still {eta})  {msg}")
        {
            bar.set_style(style);
        }
        Self {
            bar,
            terminal,
            done: AtomicU64::new(0),
            of: AtomicU64::new(0),
            what: Mutex::new((String::new(), Instant::now())),
        }
    }

    /// Begins something of a known length.
    pub fn begin(&self, what: &str, length: u64) {
        self.done.store(0, Ordering::Relaxed);
        self.of.store(length, Ordering::Relaxed);
        self.lock().0 = what.to_owned();
        self.bar.reset();
        self.bar.set_length(length);
        self.bar.set_message(what.to_owned());
    }

    /// So much more is done.
    pub fn advance(&self, by: u64) {
        let done = self.done.fetch_add(by, Ordering::Relaxed) + by;
        if self.terminal {
            self.bar.inc(by);
            return;
        }
        let mut what = self.lock();
        if what.1.elapsed() >= REMIND {
            what.1 = Instant::now();
            let of = self.of.load(Ordering::Relaxed).max(1);
            println!("    … {}: {} %", what.0, 100 * u128::from(done) / u128::from(of));
            let _ = io::stdout().flush();
        }
    }

    /// Prints a line above the bar.
    pub fn say(&self, line: &str) {
        self.bar.suspend(|| println!("{line}"));
        let _ = io::stdout().flush();
    }

    /// Takes the bar away.
    pub fn end(&self) {
        self.bar.finish_and_clear();
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, (String, Instant)> {
        self.what.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
