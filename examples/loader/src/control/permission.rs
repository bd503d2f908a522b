//! Who may move: conditions, neutral start, stops and last gates of the three groups.

use serde::{Deserialize, Serialize};
use trunnion::declare::{Reactions, Refusal};
use trunnion::guard::{
    GateState, LastGateConfig, NeutralStartConfig, Permission, PermissionGroup, PermissionGroupConfig,
    PermissionGroupInputs, Reasons, StartReasons,
};
use trunnion::quantity::Milliamps;
use trunnion::valve::StartUpState;

use super::PERIOD;
use super::levers::Wanted;
use super::reasons::Reason;
use super::sensing::Sensed;
use crate::declaration::faults::{CUT, STOP_AUXILIARY, STOP_DRIVE, STOP_WORK};
use crate::declaration::{Parameter, Parameters};
use crate::planted::planted;

fn group(parameters: &Parameters) -> PermissionGroupConfig {
    PermissionGroupConfig {
        start: NeutralStartConfig { hold: parameters.neutral_hold(), frames: parameters.neutral_frames() },
        gate: LastGateConfig { decay: parameters.decay_time(), stray: parameters.stray_current() },
        reasons: StartReasons {
            stopping: Reason::Stopping.bit(),
            not_neutral: Reason::LeversNotNeutral.bit(),
            not_asked: Reason::NotAskedFor.bit(),
        },
    }
}

fn refuse(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::neutral_hold, "is shorter than a period")
}

/// Permissions of all groups.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Permissions {
    /// Both sides of the drive.
    pub drive: Permission,
    /// Boom and bucket.
    pub work: Permission,
    /// Auxiliary.
    pub auxiliary: Permission,
}

/// Last gates of all groups.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Gates {
    /// Both sides of the drive.
    pub drive: GateState,
    /// Boom and bucket.
    pub work: GateState,
    /// Auxiliary.
    pub auxiliary: GateState,
}

/// What the guard room looks at beside senses and levers.
#[derive(Debug, Clone, Copy)]
pub struct Circumstances {
    /// Reactions of the active faults that no other reason tells already.
    pub unexplained: Reactions,
    /// Start-up tests.
    pub self_test: StartUpState,
    /// Supply is above its limit for permission.
    pub supply_good: bool,
    /// Charge pressure is known and above its limit.
    pub charge_good: bool,
    /// A lever is being calibrated: what it does is no wish.
    pub calibrating: bool,
}

/// The guard room of the loader.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Guard {
    drive: PermissionGroup,
    work: PermissionGroup,
    auxiliary: PermissionGroup,
    started: bool,
}

