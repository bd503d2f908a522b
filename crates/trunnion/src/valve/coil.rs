//! One coil in the fast loop: dither, current control and watch.

mod config;
#[cfg(test)]
mod tests;

pub use config::{CoilConfig, CoilConfigError};

use super::{CoilConditions, CoilMonitor, CoilMonitorConfig, CurrentLoop, Dither};
use crate::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period};

/// What a coil did since the last report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilReport {
    /// Mean of the measured current, rounded to nearest.
    pub average_current: Milliamps,
    /// Mean duty, rounded to nearest.
    pub average_duty: Duty,
    /// Largest current that the supply can drive now; less than asked for when the coil is hot or the supply
    /// is low. Commands that belong together are scaled alike by the smallest share.
    pub reachable: Milliamps,
    /// Estimated resistance.
    pub resistance: Centiohms,
    /// Whatever was wrong at any time since the last report.
    pub conditions: CoilConditions,
}

/// One coil in the fast loop.
///
/// A coil that looks open is driven by feed-forward alone until it no longer does: the wire of its current sense may be
/// what is broken, and a closed loop would then drive it to full current.
///
/// Blanks its watch for five time constants after a change of the set-point. Without a supply reading the loop
/// is slower, and a deviation may show for up to 50 ms after a step; its fault is to be debounced for longer.
///
#[doc = include_str!("../../docs/valve-coil.svg")]
///
/// ```
/// use trunnion::quantity::{Centiohms, Milliamps, Millis, Millivolts, Period, Permille};
/// use trunnion::valve::{Coil, CoilConfig, CurrentLoopConfig, DitherConfig};
///
/// let ma = |raw| Milliamps::new(raw).unwrap();
/// let config = CoilConfig {
///     control: CurrentLoopConfig {
///         resistance: Centiohms::new(720).unwrap(),
///         time_constant: Millis::millis(3),
///         proportional: Centiohms::new(720).unwrap(),
///         integral_time: Millis::millis(8),
///         lowest_supply: Millivolts::new(8_000).unwrap(),
///         highest_supply: Millivolts::new(16_000).unwrap(),
///         largest: ma(1_200),
///     },
///     dither: DitherConfig { amplitude: ma(30), cycle: Millis::millis(10) },
///     averaging: Millis::millis(10),
///     tolerance: Permille::new(100).unwrap(),
///     offset: ma(40),
///     stray: ma(60),
/// };
/// let mut raise = Coil::new(config, Period::from_micros(1_000).unwrap())?;
/// for _ in 0..200 {
///     // the plug is off: whatever the duty, no current comes back
///     raise.step(ma(600), Milliamps::ZERO, Some(Millivolts::new(12_600).unwrap()));
/// }
/// let report = raise.take_report();
/// assert!(report.conditions.open && report.average_current == Milliamps::ZERO);
/// # Ok::<(), trunnion::valve::CoilConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Coil {
    control: CurrentLoop,
    dither: Dither,
    monitor: CoilMonitor,
    highest_supply: Millivolts,
    period: Period,
    duty: Duty,
    currents: u32,
    duties: u32,
    steps: u16,
    conditions: CoilConditions,
}

