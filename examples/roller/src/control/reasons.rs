//! Why a function may not move.

use trunnion::declare::Reactions;
use trunnion::fault::FaultTable;
use trunnion::guard::{Reasons, StartReasons};

use crate::declaration::Fault;

trunnion::choices! {
    /// A condition that keeps a function from being permitted, in the order in which the operator is told.
    pub enum Reason {
        /// Nothing: it is permitted.
        Nothing = "nothing",
        /// The key is not in position "run".
        KeyOff = "key_off",
        /// The emergency stop is pressed.
        EmergencyStop = "emergency_stop",
        /// The coil supply is cut off.
        CoilSupplyCut = "coil_supply_cut",
        /// The start-up tests are not done.
        SelfTest = "self_test",
        /// A fault stops it.
        Fault = "fault",
        /// Supply voltage is too low.
        SupplyLow = "supply_low",
        /// The engine does not run.
        EngineStopped = "engine_stopped",
        /// No station commands: sit down and release all levers.
        NoStation = "no_station",
        /// The seat of the station in command is empty.
        SeatEmpty = "seat_empty",
        /// The command has just passed to this station.
        TakenOver = "taken_over",
        /// The park brake switch is on.
        ParkBrakeOn = "park_brake_on",
        /// Charge pressure is too low.
        ChargePressureLow = "charge_pressure_low",
        /// A controlled stop is under way and has to end first.
        Stopping = "stopping",
        /// A lever is not neutral, or was not for long enough.
        LeversNotNeutral = "levers_not_neutral",
        /// The operator has not asked for permission with the enable button.
        NotAskedFor = "press_enable",
        /// The drive is not permitted, so the drum may not vibrate.
        DriveNotPermitted = "drive_not_permitted",
        /// The vibration is not switched on.
        NotSwitchedOn = "not_switched_on",
        /// No amplitude is in force.
        NoAmplitude = "no_amplitude",
        /// The machine travels too slowly: the drum would vibrate on one spot.
        TooSlow = "too_slow",
        /// The machine travels too fast.
        TooFast = "too_fast",
    }
}

impl Reason {
    /// Its place in a set of reasons.
    pub const fn bit(self) -> u8 {
        self as u8
    }

    /// The set with this reason alone.
    pub const fn alone(self) -> Reasons {
        Reasons::none().with(self.bit())
    }

    /// The first reason of a set.
    pub fn first(set: Reasons) -> Self {
        let first = set.lowest().unwrap_or(0);
        Self::ALL.get(usize::from(first)).copied().unwrap_or_default()
    }
}

/// What drive and steering call the reasons that their groups find by themselves.
pub const START_REASONS: StartReasons = StartReasons {
    stopping: Reason::Stopping.bit(),
    not_neutral: Reason::LeversNotNeutral.bit(),
    not_asked: Reason::NotAskedFor.bit(),
};

/// Causes that the guard sees for itself and tells by their own name.
#[derive(Debug, Clone, Copy)]
pub struct Seen {
    /// The emergency stop is pressed.
    pub emergency_stop: bool,
    /// Supply is below its limit.
    pub supply_low: bool,
    /// Charge pressure is unknown or below its limit.
    pub charge_pressure_low: bool,
    /// No amplitude is in force.
    pub no_amplitude: bool,
}

/// Reactions of the active faults, without those whose cause is told already: one cause is one reason why not.
pub fn unexplained(faults: &FaultTable<Fault, { Fault::COUNT }>, seen: &Seen) -> Reactions {
    faults.reactions_untold(|fault| {
        let is = |candidates: &[Fault]| candidates.iter().any(|one| *one as u16 == fault);
        (seen.emergency_stop && is(&[Fault::EmergencyStop]))
            || (seen.supply_low && is(&[Fault::SupplyLow]))
            || (seen.charge_pressure_low && is(&[Fault::ChargePressureLow, Fault::ChargePressureSensor]))
            || (seen.no_amplitude && is(&[Fault::AmplitudeRocker]))
    })
}