impl Guard {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let group = PermissionGroup::new(group(parameters), PERIOD).map_err(|_| refuse(parameters))?;
        Ok(Self { drive: group, work: group, auxiliary: group, started: false })
    }

    /// Takes new parameters; permissions are kept.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        for permission in [&mut self.drive, &mut self.work, &mut self.auxiliary] {
            permission.reconfigure(group(parameters)).map_err(|_| refuse(parameters))?;
        }
        Ok(())
    }

    /// Third hop: may each group move, and why not.
    pub fn step(&mut self, sensed: &Sensed, wanted: &Wanted, about: &Circumstances) -> Permissions {
        let common = common_reasons(sensed, wanted, about);
        let seat_forgotten = planted!(SeatForgottenForWork);
        let (work_common, auxiliary_common) = (
            if seat_forgotten { common.without(Reason::SeatOpen.bit()) } else { common },
            if planted!(BarForgottenForAuxiliary) { common.without(Reason::BarUp.bit()) } else { common },
        );
        let drive_only = Reasons::none()
            .with_if(Reason::ParkBrakeOn.bit(), !sensed.park_brake_off)
            .with_if(Reason::ChargePressureLow.bit(), !about.charge_good)
            .with_if(Reason::Fault.bit(), about.unexplained.has(STOP_DRIVE));
        // The operator must ask after power-up, key and emergency stop, whenever seat or bar were open, and when the
        // pattern was lost: the one that comes in force is a new one. A lever that was calibrated was moved for no wish.
        let ask_required = !self.started
            || !sensed.key_on
            || (!sensed.seat_occupied && !planted!(AskForgottenAfterSeat))
            || !sensed.restraint_bar_down
            || sensed.emergency_stop
            || about.calibrating
            || wanted.pattern.active.is_none();
        self.started = true;
        let shared = |reasons: Reasons, immediate, neutral, new_frame| PermissionGroupInputs {
            reasons,
            immediate,
            neutral,
            new_frame,
            ask: sensed.ask,
            ask_required,
        };
        let work_fault = Reasons::none().with_if(Reason::Fault.bit(), about.unexplained.has(STOP_WORK));
        let auxiliary_fault =
            Reasons::none().with_if(Reason::Fault.bit(), about.unexplained.has(STOP_AUXILIARY));
        Permissions {
            drive: self.drive.step(shared(
                common.union(drive_only),
                immediate_for_drive(),
                wanted.drive_neutral || (planted!(NeutralByDeadband) && wanted.intent.drive.is_zero()),
                wanted.drive_frame,
            )),
            work: self.work.step(shared(
                work_common.union(work_fault),
                immediate_for_work(),
                wanted.work_neutral,
                wanted.work_frame,
            )),
            auxiliary: self.auxiliary.step(shared(
                auxiliary_common.union(auxiliary_fault),
                immediate_for_work(),
                wanted.auxiliary_neutral || (planted!(WheelNotWatched) && wanted.work_neutral),
                wanted.auxiliary_frame,
            )),
        }
    }

    /// Last hop: what passes to the coils after the valve room.
    pub fn gates(
        &mut self,
        permissions: &Permissions,
        ramps_at_zero: [bool; 3],
        measured: [Milliamps; 3],
    ) -> Gates {
        let [drive_zero, work_zero, auxiliary_zero] = ramps_at_zero;
        let [drive, work, auxiliary] = measured;
        Gates {
            drive: self.drive.gate(&permissions.drive, drive_zero, drive),
            work: self.work.gate(&permissions.work, work_zero, work),
            auxiliary: self.auxiliary.gate(&permissions.auxiliary, auxiliary_zero, auxiliary),
        }
    }
}

fn common_reasons(sensed: &Sensed, wanted: &Wanted, about: &Circumstances) -> Reasons {
    Reasons::none()
        .with_if(Reason::KeyOff.bit(), !sensed.key_on)
        .with_if(Reason::EmergencyStop.bit(), sensed.emergency_stop)
        .with_if(Reason::CoilSupplyCut.bit(), about.unexplained.has(CUT))
        .with_if(Reason::SelfTest.bit(), about.self_test != StartUpState::Done)
        .with_if(Reason::SupplyLow.bit(), !about.supply_good && !planted!(DipClearsLatch))
        .with_if(Reason::EngineStopped.bit(), !sensed.engine_runs)
        .with_if(Reason::Locked.bit(), !sensed.lock_released)
        .with_if(Reason::BarUp.bit(), !sensed.restraint_bar_down)
        .with_if(Reason::SeatOpen.bit(), !sensed.seat_occupied)
        .with_if(Reason::LeverCalibration.bit(), about.calibrating)
        .with_if(Reason::NoPattern.bit(), wanted.pattern.active.is_none())
        .with_if(
            Reason::PatternRequest.bit(),
            (wanted.pattern.changed && !planted!(PatternChangeKeepsPermission)) || wanted.pattern.dropped,
        )
}

fn immediate_for_drive() -> Reasons {
    Reason::EmergencyStop.alone().with(Reason::KeyOff.bit()).with(Reason::CoilSupplyCut.bit())
}

fn immediate_for_work() -> Reasons {
    immediate_for_drive().with(Reason::BarUp.bit()).with(Reason::SeatOpen.bit())
}