impl Coil {
    /// Checks the config and resolves it to one period of the fast loop.
    ///
    /// # Errors
    ///
    /// [`CoilConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: CoilConfig, period: Period) -> Result<Self, CoilConfigError> {
        let parts = match Parts::of(&config, period) {
            Ok(parts) => parts,
            Err(error) => return Err(error),
        };
        Ok(Self {
            control: parts.control,
            dither: parts.dither,
            monitor: parts.monitor,
            highest_supply: config.control.highest_supply,
            period,
            duty: Duty::ZERO,
            currents: 0,
            duties: 0,
            steps: 0,
            conditions: CoilConditions::NONE,
        })
    }

    /// Takes another config, or refuses it as a whole and keeps the present one. The loop keeps its state, the
    /// dither and the watch start anew.
    ///
    /// # Errors
    ///
    /// [`CoilConfigError`], as for `new`; everything then stays as it was.
    pub const fn reconfigure(&mut self, config: CoilConfig) -> Result<(), CoilConfigError> {
        let parts = match Parts::of(&config, self.period) {
            Ok(parts) => parts,
            Err(error) => return Err(error),
        };
        if let Err(error) = self.control.reconfigure(config.control) {
            return Err(CoilConfigError::Control(error));
        }
        if let Err(error) = self.dither.reconfigure(config.dither) {
            return Err(CoilConfigError::Dither(error));
        }
        if let Err(error) = self.monitor.reconfigure(parts.monitor.config()) {
            return Err(CoilConfigError::Monitor(error));
        }
        self.highest_supply = config.control.highest_supply;
        Ok(())
    }

    /// Back to the state of a new coil, learnt resistance and unreported conditions included.
    pub const fn reset(&mut self) {
        self.control.reset();
        self.dither.reset();
        self.monitor.reset();
        self.duty = Duty::ZERO;
        self.currents = 0;
        self.duties = 0;
        self.steps = 0;
        self.conditions = CoilConditions::NONE;
    }

    /// The duty for the coming step: exactly zero for a set-point of zero. `measured` is the mean current since
    /// the last step, `supply` is `None` when its sense has failed.
    pub fn step(&mut self, set: Milliamps, measured: Milliamps, supply: Option<Millivolts>) -> Duty {
        let assumed = supply.unwrap_or(self.highest_supply);
        self.monitor.step(set, measured, self.duty, assumed);
        if self.monitor.has_judged() {
            self.conditions = self.conditions.union(self.monitor.conditions());
        }
        let dithered = self.dither.step(set);
        self.duty = if self.monitor.is_blind() {
            self.control.step_blind(set, dithered, supply)
        } else {
            self.control.step_dithered(set, dithered, measured, supply)
        };
        self.currents = self.currents.saturating_add(u32::from(measured.raw()));
        self.duties = self.duties.saturating_add(u32::from(self.duty.raw()));
        self.steps = self.steps.saturating_add(1);
        self.duty
    }

    /// What happened since the last report, then starts a new one.
    pub fn take_report(&mut self) -> CoilReport {
        let steps = u32::from(self.steps);
        let mean = |sum: u32| i64::from(sum.saturating_add(steps / 2).checked_div(steps).unwrap_or(0));
        let report = CoilReport {
            average_current: Milliamps::saturating(mean(self.currents)),
            average_duty: Duty::saturating(mean(self.duties)),
            reachable: self.control.reachable(),
            resistance: self.control.resistance(),
            conditions: self.conditions,
        };
        self.currents = 0;
        self.duties = 0;
        self.steps = 0;
        self.conditions = self.monitor.conditions();
        report
    }

    /// The duty of the last step.
    pub const fn duty(&self) -> Duty {
        self.duty
    }

    /// The current loop, to look at.
    pub const fn control(&self) -> &CurrentLoop {
        &self.control
    }

    /// The watch, to look at.
    pub const fn monitor(&self) -> &CoilMonitor {
        &self.monitor
    }
}

struct Parts {
    control: CurrentLoop,
    dither: Dither,
    monitor: CoilMonitor,
}

impl Parts {
    const fn of(config: &CoilConfig, period: Period) -> Result<Self, CoilConfigError> {
        let control = match CurrentLoop::new(config.control, period) {
            Ok(control) => control,
            Err(error) => return Err(CoilConfigError::Control(error)),
        };
        let dither = match Dither::new(config.dither, period) {
            Ok(dither) => dither,
            Err(error) => return Err(CoilConfigError::Dither(error)),
        };
        let watch = CoilMonitorConfig {
            resistance: config.control.resistance,
            blanking: Millis::from_ticks(config.control.time_constant.ticks().saturating_mul(5)),
            averaging: config.averaging,
            tolerance: config.tolerance,
            offset: config.offset,
            stray: config.stray,
        };
        let monitor = match CoilMonitor::new(watch, period) {
            Ok(monitor) => monitor,
            Err(error) => return Err(CoilConfigError::Monitor(error)),
        };
        let (averaging, cycle) = (config.averaging, config.dither.cycle);
        let rest = averaging.ticks().checked_rem(cycle.ticks());
        if config.dither.amplitude.raw() != 0 && !matches!(rest, Some(0)) {
            return Err(CoilConfigError::AveragingSplitsDither { averaging, cycle });
        }
        Ok(Self { control, dither, monitor })
    }
}
