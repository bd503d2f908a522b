use trunnion::quantity::{Millis, Period, Permille, Rpm};

use super::{RoutineReason, RoutineReport, RoutineStep, mean};
use crate::served::Progress;

/// What a straight drive must be like to be learnt from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StraightLineConfig {
    /// How long the speed must have been steady before it is measured.
    pub settle: Millis,
    /// How long it is measured.
    pub measure: Millis,
    /// How long the operator may take before it is measured.
    pub time_out: Millis,
    /// Slowest motor speed of either side that says something.
    pub slowest: Rpm,
    /// How far the sum of both speeds may wander, as a share of it.
    pub steady: Permille,
    /// The most that a trim may take.
    pub most: Permille,
}

/// What is seen of the drive in one period.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DriveSeen {
    /// The drive may move: permission, and whatever else the machine asks for.
    pub permitted: bool,
    /// The operator asks to go forward.
    pub forward: bool,
    /// The operator asks to turn, however little.
    pub steered: bool,
    /// Speed of the left motor, if it is known; negative in reverse.
    pub left: Option<Rpm>,
    /// Speed of the right motor.
    pub right: Option<Rpm>,
}

/// The trims that the drive runs with while it is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TrimInUse {
    /// What the left side gets less.
    pub left: Permille,
    /// What the right side gets less.
    pub right: Permille,
}

/// What was learnt: one of both is zero.
pub type TrimFound = TrimInUse;

/// Learns the straight-line trim: over a straight drive forward it compares the speeds of both sides, each as it would
/// be without its present trim, and proposes what the faster one must get less, to the nearest thousandth.
///
/// It only looks on: the operator drives, and every guard of the machine stays in force. It takes for granted that a
/// side's speed goes with its command, as it does with calibrated thresholds; on firm ground the tyres hide part of the
/// difference, so that it is learnt again until nothing changes. Steering, a speed that wanders, a drive
/// that ends too early and sides that differ by more than a trim may take are refused, each with its reason.
///
/// ```
/// use trunnion::quantity::{Millis, Period, Permille, Rpm};
/// use trunnion_service::routine::{DriveSeen, StraightLineConfig, StraightLineLearn, TrimInUse};
///
/// let permille = |raw| Permille::new(raw).unwrap();
/// let config = StraightLineConfig {
///     settle: Millis::millis(500),
///     measure: Millis::millis(2_000),
///     time_out: Millis::millis(30_000),
///     slowest: Rpm::from_whole(100),
///     steady: permille(100),
///     most: permille(200),
/// };
/// let mut learn = StraightLineLearn::new(config, Period::from_micros(10_000).unwrap());
/// learn.start(TrimInUse::default());
/// let (left, right) = (Some(Rpm::from_whole(1_000)), Some(Rpm::from_whole(950)));
/// for _ in 0..251 {
///     learn.step(&DriveSeen { permitted: true, forward: true, steered: false, left, right });
/// }
/// assert_eq!(learn.found(), Some(TrimInUse { left: permille(50), right: Permille::ZERO }));
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StraightLineLearn {
    config: StraightLineConfig,
    /// In periods.
    settle: u32,
    measure: u32,
    time_out: u32,
    progress: Progress,
    reason: RoutineReason,
    step: RoutineStep,
    elapsed: u32,
    in_use: TrimInUse,
    /// Sum of both speeds when it began to be steady, and periods since.
    reference: i64,
    steady: u32,
    sums: [i64; 2],
    found: TrimFound,
    /// Left faster than right by so much of the faster, in thousandths, as measured.
    difference: i16,
}

impl StraightLineLearn {
    /// At rest.
    pub fn new(config: StraightLineConfig, period: Period) -> Self {
        Self {
            config,
            settle: period.steps(config.settle),
            measure: period.steps(config.measure).max(1),
            time_out: period.steps(config.time_out),
            progress: Progress::Idle,
            reason: RoutineReason::Nothing,
            step: RoutineStep::Nothing,
            elapsed: 0,
            in_use: TrimInUse::default(),
            reference: 0,
            steady: 0,
            sums: [0; 2],
            found: TrimFound::default(),
            difference: 0,
        }
    }

