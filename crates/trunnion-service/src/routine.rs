//! Routines that measure while a person follows their steps, and what any routine says of itself.
//!
//! | block | what it measures |
//! |---|---|
//! | [`LeverCalibration`] | ends and centre of one lever axis |
//! | [`StraightLineLearn`] | what the faster side of a drive must get less |
//!
//! Neither drives anything. What they found is staged by the server, and takes effect with a commit like any write.

mod lever_calibration;
mod straight_line;

pub use lever_calibration::{AxisMeasured, LeverCalibration, LeverCalibrationConfig};
pub use straight_line::{DriveSeen, StraightLineConfig, StraightLineLearn, TrimFound, TrimInUse};

use crate::served::Progress;

trunnion::choices! {
    /// What the person is to do now.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum RoutineStep {
        /// Nothing.
        Nothing = "nothing",
        /// Let the lever go and leave it alone.
        ReleaseLever = "release_lever",
        /// Push the lever to the end of its negative travel, left or rearwards, and hold it there.
        HoldNegativeEnd = "hold_negative_end",
        /// Push the lever to the end of its positive travel, right or forward, and hold it there.
        HoldPositiveEnd = "hold_positive_end",
        /// Let the lever go once more.
        ReleaseAgain = "release_again",
        /// Drive forward, straight ahead, at a steady speed.
        DriveStraight = "drive_straight",
        /// Go on as now: it is being measured.
        KeepStraight = "keep_straight",
    }
}

trunnion::choices! {
    /// Why a routine did not end well. The raw values are those of the wire.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum RoutineReason {
        /// It did, or it never ran. While a routine runs, another reason is what keeps it from going on.
        Nothing = "nothing",
        /// It was stopped: asked, or because the tester fell silent.
        Stopped = "stopped",
        /// The machine did not stay as the routine needs it: at rest, neutral, permitted or not permitted.
        Conditions = "conditions",
        /// A step was not done in time.
        TimeOut = "time_out",
        /// What is measured has no valid signal.
        SignalLost = "signal_lost",
        /// The negative end lies too near to the centre.
        NegativeEndTooNear = "negative_end_too_near",
        /// The positive end lies too near to the centre.
        PositiveEndTooNear = "positive_end_too_near",
        /// The centre lies too far from the middle of the ends.
        CentreOffMiddle = "centre_off_middle",
        /// The lever does not come back to the same place.
        CentreNotHeld = "centre_not_held",
        /// What was measured is outside the declared range of a parameter.
        OutOfRange = "out_of_range",
        /// The drive ended before it was measured.
        TooShort = "too_short",
        /// Steering was touched.
        SteeringTouched = "steering_touched",
        /// The speed was not steady.
        Unsteady = "unsteady",
        /// The sides differ by more than a trim may take: look for the cause.
        BeyondTrim = "beyond_trim",
    }
}

/// What a routine says of itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RoutineReport {
    /// How it is doing.
    pub progress: Progress,
    /// What it found, or sees now: three numbers whose meaning is the routine's.
    pub found: [i16; 3],
    /// Why it did not end well.
    pub reason: RoutineReason,
    /// What the person is to do.
    pub step: RoutineStep,
}

impl RoutineReport {
    /// Bytes of a report in an answer.
    pub const BYTES: usize = 9;

    /// Progress, the three numbers with the high byte first, reason, step.
    ///
    /// ```
    /// use trunnion_service::routine::{RoutineReason, RoutineReport};
    /// use trunnion_service::served::Progress;
    ///
    /// let report = RoutineReport {
    ///     progress: Progress::Failed,
    ///     found: [-980, 3, 0],
    ///     reason: RoutineReason::TimeOut,
    ///     ..RoutineReport::default()
    /// };
    /// assert_eq!(report.to_bytes(), [3, 0xFC, 0x2C, 0, 3, 0, 0, 3, 0]);
    /// assert_eq!(RoutineReport::from_bytes(&report.to_bytes()), Some(report));
    /// ```
    pub const fn to_bytes(&self) -> [u8; Self::BYTES] {
        let [a, b, c] = self.found;
        let ([a0, a1], [b0, b1], [c0, c1]) = (a.to_be_bytes(), b.to_be_bytes(), c.to_be_bytes());
        [self.progress as u8, a0, a1, b0, b1, c0, c1, self.reason as u8, self.step as u8]
    }

    /// The report in these bytes; `None` when they are none.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let &[progress, a0, a1, b0, b1, c0, c1, reason, step] = bytes else { return None };
        Some(Self {
            progress: Progress::of(progress)?,
            found: [[a0, a1], [b0, b1], [c0, c1]].map(i16::from_be_bytes),
            reason: RoutineReason::ALL.get(usize::from(reason)).copied()?,
            step: RoutineStep::ALL.get(usize::from(step)).copied()?,
        })
    }
}

/// A sum over a count, to nearest, ties away from zero; zero of nothing.
fn mean(sum: i64, count: u32) -> i64 {
    let count = i64::from(count);
    let half = if sum < 0 { count.saturating_neg() } else { count };
    sum.saturating_mul(2).saturating_add(half).checked_div(count.saturating_mul(2)).unwrap_or(0)
}
