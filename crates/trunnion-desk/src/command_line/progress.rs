//! Progress of runs, on a terminal only.

use std::time::Instant;

use indicatif::{MultiProgress, ProgressBar, ProgressStyle};

use super::Look;

/// Ticks between two changes of a bar: often enough to be seen moving.
const EVERY: u32 = 64;

/// All bars of a command.
pub(super) struct Progress(Option<MultiProgress>);

/// The bar of one run.
pub(super) struct Bar {
    bar: Option<ProgressBar>,
    began: Instant,
}

impl Progress {
    /// Bars when the look has them.
    pub(super) fn new(look: Look) -> Self {
        Self(look.progress.then(MultiProgress::new))
    }

    /// A bar for a run that begins.
    pub(super) fn bar(&self, name: &str) -> Bar {
        let bar = self.0.as_ref().map(|bars| {
            let bar = bars.add(ProgressBar::new(1));
            let style = ProgressStyle::with_template("{prefix:28!} {bar:24} {msg}");
            bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
            bar.set_prefix(name.to_owned());
            bar
        });
        Bar { bar, began: Instant::now() }
    }

    /// Writes something while no bar is in the way.
    pub(super) fn aside<R>(&self, write: impl FnOnce() -> R) -> R {
        match &self.0 {
            Some(bars) => bars.suspend(write),
            None => write(),
        }
    }
}

impl Bar {
    /// A tick was done.
    pub(super) fn tick(&self, index: u32, ticks: u32, period: f64) {
        let Some(bar) = self.bar.as_ref().filter(|_| index.is_multiple_of(EVERY)) else { return };
        let (simulated, whole) = (f64::from(index) * period, f64::from(ticks) * period);
        let factor = simulated / self.began.elapsed().as_secs_f64().max(1e-6);
        bar.set_length(ticks.into());
        bar.set_position(index.into());
        bar.set_message(format!("{simulated:5.1} of {whole:.1} s, {factor:.0} × real time"));
    }

    /// The run is over.
    pub(super) fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

/// A bar for something that is counted, on a terminal only; its length is told with the first step.
pub(super) fn counted(look: Look, what: &'static str) -> ProgressBar {
    if !look.progress {
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template("{prefix} {bar:24} {pos} of {len}, {eta} left");
    let bar = ProgressBar::new(1).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    bar.with_prefix(what)
}
