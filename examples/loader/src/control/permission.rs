//! Who may move: conditions, neutral start, stops and last gates of the three groups.

use trunnion::declare::Refusal;
use trunnion::guard::{
    GateState, LastGate, LastGateConfig, NeutralStart, NeutralStartConfig, NeutralStartInputs, Reasons,
    StartPhase,
};
use trunnion::quantity::Milliamps;

use super::levers::Wanted;
use super::reasons::{Reason, StopKind};
use super::self_test::SelfTestState;
use super::sensing::Sensed;
use super::{PERIOD, contradiction};
use crate::declaration::faults::{CUT, STOP_AUXILIARY, STOP_DRIVE, STOP_WORK};
use crate::declaration::{Parameter, Parameters};
use trunnion::declare::Reactions;

/// What decides over one group in one period.
#[derive(Debug, Clone, Copy)]
struct GroupInputs {
    reasons: Reasons,
    immediate: Reasons,
    neutral: bool,
    new_frame: bool,
    ask: bool,
    ask_required: bool,
}

/// Permission of one group.
#[derive(Debug, Clone, Copy)]
pub struct Permission {
    /// It may move.
    pub permitted: bool,
    /// How it is being stopped.
    pub stop: StopKind,
    /// Where its neutral start stands.
    pub phase: StartPhase,
    /// All conditions that must change before it may move.
    pub why_not: Reasons,
}

/// Neutral start, stop and last gate of one group.
#[derive(Debug, Clone)]
struct Group {
    start: NeutralStart,
    gate: LastGate,
    stop: StopKind,
}

impl Group {
    fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        Ok(Self {
            start: NeutralStart::new(neutral_start(parameters), PERIOD).map_err(|_| refuse(parameters))?,
            gate: LastGate::new(last_gate(parameters), PERIOD)
                .map_err(|_| contradiction(parameters, Parameter::decay_time, "is shorter than a period"))?,
            stop: StopKind::None,
        })
    }

    fn step(&mut self, inputs: &GroupInputs) -> Permission {
        let was_permitted = self.start.phase() == StartPhase::Permitted;
        let stopping = self.stop == StopKind::Controlled;
        let reasons = inputs.reasons.with_if(Reason::Stopping.bit(), stopping);
        let phase = self.start.step(NeutralStartInputs {
            conditions: reasons.is_empty(),
            neutral: inputs.neutral,
            new_frame: inputs.new_frame,
            ask: inputs.ask,
            ask_required: inputs.ask_required,
        });
        let permitted = phase == StartPhase::Permitted;
        self.stop = if permitted {
            StopKind::None
        } else if !reasons.intersection(inputs.immediate).is_empty() {
            StopKind::Immediate
        } else if was_permitted {
            StopKind::Controlled
        } else {
            self.stop
        };
        let why_not = if permitted { Reasons::none() } else { self.why_not(reasons, inputs.neutral) };
        Permission { permitted, stop: self.stop, phase, why_not }
    }

    /// The smallest set: each of these has to change, and nothing else has to.
    fn why_not(&self, reasons: Reasons, neutral: bool) -> Reasons {
        let held = !neutral || self.start.phase() == StartPhase::NotNeutral;
        reasons
            .with_if(Reason::LeversNotNeutral.bit(), held)
            .with_if(Reason::NotAskedFor.bit(), self.start.must_ask())
    }

    /// After the ramps: the gate is open while permitted, and in a controlled stop until the ramp is at zero.
    fn gate(&mut self, permission: &Permission, ramp_at_zero: bool, measured: Milliamps) -> GateState {
        if self.stop == StopKind::Controlled && ramp_at_zero {
            self.stop = StopKind::None;
        }
        let open = permission.permitted || self.stop == StopKind::Controlled;
        self.gate.step(open, measured)
    }
}

fn neutral_start(parameters: &Parameters) -> NeutralStartConfig {
    NeutralStartConfig { hold: parameters.neutral_hold(), frames: parameters.neutral_frames() }
}

