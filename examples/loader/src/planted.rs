//! Plausible mistakes of a control program, one of which may be switched on to see whether the hunt finds it.
//!
//! Without the feature `planted`, which no image has, nothing of this is compiled: every question whether a defect is
//! in is `false` before the compiler looks at it.

/// Whether a defect is in the program.
#[cfg(feature = "planted")]
macro_rules! planted {
    ($defect:ident) => {
        $crate::planted::is_in($crate::planted::Defect::$defect)
    };
}

/// Whether a defect is in the program: none is.
#[cfg(not(feature = "planted"))]
macro_rules! planted {
    ($defect:ident) => {
        false
    };
}

pub(crate) use planted;

#[cfg(feature = "planted")]
pub use chosen::{Defect, choose, is_in};

#[cfg(feature = "planted")]
mod chosen {
    use core::sync::atomic::{AtomicU8, Ordering};

    macro_rules! defects {
        ($($name:ident $id:literal caught by $requirement:literal: $sentence:literal;)*) => {
            /// A mistake. The control program keeps its other lines.
            #[derive(Debug, Clone, Copy, PartialEq, Eq)]
            #[repr(u8)]
            pub enum Defect {
                $(#[doc = $sentence] $name,)*
            }

            impl Defect {
                /// All of them.
                pub const ALL: &'static [Self] = &[$(Self::$name),*];

                /// Its name on the command line.
                pub const fn id(self) -> &'static str {
                    match self { $(Self::$name => $id),* }
                }

                /// What is wrong, in a sentence.
                pub const fn sentence(self) -> &'static str {
                    match self { $(Self::$name => $sentence),* }
                }

                /// The requirement that should catch it.
                pub const fn requirement(self) -> &'static str {
                    match self { $(Self::$name => $requirement),* }
                }
            }
        };
    }

    defects! {
        PatternChangeKeepsPermission "pattern-change-keeps-permission" caught by "R-10": "A pattern change does not withdraw the permission: the neutral start after it is skipped";
        PatternWhileRolling "pattern-while-rolling" caught by "R-26": "The pattern changes as soon as levers are neutral, whether or not the machine stands";
        SteerFollowsCommand "steer-follows-command" caught by "R-27": "The reversal of steering in reverse is taken from the lever, not from the ramp's output";
        ReverseSteerSign "reverse-steer-sign" caught by "R-28": "In reverse the steer's sign is turned once too often";
        StopAsksTheLever "stop-asks-the-lever" caught by "R-29": "The end of a stop is taken from the command, which is zero at once, not from the ramp";
        StopRampBypassed "stop-ramp-bypassed" caught by "R-29": "Below a third of full speed a stop drops the command at once";
        NeutralByDeadband "neutral-by-deadband" caught by "R-06": "The neutral start takes for neutral whatever the deadband swallows";
        LeverTimeOutBackwards "lever-time-out-backwards" caught by "R-30": "The lever's time-out is compared the wrong way: a silent lever keeps its last position";
        DipClearsLatch "dip-clears-latch" caught by "R-06": "A dip of the supply withdraws the permission and gives it back by itself";
        ReverseCoilsSwapped "reverse-coils-swapped" caught by "R-31": "The two reverse coils are swapped";
        BucketCoilsSwapped "bucket-coils-swapped" caught by "R-31": "Curl and dump coil are swapped";
        BrakeBeforeCharge "brake-before-charge" caught by "R-32": "The drive is permitted and the brake lifted without looking at charge pressure";
        ShiftWhileTurning "shift-while-turning" caught by "R-33": "The two-speed range is engaged whatever the machine turns";
        ShiftDownAtSpeed "shift-down-at-speed" caught by "R-34": "The two-speed range is left at any speed";
        DeadbandNotRescaled "deadband-not-rescaled" caught by "R-35": "The intent jumps to the deadband's width at its edge";
        ShareStaysLow "share-stays-low" caught by "R-36": "The drive's share is reduced when the engine droops, and not given back";
        SeatDelayTooLong "seat-delay-too-long" caught by "R-08": "The seat may be open for twice the seat delay";
        SeatDelayBackwards "seat-delay-backwards" caught by "R-37": "Set and clear time of the seat's debounce are exchanged";
        SeatForgottenForWork "seat-forgotten-for-work" caught by "R-08": "Boom and bucket do not look at the seat";
        BarForgottenForAuxiliary "bar-forgotten-for-auxiliary" caught by "R-09": "The auxiliary does not look at the restraint bar";
        StandstillAtOnce "standstill-at-once" caught by "R-38": "The machine counts as standing as soon as its ramps are at zero";
        StandstillOneSide "standstill-one-side" caught by "R-38": "Standstill looks at the left motor only";
        WorkGateLeftOpen "work-gate-left-open" caught by "R-09": "The last gate of boom and bucket does not close for an immediate stop";
        FirstContactOnly "first-contact-only" caught by "R-19": "Only the first contact of the emergency stop is read";
        KeyOffKeepsSupply "key-off-keeps-supply" caught by "R-19": "The key does not cut the coil supply";
        CrankWithLeverHeld "crank-with-lever-held" caught by "R-12": "The starter turns whatever the levers do";
        AlarmOnStraightOnly "alarm-on-straight-only" caught by "R-14": "The reverse alarm wants both sides in reverse";
        ReverseMaximumIgnored "reverse-maximum-ignored" caught by "R-39": "Reverse is limited by the forward maximum";
        TrimOnWrongSide "trim-on-wrong-side" caught by "R-40": "The trim of the left side is taken from the right one";
        FloatOutlivesPermission "float-outlives-permission" caught by "R-41": "Float does not look at the permission";
        ContinuousResumes "continuous-resumes" caught by "R-42": "The continuous auxiliary flow comes back by itself with the permission";
        AskForgottenAfterSeat "ask-forgotten-after-seat" caught by "R-43": "After the seat was left permission comes back without the enable button";
        WheelNotWatched "wheel-not-watched" caught by "R-22": "The auxiliary's neutral start looks at the lever, not at its thumb-wheel";
        ColdShareUnsafe "cold-share-unsafe" caught by "R-44": "Without an oil temperature the drive runs as if the oil were warm";
    }

    const NONE: u8 = u8::MAX;
    static CHOSEN: AtomicU8 = AtomicU8::new(NONE);

    /// Puts a defect into every loader of this process, or takes it out again.
    pub fn choose(defect: Option<Defect>) {
        CHOSEN.store(defect.map_or(NONE, |defect| defect as u8), Ordering::Relaxed);
    }

    /// Whether a defect is in.
    pub fn is_in(defect: Defect) -> bool {
        CHOSEN.load(Ordering::Relaxed) == defect as u8
    }
}
