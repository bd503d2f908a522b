//! Routines and output control: motion on purpose, and the dead-man that ends it.

use trunnion::quantity::{Millis, Period};

/// The tester who began a motion must be heard at least this often while it lasts (common practice, no source; the
/// session's own silence of 5 s is far too long for it).
const DEAD_MAN: Millis = Millis::from_ticks(300);

/// What runs on a tester's behalf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(crate) enum Running {
    Routine(u16),
    Control(u16),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct DeadMan {
    running: Option<Running>,
    /// Who began it: nobody else's words keep it going, a hand on another tool is not on this dead-man.
    tester: u8,
    silent: u32,
    limit: u32,
}

impl DeadMan {
    pub const fn new(period: Period) -> Self {
        Self { running: None, tester: 0, silent: 0, limit: period.steps(DEAD_MAN).saturating_sub(1) }
    }

    pub const fn running(&self) -> Option<Running> {
        self.running
    }

    /// Whether this tester began this.
    pub fn is_driven_by(&self, tester: u8, running: Running) -> bool {
        self.tester == tester && self.running == Some(running)
    }

    pub const fn begin(&mut self, tester: u8, running: Running) {
        self.running = Some(running);
        self.tester = tester;
        self.silent = 0;
    }

    pub const fn end(&mut self) -> Option<Running> {
        self.running.take()
    }

    /// A tester was heard.
    pub const fn heard(&mut self, tester: u8) {
        if self.tester == tester {
            self.silent = 0;
        }
    }

    /// One period: what must end now because the tester fell silent.
    pub fn step(&mut self) -> Option<Running> {
        self.running?;
        self.silent = self.silent.saturating_add(1);
        // One period early: a stop may have to wait for another action, and is still told within 300 ms.
        if self.silent < self.limit { None } else { self.running.take() }
    }
}
