//! Watches whether a coil carries the current that it was told to.

mod conditions;
mod config;
#[cfg(test)]
mod tests;

pub use conditions::CoilConditions;
use config::check;
pub use config::{CoilMonitorConfig, CoilMonitorConfigError};

use crate::quantity::{Centiohms, Duty, Milliamps, Millivolts, Period};

/// Compares the mean current of a coil with its set-point and its duty.
///
/// At the end of each averaging window the mean current has to lie between the lowest and the highest
/// set-point of the window and the blanking before it, widened by tolerance and offset. So a step blanks the
/// watch for exactly what it may change, and a moving lever does not blind it.
///
/// A current outside of that is told apart by the resistance that duty and supply show: above 2.5 times
/// the value at 20 °C is `open`, below half of it `short`; copper stays within 0.76 (−40 °C) and 1.43 (130 °C).
/// A short is also seen while the loop still holds the current, as long as the set-point rests. Too little
/// current at full duty is `unreachable`, everything else `deviation`. Current after the blanking at zero
/// command is `stray`.
///
/// What it cannot see: anything but stray current at zero duty, where an open coil looks like a sound one
/// ([`TestPulse`](super::TestPulse) looks for it at start-up); below [`visible`](Self::visible) open, short
/// and deviation are not told apart or not seen. A condition is seen at the latest
/// [`detection_steps`](Self::detection_steps) after it began or after the set-point came to where it shows,
/// and goes at the end of a window without it.
///
#[doc = include_str!("../../docs/valve-coil_monitor.svg")]
///
/// ```
/// use trunnion::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period, Permille};
/// use trunnion::valve::{CoilMonitor, CoilMonitorConfig};
///
/// let config = CoilMonitorConfig {
///     resistance: Centiohms::new(530).unwrap(),
///     blanking: Millis::millis(20),
///     averaging: Millis::millis(10),
///     tolerance: Permille::new(100).unwrap(),
///     offset: Milliamps::new(40).unwrap(),
///     stray: Milliamps::new(60).unwrap(),
/// };
/// let mut lower = CoilMonitor::new(config, Period::from_micros(1_000).unwrap())?;
/// let (set, supply) = (Milliamps::new(600).unwrap(), Millivolts::new(12_600).unwrap());
/// for _ in 0..lower.detection_steps() {
///     lower.step(set, Milliamps::ZERO, Duty::MAX, supply); // the plug is off: full duty, no current
/// }
/// assert!(lower.conditions().open);
/// # Ok::<(), trunnion::valve::CoilMonitorConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilMonitor {
    config: CoilMonitorConfig,
    period: Period,
    window_steps: u32,
    /// Length of one of the two spans of set-points that are looked back on: window and blanking.
    span_steps: u32,
    now: Span,
    before: Span,
    span_step: u32,
    window: Window,
    conditions: CoilConditions,
    /// The measured current is not that of the coil.
    blind: bool,
    /// The reading was seen to stand still.
    frozen: bool,
}

/// Lowest and highest set-point of a stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Span {
    low: Milliamps,
    high: Milliamps,
}

/// Sums over an averaging window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Window {
    steps: u32,
    current: u32,
    duty: u32,
    supply: u32,
}

/// What a window showed.
#[derive(Clone, Copy)]
struct Means {
    current: u32,
    duty: u32,
    supply: u32,
}

impl CoilMonitor {
    /// Mean duty from which the loop counts as giving all it can; its last hundredths are rounding.
    const FULL: u32 = 9_900;
    /// Offsets that a set-point needs before the kinds of fault can be told apart.
    const VISIBLE_OFFSETS: u16 = 4;