    /// Begins anew, with the trims that are in use.
    pub const fn start(&mut self, in_use: TrimInUse) {
        self.progress = Progress::Running;
        self.reason = RoutineReason::Nothing;
        self.step = RoutineStep::DriveStraight;
        self.elapsed = 0;
        self.in_use = in_use;
        self.steady = 0;
        self.found = TrimFound { left: Permille::ZERO, right: Permille::ZERO };
        self.difference = 0;
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

    /// One period.
    pub fn step(&mut self, seen: &DriveSeen) {
        if self.progress == Progress::Running {
            self.look(seen);
        }
    }

    /// Seldom: kept out of the way of the period in which no routine runs.
    #[cold]
    #[inline(never)]
    fn look(&mut self, seen: &DriveSeen) {
        self.elapsed = self.elapsed.saturating_add(1);
        if !seen.permitted {
            return self.fail(RoutineReason::Conditions);
        }
        let (Some(left), Some(right)) = (seen.left, seen.right) else {
            return self.fail(RoutineReason::SignalLost);
        };
        let speeds = [left, right].map(|speed| i64::from(speed.raw()));
        let objection = self.objection(seen, speeds);
        if self.step == RoutineStep::KeepStraight {
            match objection {
                Some(reason) => self.fail(reason),
                None => self.measure(speeds),
            }
        } else {
            self.wait(objection, speeds);
        }
    }

    /// How it is doing: found trims of the left and right side, and by how much the left side was faster, in
    /// thousandths.
    pub const fn report(&self) -> RoutineReport {
        RoutineReport {
            progress: self.progress,
            found: [self.found.left.raw(), self.found.right.raw(), self.difference],
            reason: self.reason,
            step: self.step,
        }
    }

    /// What it learnt, once it ended well.
    pub fn found(&self) -> Option<TrimFound> {
        (self.progress == Progress::Done).then_some(self.found)
    }

    /// Why this period is none to learn from.
    fn objection(&self, seen: &DriveSeen, speeds: [i64; 2]) -> Option<RoutineReason> {
        let slowest = i64::from(self.config.slowest.raw());
        let [left, right] = speeds;
        if seen.steered {
            return Some(RoutineReason::SteeringTouched);
        }
        if !seen.forward || left < slowest || right < slowest {
            return Some(RoutineReason::TooShort);
        }
        let wandered = left.saturating_add(right).saturating_sub(self.reference).saturating_abs();
        let allowed = self.reference.saturating_mul(self.config.steady.raw().into());
        (wandered.saturating_mul(1000) > allowed).then_some(RoutineReason::Unsteady)
    }

    /// Before it is measured an objection only begins the wait anew; the last one is told meanwhile, and when the time is
    /// over.
    fn wait(&mut self, objection: Option<RoutineReason>, speeds: [i64; 2]) {
        match objection {
            None => self.steady = self.steady.saturating_add(1),
            Some(reason) => {
                let [left, right] = speeds;
                self.reference = left.saturating_add(right);
                self.steady = 0;
                // Standing still is no mistake yet.
                self.reason = if reason == RoutineReason::TooShort { RoutineReason::Nothing } else { reason };
            }
        }
        if self.steady >= self.settle {
            self.step = RoutineStep::KeepStraight;
            self.reason = RoutineReason::Nothing;
            self.elapsed = 0;
            self.sums = [0; 2];
        } else if self.elapsed > self.time_out {
            let reason =
                if self.reason == RoutineReason::Nothing { RoutineReason::TimeOut } else { self.reason };
            self.fail(reason);
        }
    }

    fn measure(&mut self, speeds: [i64; 2]) {
        for (sum, speed) in self.sums.iter_mut().zip(speeds) {
            *sum = sum.saturating_add(speed);
        }
        if self.elapsed < self.measure {
            return;
        }
        let [left, right] = self.sums;
        self.difference = share_of_faster(left, right);
        // Without their trims, each made larger by what the other one keeps: the ratio is the same.
        let keeps = |trim: Permille| 1000_i64.saturating_sub(trim.raw().into());
        let untrimmed = share_of_faster(
            left.saturating_mul(keeps(self.in_use.right)),
            right.saturating_mul(keeps(self.in_use.left)),
        );
        if untrimmed.saturating_abs() > self.config.most.raw() {
            return self.fail(RoutineReason::BeyondTrim);
        }
        let (left, right) = (untrimmed.max(0), untrimmed.min(0).saturating_neg());
        let permille = |raw: i16| Permille::saturating(raw.into());
        self.found = TrimFound { left: permille(left), right: permille(right) };
        self.progress = Progress::Done;
        self.step = RoutineStep::Nothing;
    }

    const fn fail(&mut self, reason: RoutineReason) {
        self.progress = Progress::Failed;
        self.reason = reason;
        self.step = RoutineStep::Nothing;
    }
}

/// By how much the left is larger than the right, in thousandths of the larger one, both above zero.
fn share_of_faster(left: i64, right: i64) -> i16 {
    let faster = left.max(right);
    // A share of thousandths fits; the count of a mean is 32 bits wide, so both are brought down to it first.
    let scale = faster.checked_div(1 << 30).unwrap_or(0).saturating_add(1);
    let faster = faster.checked_div(scale).unwrap_or(0);
    let apart = left.saturating_sub(right).checked_div(scale).unwrap_or(0);
    mean(apart.saturating_mul(1000), faster.max(0) as u32) as i16
}

#[cfg(test)]
mod tests;