fn last_gate(parameters: &Parameters) -> LastGateConfig {
    LastGateConfig { decay: parameters.decay_time(), stray: parameters.stray_current() }
}

fn refuse(parameters: &Parameters) -> Refusal {
    contradiction(parameters, Parameter::neutral_hold, "is shorter than a period")
}

/// Permissions of all groups.
#[derive(Debug, Clone, Copy)]
pub struct Permissions {
    /// Both sides of the drive.
    pub drive: Permission,
    /// Boom and bucket.
    pub work: Permission,
    /// Auxiliary.
    pub auxiliary: Permission,
}

/// Last gates of all groups.
#[derive(Debug, Clone, Copy)]
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
    pub self_test: SelfTestState,
    /// Supply is above its limit for permission.
    pub supply_good: bool,
    /// Charge pressure is known and above its limit.
    pub charge_good: bool,
}

/// The guard room of the loader.
#[derive(Debug, Clone)]
pub struct Guard {
    drive: Group,
    work: Group,
    auxiliary: Group,
    started: bool,
}

impl Guard {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        Ok(Self {
            drive: Group::new(parameters)?,
            work: Group::new(parameters)?,
            auxiliary: Group::new(parameters)?,
            started: false,
        })
    }

    /// Takes new parameters; permissions are kept.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        for group in [&mut self.drive, &mut self.work, &mut self.auxiliary] {
            group.start.reconfigure(neutral_start(parameters)).map_err(|_| refuse(parameters))?;
        }
        Ok(())
    }

    /// Third hop: may each group move, and why not.
    pub fn step(&mut self, sensed: &Sensed, wanted: &Wanted, about: &Circumstances) -> Permissions {
        let common = common_reasons(sensed, wanted, about);
        let drive_only = Reasons::none()
            .with_if(Reason::ParkBrakeOn.bit(), !sensed.park_brake_off)
            .with_if(Reason::ChargePressureLow.bit(), !about.charge_good)
            .with_if(Reason::Fault.bit(), about.unexplained.has(STOP_DRIVE));
        // The operator must ask after power-up, key and emergency stop, whenever seat or bar were open, and when the
        // pattern was lost: the one that comes in force is a new one.
        let ask_required = !self.started
            || !sensed.key_on
            || !sensed.seat_occupied
            || !sensed.restraint_bar_down
            || sensed.emergency_stop
            || wanted.pattern.active.is_none();
        self.started = true;
        let shared = |reasons: Reasons, immediate, neutral, new_frame| GroupInputs {
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
            drive: self.drive.step(&shared(
                common.union(drive_only),
                immediate_for_drive(),
                wanted.drive_neutral,
                wanted.drive_frame,
            )),
            work: self.work.step(&shared(
                common.union(work_fault),
                immediate_for_work(),
                wanted.work_neutral,
                wanted.work_frame,
            )),
            auxiliary: self.auxiliary.step(&shared(
                common.union(auxiliary_fault),
                immediate_for_work(),
                wanted.auxiliary_neutral,
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
        .with_if(Reason::SelfTest.bit(), about.self_test != SelfTestState::Done)
        .with_if(Reason::SupplyLow.bit(), !about.supply_good)
        .with_if(Reason::EngineStopped.bit(), !sensed.engine_runs)
        .with_if(Reason::Locked.bit(), !sensed.lock_released)
        .with_if(Reason::BarUp.bit(), !sensed.restraint_bar_down)
        .with_if(Reason::SeatOpen.bit(), !sensed.seat_occupied)
        .with_if(Reason::NoPattern.bit(), wanted.pattern.active.is_none())
        .with_if(Reason::PatternRequest.bit(), wanted.pattern.changed || wanted.pattern.dropped)
}

fn immediate_for_drive() -> Reasons {
    Reason::EmergencyStop.alone().with(Reason::KeyOff.bit()).with(Reason::CoilSupplyCut.bit())
}

fn immediate_for_work() -> Reasons {
    immediate_for_drive().with(Reason::BarUp.bit()).with(Reason::SeatOpen.bit())
}
