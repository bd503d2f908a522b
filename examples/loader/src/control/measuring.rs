//! Routines that measure while the operator moves a lever or drives: they drive nothing.

use serde::{Deserialize, Serialize};
use trunnion::guard::GateState;
use trunnion::lever::LeverPattern;
use trunnion::quantity::{Millis, Permille, Ratio, Rpm};
use trunnion::ramp::MotionPhase;
use trunnion::sense::Reading;
use trunnion_service::routine::{
    DriveSeen, LeverCalibration, LeverCalibrationConfig, RoutineReport, StraightLineConfig,
    StraightLineLearn, TrimInUse,
};
use trunnion_service::served::Learnt;

use super::PERIOD;
use super::drive::DriveCommand;
use super::levers::{OFF_CENTRE, Received, SHORTEST_TRAVEL, Wanted};
use super::permission::{Gates, Permissions};
use super::sensing::Sensed;
use crate::declaration::Parameter;

/// Calibration of the first lever axis; the others follow in the order of [`LeverAxis`].
pub const FIRST_CALIBRATION: u16 = 0x0320;
/// Straight-line learn.
pub const STRAIGHT_LINE: u16 = 0x0330;

const CALIBRATION: LeverCalibrationConfig = LeverCalibrationConfig {
    shortest_travel: SHORTEST_TRAVEL,
    off_centre: OFF_CENTRE,
    // A lever sends whole thousandths; a hand that holds one against its end trembles by a few.
    still: Permille::saturating(20),
    hold: Millis::from_ticks(800),
    time_out: Millis::from_ticks(20_000),
};

const STRAIGHT: StraightLineConfig = StraightLineConfig {
    settle: Millis::from_ticks(1_000),
    measure: Millis::from_ticks(2_000),
    time_out: Millis::from_ticks(30_000),
    slowest: Rpm::from_whole(100),
    steady: Permille::saturating(60),
    most: Permille::saturating(200),
};

/// Least command of both sides that counts as a drive.
const LEAST_COMMAND: Ratio = match Ratio::from_permille(300) {
    Some(command) => command,
    None => Ratio::ONE,
};

/// How far two levers of the H pattern may be apart and still mean straight ahead.
const TOGETHER: Ratio = match Ratio::from_permille(20) {
    Some(apart) => apart,
    None => Ratio::ZERO,
};

/// An axis that can be calibrated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[repr(u8)]
pub enum LeverAxis {
    /// Left lever, sideways.
    LeftX,
    /// Left lever, fore and aft.
    LeftY,
    /// Right lever, sideways.
    RightX,
    /// Right lever, fore and aft.
    RightY,
    /// Thumb-wheel of the right lever.
    RightWheel,
}

impl LeverAxis {
    /// All, in the order of their routines.
    pub const ALL: [Self; 5] = [Self::LeftX, Self::LeftY, Self::RightX, Self::RightY, Self::RightWheel];

    /// Its calibration routine.
    pub const fn routine(self) -> u16 {
        FIRST_CALIBRATION + self as u16
    }

    /// Its three parameters: negative end, centre, positive end.
    pub const fn parameters(self) -> [Parameter; 3] {
        use Parameter::*;
        match self {
            Self::LeftX => [left_lever_x_low, left_lever_x_centre, left_lever_x_high],
            Self::LeftY => [left_lever_y_low, left_lever_y_centre, left_lever_y_high],
            Self::RightX => [right_lever_x_low, right_lever_x_centre, right_lever_x_high],
            Self::RightY => [right_lever_y_low, right_lever_y_centre, right_lever_y_high],
            Self::RightWheel => [right_wheel_low, right_wheel_centre, right_wheel_high],
        }
    }

    fn of(routine: u16) -> Option<Self> {
        Self::ALL.into_iter().find(|axis| axis.routine() == routine)
    }

    /// What the lever sends, before any calibration.
    fn signal(self, received: &Received) -> Option<Permille> {
        let (left, right) = (&received.left, &received.right);
        let (position, fresh) = match self {
            Self::LeftX => (left.x, left.fresh),
            Self::LeftY => (left.y, left.fresh),
            Self::RightX => (right.x, right.fresh),
            Self::RightY => (right.y, right.fresh),
            Self::RightWheel => (right.wheel, right.wheel_fresh),
        };
        fresh.then_some(position.to_permille())
    }
}

