use trunnion::lever::{AxisCalibration, AxisCalibrationConfig, AxisCalibrationConfigError};
use trunnion::quantity::{Millis, Period, Permille};

use super::{RoutineReason, RoutineReport, RoutineStep, mean};
use crate::served::Progress;

/// What a calibration asks of lever and person.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LeverCalibrationConfig {
    /// Least signal from the centre to either end; see [`AxisCalibrationConfig`].
    pub shortest_travel: Permille,
    /// How far the centre may lie from the middle of the ends, as a share of half the travel.
    pub off_centre: Permille,
    /// How far the signal may wander while the lever is held still; also how far apart the two releases may rest.
    pub still: Permille,
    /// How long it must be held still.
    pub hold: Millis,
    /// How long a person may take for one step.
    pub time_out: Millis,
}

/// Ends and centre of an axis, in thousandths of its signal's full travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AxisMeasured {
    /// At the end of the negative travel.
    pub low: Permille,
    /// Of the released lever: the mean of both releases.
    pub centre: Permille,
    /// At the end of the positive travel.
    pub high: Permille,
}

/// Leads a person through the calibration of one lever axis: release, negative end, positive end, release. Each place
/// counts once the signal rests there for the hold time, as its mean.
///
/// It only listens. Give it the signal once a period and whether the machine is still as it must be: at rest, with
/// nothing permitted and every last gate closed. What no sound lever gives is refused by
/// [`AxisCalibration`], and nothing is found unless all of it was.
///
/// ```
/// use trunnion::quantity::{Millis, Period, Permille};
/// use trunnion_service::routine::{LeverCalibration, LeverCalibrationConfig};
/// use trunnion_service::served::Progress;
///
/// let permille = |raw| Permille::new(raw).unwrap();
/// let mut calibration = LeverCalibration::new(
///     LeverCalibrationConfig {
///         shortest_travel: permille(500),
///         off_centre: permille(150),
///         still: permille(10),
///         hold: Millis::millis(500),
///         time_out: Millis::millis(20_000),
///     },
///     Period::from_micros(10_000).unwrap(),
/// );
/// calibration.start();
/// for place in [4, -930, 980, 2] {
///     for _ in 0..51 {
///         calibration.step(Some(permille(place)), true);
///     }
/// }
/// assert_eq!(calibration.report().progress, Progress::Done);
/// let found = calibration.found().unwrap();
/// assert_eq!((found.low.raw(), found.centre.raw(), found.high.raw()), (-930, 3, 980));
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LeverCalibration {
    config: LeverCalibrationConfig,
    /// In periods.
    hold: u32,
    time_out: u32,
    progress: Progress,
    reason: RoutineReason,
    step: RoutineStep,
    elapsed: u32,
    /// Where the signal rests, since how many periods, and the sum of it there.
    anchor: i16,
    held: u32,
    sum: i64,
    /// Signal of the last period.
    seen: i16,
    first_centre: i16,
    measured: AxisMeasured,
}

impl LeverCalibration {
    /// At rest. What is implausible in the config shows when a lever is measured: everything is refused then.
    pub fn new(config: LeverCalibrationConfig, period: Period) -> Self {
        Self {
            config,
            hold: period.steps(config.hold).max(1),
            time_out: period.steps(config.time_out),
            progress: Progress::Idle,
            reason: RoutineReason::Nothing,
            step: RoutineStep::Nothing,
            elapsed: 0,
            anchor: 0,
            held: 0,
            sum: 0,
            seen: 0,
            first_centre: 0,
            measured: AxisMeasured::default(),
        }
    }

    /// Begins anew; what was found before is forgotten.
    pub fn start(&mut self) {
        self.progress = Progress::Running;
        self.reason = RoutineReason::Nothing;
        self.measured = AxisMeasured::default();
        self.go_on(RoutineStep::ReleaseLever);
    }

    /// It is under way.
    pub fn is_running(&self) -> bool {
        self.progress == Progress::Running
    }

    /// Ends it without a result, if it runs.
    pub fn stop(&mut self) {
        if self.progress == Progress::Running {
            self.progress = Progress::Idle;
            self.reason = RoutineReason::Stopped;
            self.step = RoutineStep::Nothing;
        }
    }

    /// One period: the raw signal of the axis if it is valid, and whether the machine is as it must be.
    pub fn step(&mut self, signal: Option<Permille>, undisturbed: bool) {
        if self.progress == Progress::Running {
            self.listen(signal, undisturbed);
        }
    }

