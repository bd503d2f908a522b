//! What a person is told while a routine runs, and when it has ended.

use trunnion_service::routine::{RoutineReason, RoutineStep};

/// What to do in this step.
pub const fn prompt(step: RoutineStep) -> &'static str {
    match step {
        RoutineStep::Nothing => "Nothing to do.",
        RoutineStep::ReleaseLever => "Let the lever go and leave it alone.",
        RoutineStep::HoldNegativeEnd => "Push the lever to its left or rear end, and hold it there.",
        RoutineStep::HoldPositiveEnd => "Push the lever to its right or front end, and hold it there.",
        RoutineStep::ReleaseAgain => "Let the lever go once more and leave it alone.",
        RoutineStep::DriveStraight => {
            "Drive forward, straight ahead on level ground, at a steady speed; do not touch the steering."
        }
        RoutineStep::KeepStraight => "Go on just so: it is being measured.",
    }
}

/// Why it did not end well, and what to do.
pub const fn why(reason: RoutineReason) -> (&'static str, &'static str) {
    match reason {
        RoutineReason::Nothing => ("no reason was given", "begin again"),
        RoutineReason::Stopped => ("it was stopped, or this tool was not heard", "begin again"),
        RoutineReason::Conditions => (
            "the machine did not stay as it must be: at rest, released, permitted or not",
            "see `unit show` for what is not permitted and why",
        ),
        RoutineReason::TimeOut => {
            ("a step was not done in time", "begin again, and do what is asked at once")
        }
        RoutineReason::SignalLost => {
            ("what is measured has no valid signal", "see `unit faults`; mend it before anything is learnt")
        }
        RoutineReason::NegativeEndTooNear => (
            "the left or rear end lies too near to the centre",
            "push the lever to its very end; if it was there, change the lever",
        ),
        RoutineReason::PositiveEndTooNear => (
            "the right or front end lies too near to the centre",
            "push the lever to its very end; if it was there, change the lever",
        ),
        RoutineReason::CentreOffMiddle => (
            "the centre lies too far from the middle of the ends",
            "let the lever go when asked; if it was released, change the lever",
        ),
        RoutineReason::CentreNotHeld => (
            "the lever does not come back to the same place",
            "let it go when asked; if it was released, its spring or sensor is worn",
        ),
        RoutineReason::OutOfRange => (
            "what was measured is outside the range of its parameter",
            "change the lever, or calibrate the right one",
        ),
        RoutineReason::TooShort => {
            ("the drive ended before it was measured", "drive on for three seconds or more")
        }
        RoutineReason::SteeringTouched => ("steering was touched", "move the drive lever only"),
        RoutineReason::Unsteady => {
            ("the speed was not steady", "choose level ground and hold the lever still")
        }
        RoutineReason::BeyondTrim => (
            "the sides differ by more than a trim may take",
            "look for the cause first: pump currents, pickups, a dragging brake",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn every_step_and_every_reason_has_words_of_its_own() {
        let prompts: HashSet<_> = RoutineStep::ALL.iter().map(|step| prompt(*step)).collect();
        assert_eq!(prompts.len(), RoutineStep::ALL.len());
        let reasons: HashSet<_> = RoutineReason::ALL.iter().map(|reason| why(*reason).0).collect();
        assert_eq!(reasons.len(), RoutineReason::ALL.len());
        assert!(RoutineReason::ALL.iter().all(|reason| !why(*reason).1.is_empty()));
    }
}
