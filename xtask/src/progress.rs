//! What runs now and for how long, so that nobody stares at a silent screen.
//!
//! On a terminal one status line is redrawn; elsewhere (logs, pipes) a line is printed every 15 s.

use std::{
    collections::BTreeMap,
    fmt::Display,
    io::{self, IsTerminal, Write},
    sync::{
        LazyLock, Mutex, MutexGuard, PoisonError,
        atomic::{AtomicU64, Ordering},
    },
    thread,
    time::{Duration, Instant},
};

const REDRAW: Duration = Duration::from_millis(250);
const REMIND: Duration = Duration::from_secs(15);
const WIDTH: usize = 100;

struct Job {
    name: String,
    started: Instant,
    reminded: Instant,
    note: String,
}

static JOBS: LazyLock<Mutex<BTreeMap<u64, Job>>> = LazyLock::new(|| {
    thread::spawn(tick);
    Mutex::default()
});
static NEXT: AtomicU64 = AtomicU64::new(0);

/// A long step that is under way; its end is when this is dropped.
pub struct Running(u64);

impl Running {
    /// Begins to show a step.
    pub fn start(name: &str) -> Self {
        let id = NEXT.fetch_add(1, Ordering::Relaxed);
        let now = Instant::now();
        let job = Job { name: name.to_owned(), started: now, reminded: now, note: String::new() };
        jobs().insert(id, job);
        Self(id)
    }

    /// Says what the step is doing at the moment: the last line it printed will do.
    pub fn note(&self, line: &str) {
        if let Some(job) = jobs().get_mut(&self.0)
            && !line.trim().is_empty()
        {
            job.note = line.trim().to_owned();
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        jobs().remove(&self.0);
    }
}

/// Prints a line above the status line.
pub fn say(line: impl Display) {
    let held = jobs();
    if io::stderr().is_terminal() {
        eprint!("\r\x1b[2K");
    }
    println!("{line}");
    let _ = io::stdout().flush();
    drop(held);
}

/// Seconds as a person reads them.
pub fn elapsed(duration: Duration) -> String {
    let seconds = duration.as_secs();
    if seconds < 60 {
        format!("{:.1} s", duration.as_secs_f64())
    } else {
        format!("{} min {:02} s", seconds / 60, seconds % 60)
    }
}

fn jobs() -> MutexGuard<'static, BTreeMap<u64, Job>> {
    JOBS.lock().unwrap_or_else(PoisonError::into_inner)
}

fn tick() {
    let terminal = io::stderr().is_terminal();
    loop {
        thread::sleep(REDRAW);
        let mut jobs = jobs();
        if terminal {
            eprint!("\r\x1b[2K{}", status(&jobs));
            let _ = io::stderr().flush();
        } else {
            for job in jobs.values_mut().filter(|job| job.reminded.elapsed() >= REMIND) {
                job.reminded = Instant::now();
                println!("    … {}", shortened(&line(job), WIDTH));
                let _ = io::stdout().flush();
            }
        }
    }
}

fn status(jobs: &BTreeMap<u64, Job>) -> String {
    let all: Vec<String> = jobs.values().map(line).collect();
    shortened(&all.join("  |  "), WIDTH)
}

fn line(job: &Job) -> String {
    format!("{} {} s  {}", job.name, job.started.elapsed().as_secs(), job.note)
}

fn shortened(text: &str, width: usize) -> String {
    text.chars().filter(|letter| !letter.is_control()).take(width).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_below_a_minute_show_tenths_and_longer_ones_minutes() {
        assert_eq!(elapsed(Duration::from_millis(2_340)), "2.3 s");
        assert_eq!(elapsed(Duration::from_secs(125)), "2 min 05 s");
    }

    #[test]
    fn a_status_line_names_the_job_and_its_last_words_and_fits() {
        let now = Instant::now();
        let job = Job { name: "host build".into(), started: now, reminded: now, note: "x".repeat(500) };
        let text = shortened(&line(&job), WIDTH);
        assert!(text.starts_with("host build 0 s  xxx"), "{text}");
        assert_eq!(text.chars().count(), WIDTH);
    }
}
