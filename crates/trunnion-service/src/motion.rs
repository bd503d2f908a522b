//! Routines and output control: motion on purpose, and the dead-man that ends it.

use trunnion::quantity::{Millis, Period};

/// The tester must be heard at least this often while something moves on purpose (common practice, no source; the
/// session's own silence of 5 s is far too long for it).
const DEAD_MAN: Millis = Millis::from_ticks(300);

/// What runs on a tester's behalf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Running {
    Routine(u16),
    Control(u16),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct DeadMan {
    running: Option<Running>,
    silent: u32,
    limit: u32,
}

impl DeadMan {
    pub const fn new(period: Period) -> Self {
        Self { running: None, silent: 0, limit: period.steps(DEAD_MAN) }
    }

    pub const fn running(&self) -> Option<Running> {
        self.running
    }

    pub const fn begin(&mut self, running: Running) {
        self.running = Some(running);
        self.silent = 0;
    }

    pub const fn end(&mut self) -> Option<Running> {
        self.running.take()
    }

    /// The tester was heard.
    pub const fn heard(&mut self) {
        self.silent = 0;
    }

    /// One period: what must end now because the tester fell silent.
    pub fn step(&mut self) -> Option<Running> {
        self.running?;
        self.silent = self.silent.saturating_add(1);
        // The period in which the limit is reached counts: never later than 300 ms.
        if self.silent < self.limit { None } else { self.running.take() }
    }
}
