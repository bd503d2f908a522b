//! Who may move: conditions, neutral start, stops and last gates of drive and steering.

use trunnion::declare::{Reactions, Refusal};
use trunnion::guard::{
    LastGateConfig, NeutralStartConfig, Permission, PermissionGroup, PermissionGroupConfig,
    PermissionGroupInputs, Reasons,
};
use trunnion::valve::StartUpState;

use super::PERIOD;
use super::reasons::{Reason, START_REASONS};
use super::sensing::Sensed;
use super::stations::{Station, Wanted};
use crate::declaration::faults::{
    CUT, LEFT_DRIVE, LEFT_STEER, RIGHT_DRIVE, RIGHT_STEER, STOP_DRIVE, STOP_STEER,
};
use crate::declaration::{Parameter, Parameters};

/// Permissions of drive and steering.
#[derive(Debug, Clone, Copy)]
pub struct Permissions {
    /// The drive.
    pub drive: Permission,
    /// The steering.
    pub steer: Permission,
}

/// What the guard room looks at beside senses and stations.
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
    /// The machine was found at rest.
    pub at_rest: bool,
}

/// The guard room of the roller.
#[derive(Debug, Clone)]
pub struct Guard {
    /// The drive, with its last gate.
    pub drive: PermissionGroup,
    /// The steering, with its last gate.
    pub steer: PermissionGroup,
    started: bool,
}

/// The last gate of every group.
pub fn last_gate(parameters: &Parameters) -> LastGateConfig {
    LastGateConfig { decay: parameters.decay_time(), stray: parameters.stray_current() }
}

fn group(parameters: &Parameters) -> PermissionGroupConfig {
    PermissionGroupConfig {
        // A wired lever is read anew in every period: one says as much as three.
        start: NeutralStartConfig { hold: parameters.neutral_hold(), frames: 1 },
        gate: last_gate(parameters),
        reasons: START_REASONS,
    }
}

fn refuse(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::neutral_hold, "is shorter than a period")
}

impl Guard {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let group = PermissionGroup::new(group(parameters), PERIOD).map_err(|_| refuse(parameters))?;
        Ok(Self { drive: group, steer: group, started: false })
    }

    /// Takes new parameters; permissions are kept.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        self.drive.reconfigure(group(parameters)).map_err(|_| refuse(parameters))?;
        self.steer.reconfigure(group(parameters)).map_err(|_| refuse(parameters))
    }

    /// Third hop: may drive and steering move, and why not.
    pub fn step(&mut self, sensed: &Sensed, wanted: &Wanted, about: &Circumstances) -> Permissions {
        // The operator must ask after power-up, key and emergency stop, whenever the seat was empty, and when another
        // station took over.
        let ask_required = !self.started
            || !sensed.key_on
            || sensed.emergency_stop
            || !wanted.seat_occupied
            || wanted.station.changed;
        self.started = true;
        let shared = |reasons, neutral| PermissionGroupInputs {
            reasons,
            immediate: IMMEDIATE,
            neutral,
            new_frame: true,
            ask: sensed.ask,
            ask_required,
        };
        Permissions {
            drive: self.drive.step(shared(drive_reasons(sensed, wanted, about), wanted.drive_neutral)),
            steer: self.steer.step(shared(steer_reasons(sensed, wanted, about), wanted.steer_neutral)),
        }
    }
}

/// What stops at once instead of along a ramp.
pub const IMMEDIATE: Reasons =
    Reason::EmergencyStop.alone().with(Reason::KeyOff.bit()).with(Reason::CoilSupplyCut.bit());

fn common_reasons(sensed: &Sensed, wanted: &Wanted, about: &Circumstances) -> Reasons {
    Reasons::none()
        .with_if(Reason::KeyOff.bit(), !sensed.key_on)
        .with_if(Reason::EmergencyStop.bit(), sensed.emergency_stop)
        .with_if(Reason::CoilSupplyCut.bit(), about.unexplained.has(CUT))
        .with_if(Reason::SelfTest.bit(), about.self_test != StartUpState::Done)
        .with_if(Reason::SupplyLow.bit(), !about.supply_good)
        .with_if(Reason::NoStation.bit(), wanted.station.in_command.is_none())
        .with_if(Reason::TakenOver.bit(), wanted.station.changed)
}

fn drive_reasons(sensed: &Sensed, wanted: &Wanted, about: &Circumstances) -> Reasons {
    common_reasons(sensed, wanted, about)
        .with_if(Reason::EngineStopped.bit(), !sensed.engine_runs)
        .with_if(Reason::SeatEmpty.bit(), !wanted.seat_occupied)
        .with_if(Reason::ParkBrakeOn.bit(), !sensed.park_brake_off)
        .with_if(Reason::ChargePressureLow.bit(), !about.charge_good)
        .with_if(Reason::Fault.bit(), stops(about, wanted, STOP_DRIVE, [LEFT_DRIVE, RIGHT_DRIVE]))
}

/// While the machine rolls it must be steered, whatever stops it. At rest nobody may be caught in the joint: an empty seat
/// closes the steering.
fn steer_reasons(sensed: &Sensed, wanted: &Wanted, about: &Circumstances) -> Reasons {
    common_reasons(sensed, wanted, about)
        .with_if(Reason::SeatEmpty.bit(), !wanted.seat_occupied && about.at_rest)
        .with_if(Reason::Fault.bit(), stops(about, wanted, STOP_STEER, [LEFT_STEER, RIGHT_STEER]))
}

/// A fault of the machine stops it, a fault of a station only while that station commands.
fn stops(about: &Circumstances, wanted: &Wanted, machine: Reactions, stations: [Reactions; 2]) -> bool {
    let [left, right] = stations;
    about.unexplained.has(machine)
        || match Station::of(wanted.station.in_command) {
            Station::None => false,
            Station::Left => about.unexplained.has(left),
            Station::Right => about.unexplained.has(right),
        }
}