    /// Seldom: kept out of the way of the period in which no routine runs.
    #[cold]
    #[inline(never)]
    fn listen(&mut self, signal: Option<Permille>, undisturbed: bool) {
        self.elapsed = self.elapsed.saturating_add(1);
        if !undisturbed {
            return self.fail(RoutineReason::Conditions);
        }
        let Some(signal) = signal else { return self.fail(RoutineReason::SignalLost) };
        if self.elapsed > self.time_out {
            return self.fail(RoutineReason::TimeOut);
        }
        self.seen = signal.raw();
        if !self.is_there() {
            self.held = 0;
            return;
        }
        if self.held == 0 || self.seen.saturating_sub(self.anchor).saturating_abs() > self.config.still.raw()
        {
            self.anchor = self.seen;
            self.held = 0;
            self.sum = 0;
        }
        self.held = self.held.saturating_add(1);
        self.sum = self.sum.saturating_add(self.seen.into());
        if self.held >= self.hold {
            self.take(mean(self.sum, self.held) as i16);
        }
    }

    /// How it is doing: the signal as it is and the centre as measured so far while it runs; low, centre and high when it is done.
    pub fn report(&self) -> RoutineReport {
        let found = match self.progress {
            Progress::Idle => [0; 3],
            Progress::Running => [self.seen, self.first_centre, 0],
            Progress::Done | Progress::Failed => {
                [self.measured.low.raw(), self.measured.centre.raw(), self.measured.high.raw()]
            }
        };
        RoutineReport { progress: self.progress, found, reason: self.reason, step: self.step }
    }

    /// What it found, once it ended well.
    pub fn found(&self) -> Option<AxisMeasured> {
        (self.progress == Progress::Done).then_some(self.measured)
    }

    /// The signal is where this step wants it: an end is beyond half of the shortest travel, a centre before it.
    fn is_there(&self) -> bool {
        let half = self.config.shortest_travel.raw() / 2;
        match self.step {
            RoutineStep::HoldNegativeEnd => self.seen < half.saturating_neg(),
            RoutineStep::HoldPositiveEnd => self.seen > half,
            _ => self.seen.saturating_abs() <= half,
        }
    }

    fn take(&mut self, place: i16) {
        let permille = Permille::saturating(place.into());
        match self.step {
            RoutineStep::ReleaseLever => {
                self.first_centre = place;
                self.measured.centre = permille;
                self.go_on(RoutineStep::HoldNegativeEnd);
            }
            RoutineStep::HoldNegativeEnd => {
                self.measured.low = permille;
                self.go_on(RoutineStep::HoldPositiveEnd);
            }
            RoutineStep::HoldPositiveEnd => {
                self.measured.high = permille;
                self.go_on(RoutineStep::ReleaseAgain);
            }
            _ => {
                let both = i64::from(place).saturating_add(self.first_centre.into());
                self.measured.centre = Permille::saturating(mean(both, 2));
                let apart = place.saturating_sub(self.first_centre).saturating_abs();
                match refused(&self.measured, &self.config) {
                    _ if apart > self.config.still.raw() => self.fail(RoutineReason::CentreNotHeld),
                    Some(reason) => self.fail(reason),
                    None => {
                        self.progress = Progress::Done;
                        self.step = RoutineStep::Nothing;
                    }
                }
            }
        }
    }

    const fn go_on(&mut self, step: RoutineStep) {
        self.step = step;
        self.elapsed = 0;
        self.held = 0;
        self.sum = 0;
    }

    const fn fail(&mut self, reason: RoutineReason) {
        self.progress = Progress::Failed;
        self.reason = reason;
        self.step = RoutineStep::Nothing;
    }
}

/// Why a lever axis would refuse these, if it would.
fn refused(measured: &AxisMeasured, config: &LeverCalibrationConfig) -> Option<RoutineReason> {
    let AxisMeasured { low, centre, high } = *measured;
    let LeverCalibrationConfig { shortest_travel, off_centre, .. } = *config;
    let overtravel = Permille::ZERO;
    let axis = AxisCalibrationConfig { low, centre, high, shortest_travel, off_centre, overtravel };
    match AxisCalibration::new(axis) {
        Ok(_) => None,
        Err(AxisCalibrationConfigError::LowTooNear { .. }) => Some(RoutineReason::NegativeEndTooNear),
        Err(AxisCalibrationConfigError::HighTooNear { .. }) => Some(RoutineReason::PositiveEndTooNear),
        Err(AxisCalibrationConfigError::CentreOffMiddle { .. }) => Some(RoutineReason::CentreOffMiddle),
        Err(_) => Some(RoutineReason::OutOfRange),
    }
}

#[cfg(test)]
mod tests;