    /// Checks the config.
    ///
    /// # Errors
    ///
    /// [`CoilMonitorConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: CoilMonitorConfig, period: Period) -> Result<Self, CoilMonitorConfigError> {
        if let Err(error) = check(&config) {
            return Err(error);
        }
        let window_steps = period.steps(config.averaging);
        Ok(Self {
            config,
            period,
            window_steps,
            span_steps: window_steps.saturating_add(period.steps(config.blanking)),
            now: Span::ZERO,
            before: Span::ZERO,
            span_step: 0,
            window: Window::EMPTY,
            conditions: CoilConditions::NONE,
            blind: false,
            frozen: false,
        })
    }

    /// Takes another config and starts watching anew, or refuses it as a whole and keeps the present one.
    ///
    /// # Errors
    ///
    /// [`CoilMonitorConfigError`], as for `new`; everything then stays as it was.
    pub const fn reconfigure(&mut self, config: CoilMonitorConfig) -> Result<(), CoilMonitorConfigError> {
        match Self::new(config, self.period) {
            Ok(mut monitor) => {
                // What was asked so far stays in view: a current that flows by right is no stray one.
                monitor.now = self.now;
                monitor.before = self.before;
                monitor.conditions = self.conditions;
                monitor.blind = self.blind;
                monitor.frozen = self.frozen;
                *self = monitor;
                Ok(())
            }
            Err(error) => Err(error),
        }
    }

    /// The measured current cannot be that of the coil: a broken wire, or a reading that stands still. Whoever
    /// controls the current by it must not.
    pub const fn is_blind(&self) -> bool {
        self.blind
    }

    /// What it was built from.
    pub const fn config(&self) -> CoilMonitorConfig {
        self.config
    }

    /// Starts watching anew, as after a set-point of zero; no condition is remembered.
    pub const fn reset(&mut self) {
        self.now = Span::ZERO;
        self.before = Span::ZERO;
        self.span_step = 0;
        self.window = Window::EMPTY;
        self.conditions = CoilConditions::NONE;
        self.blind = false;
        self.frozen = false;
    }

    /// One step: the set-point now asked for, the current measured since the last step, the duty and the
    /// supply that drove it. Returns the conditions of the last whole window.
    pub fn step(
        &mut self,
        set: Milliamps,
        measured: Milliamps,
        duty: Duty,
        supply: Millivolts,
    ) -> CoilConditions {
        self.look_back(set);
        self.window.add(measured, duty, supply);
        if self.window.steps >= self.window_steps {
            self.conditions = self.judge(self.window.means());
            self.window = Window::EMPTY;
        }
        self.conditions
    }

    /// The conditions of the last whole window.
    pub const fn conditions(&self) -> CoilConditions {
        self.conditions
    }

    /// The last step ended a window: the conditions are new.
    pub(crate) const fn has_judged(&self) -> bool {
        self.window.steps == 0
    }

    /// Smallest resting set-point at which an open or shorted coil is told: four offsets.
    pub const fn visible(&self) -> Milliamps {
        Milliamps::saturating((self.config.offset.raw() as i64).wrapping_mul(Self::VISIBLE_OFFSETS as i64))
    }

    /// Steps after which a condition that lasts is seen at the latest: two windows beyond the longest look
    /// back.
    pub const fn detection_steps(&self) -> u32 {
        self.span_steps.saturating_add(self.window_steps).saturating_mul(2)
    }

    /// Two spans that take turns cover between one and two span lengths without a memory of every step.
    fn look_back(&mut self, set: Milliamps) {
        if self.span_step >= self.span_steps {
            self.before = self.now;
            self.now = Span { low: set, high: set };
            self.span_step = 0;
        }
        self.now = self.now.with(set);
        self.span_step = self.span_step.wrapping_add(1);
    }

    /// Currents are at most 2¹⁶, and driven ones 2¹⁷: no sum of a few of them wraps.
    fn judge(&mut self, means: Means) -> CoilConditions {
        let asked = self.now.union(self.before);
        let low = u32::from(asked.low.raw());
        let high = u32::from(asked.high.raw());
        if high == 0 {
            self.blind = false;
            self.frozen = false;
            return CoilConditions {
                stray: means.current > u32::from(self.config.stray.raw()),
                ..CoilConditions::NONE
            };
        }
        let below = means.current.wrapping_add(self.allowance(low)) < low;
        let above = means.current > high.wrapping_add(self.allowance(high));
        let resting = high.wrapping_sub(low) <= u32::from(self.config.offset.raw());
        let driven = means.current_through(self.config.resistance);
        let visible = u32::from(self.visible().raw());
        let enough_to_tell = means.current.wrapping_add(u32::from(self.config.offset.raw())) >= visible;
        let too_much = driven.wrapping_mul(2) < means.current && enough_to_tell;
        let too_little = driven.wrapping_mul(2) > means.current.wrapping_mul(5);
        let visible_and_too_little = too_little && low >= visible;
        let open = below && visible_and_too_little;
        // The reading agrees with the set-point, and the duty says that it cannot be: a reading that stands still.
        // Once seen it is kept until nothing is asked for: controlled blind, the duty no longer shows it.
        self.frozen |= !below && visible_and_too_little && resting;
        let short = too_much && (above || resting);
        let unreachable = below && !open && means.duty >= Self::FULL;
        let deviation = (below && !open && !unreachable) || (above && !short) || self.frozen;
        self.blind = open || self.frozen;
        CoilConditions { open, short, deviation, unreachable, stray: false }
    }

    /// Allowed error at a set-point.
    fn allowance(&self, set: u32) -> u32 {
        let share = u32::from(self.config.tolerance.raw().unsigned_abs());
        (set.wrapping_mul(share) / 1000).wrapping_add(u32::from(self.config.offset.raw()))
    }
}

impl Span {
    const ZERO: Self = Self { low: Milliamps::ZERO, high: Milliamps::ZERO };

    const fn with(self, set: Milliamps) -> Self {
        Self { low: self.low.at_most(set), high: self.high.at_least(set) }
    }

    const fn union(self, other: Self) -> Self {
        self.with(other.low).with(other.high)
    }
}

impl Window {
    const EMPTY: Self = Self { steps: 0, current: 0, duty: 0, supply: 0 };

    fn add(&mut self, measured: Milliamps, duty: Duty, supply: Millivolts) {
        // At most 500 ms in periods of 100 µs or more: 5000 times 2¹⁶.
        self.steps = self.steps.wrapping_add(1);
        self.current = self.current.wrapping_add(u32::from(measured.raw()));
        self.duty = self.duty.wrapping_add(u32::from(duty.raw()));
        self.supply = self.supply.wrapping_add(u32::from(supply.raw()));
    }

    fn means(&self) -> Means {
        let mean = |sum: u32| sum.checked_div(self.steps).unwrap_or(0);
        Means { current: mean(self.current), duty: mean(self.duty), supply: mean(self.supply) }
    }
}

impl Means {
    /// The current that duty and supply drive through a resistance.
    fn current_through(&self, resistance: Centiohms) -> u32 {
        // 0.01 % · mV / cΩ is a hundredth of a milliampere; at most 10 000 · 65 535.
        let hundredths = self.duty.wrapping_mul(self.supply).checked_div(u32::from(resistance.raw()));
        hundredths.unwrap_or(0) / 100
    }
}