/// All stages of a period that a measurement looks at.
pub struct Watched<'a> {
    /// The motor speeds.
    pub sensed: &'a Sensed,
    /// The levers.
    pub received: &'a Received,
    /// What the operator wants.
    pub wanted: &'a Wanted,
    /// Who may move.
    pub permissions: &'a Permissions,
    /// What passes to the coils.
    pub gates: &'a Gates,
    /// The drive.
    pub drive: &'a DriveCommand,
    /// Machine, boom, bucket and auxiliary rest.
    pub at_rest: bool,
}

impl Watched<'_> {
    /// Nothing moves and nothing may.
    fn is_withheld(&self) -> bool {
        self.at_rest && is_withheld(self.permissions, Some(self.gates))
    }

    fn drive(&self) -> DriveSeen {
        let intent = &self.wanted.intent;
        let steered = match self.wanted.pattern.active {
            Some(LeverPattern::H) => intent.left_side.minus(intent.right_side).magnitude() > TOGETHER,
            _ => !intent.steer.is_zero(),
        };
        let known = |speed: Reading<Rpm>| match speed {
            Reading::Valid(speed) => Some(speed),
            Reading::Faulted(_) => None,
        };
        DriveSeen {
            permitted: self.permissions.drive.permitted,
            forward: self.drive.ramp.mean() > LEAST_COMMAND && self.drive.phase == MotionPhase::Holding,
            steered,
            left: known(self.sensed.left_motor),
            right: known(self.sensed.right_motor),
        }
    }
}

/// Nothing is permitted and every last gate is closed.
pub(super) fn is_withheld(permissions: &Permissions, gates: Option<&Gates>) -> bool {
    let permitted =
        permissions.drive.permitted || permissions.work.permitted || permissions.auxiliary.permitted;
    let closed = gates.is_some_and(|gates| {
        [gates.drive, gates.work, gates.auxiliary].iter().all(|gate| *gate == GateState::Closed)
    });
    !permitted && closed
}

/// The measurements of the loader, and which of them is or was the last.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Measuring {
    axis: Option<LeverAxis>,
    lever: LeverCalibration,
    straight: StraightLineLearn,
}

impl Measuring {
    /// None was ever started.
    pub fn idle() -> Self {
        Self {
            axis: None,
            lever: LeverCalibration::new(CALIBRATION, PERIOD),
            straight: StraightLineLearn::new(STRAIGHT, PERIOD),
        }
    }

    /// Begins a routine, if it is one of these, with the trims in use; another one ends.
    pub fn start(&mut self, routine: u16, trims: TrimInUse) {
        *self = Self::idle();
        self.axis = LeverAxis::of(routine);
        if self.axis.is_some() {
            self.lever.start();
        } else if routine == STRAIGHT_LINE {
            self.straight.start(trims);
        }
    }

    /// Ends what runs, without a result.
    pub fn stop(&mut self) {
        self.lever.stop();
        self.straight.stop();
    }

    /// A lever is being calibrated: nothing may be permitted.
    pub fn calibrates(&self) -> bool {
        self.lever.is_running()
    }

    /// One period.
    pub fn step(&mut self, watched: &Watched<'_>) {
        if let Some(axis) = self.axis.filter(|_| self.lever.is_running()) {
            self.lever.step(axis.signal(watched.received), watched.is_withheld());
        } else if self.straight.is_running() {
            self.straight.step(&watched.drive());
        }
    }

    /// How the last one is doing.
    pub fn report(&self) -> RoutineReport {
        if self.axis.is_some() { self.lever.report() } else { self.straight.report() }
    }

    /// What the last one has learnt, once it ended well.
    pub fn learnt(&self) -> Learnt {
        let value = |parameter: Parameter, value: Permille| Some((parameter.id(), i32::from(value.raw())));
        if let (Some(axis), Some(found)) = (self.axis, self.lever.found()) {
            let [low, centre, high] = axis.parameters();
            return [value(low, found.low), value(centre, found.centre), value(high, found.high)];
        }
        match self.straight.found() {
            Some(found) => {
                [value(Parameter::left_trim, found.left), value(Parameter::right_trim, found.right), None]
            }
            None => [None; 3],
        }
    }
}
