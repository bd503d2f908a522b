//! Why a group may not move, and how it is stopped.

use serde::{Deserialize, Serialize};
use trunnion::declare::Reactions;
use trunnion::fault::FaultTable;
use trunnion::guard::Reasons;

use crate::declaration::Fault;

trunnion::choices! {
    /// A condition that keeps a group from being permitted, in the order in which the operator is told.
    pub enum Reason {
        /// Nothing: the group is permitted.
        Nothing = "nothing",
        /// The key is not in position "run".
        KeyOff = "key_off",
        /// The emergency stop is pressed.
        EmergencyStop = "emergency_stop",
        /// The coil supply is cut off.
        CoilSupplyCut = "coil_supply_cut",
        /// The start-up tests are not done.
        SelfTest = "self_test",
        /// A fault stops this group.
        Fault = "fault",
        /// Supply voltage is too low.
        SupplyLow = "supply_low",
        /// The engine does not run.
        EngineStopped = "engine_stopped",
        /// The work lock is on.
        Locked = "locked",
        /// The restraint bar is up.
        BarUp = "restraint_bar_up",
        /// The seat is empty.
        SeatOpen = "seat_open",
        /// The park brake switch is on.
        ParkBrakeOn = "park_brake_on",
        /// Charge pressure is too low.
        ChargePressureLow = "charge_pressure_low",
        /// A tester calibrates a lever.
        LeverCalibration = "lever_calibration",
        /// No lever pattern is in force.
        NoPattern = "no_pattern",
        /// The pattern changes or was asked to.
        PatternRequest = "pattern_request",
        /// A controlled stop is under way and has to end first.
        Stopping = "stopping",
        /// A lever of the group is not neutral, or was not for long enough.
        LeversNotNeutral = "levers_not_neutral",
        /// The operator has not asked for permission with the enable button.
        NotAskedFor = "press_enable",
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

/// Causes that the guard sees for itself and tells by their own name.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Seen {
    /// The emergency stop is pressed.
    pub emergency_stop: bool,
    /// Supply is below its limit.
    pub supply_low: bool,
    /// Charge pressure is unknown or below its limit.
    pub charge_pressure_low: bool,
    /// No pattern is in force.
    pub no_pattern: bool,
}

impl Seen {
    /// The cause of this fault is among them. Seldom: kept out of the way of the period without a fault.
    #[cold]
    #[inline(never)]
    fn tells(&self, fault: u16) -> bool {
        let is = |candidates: &[Fault]| candidates.iter().any(|one| *one as u16 == fault);
        (self.emergency_stop && is(&[Fault::EmergencyStop]))
            || (self.supply_low && is(&[Fault::SupplyLow]))
            || (self.charge_pressure_low
                && is(&[Fault::ChargePressureLow, Fault::ChargePressureSensor, Fault::SensorSupply]))
            || (self.no_pattern && is(&[Fault::PatternRocker]))
    }
}

/// Reactions of the active faults, without those whose cause is told already: one cause is one reason why not.
pub fn unexplained(faults: &FaultTable<Fault, { Fault::COUNT }>, seen: &Seen) -> Reactions {
    faults.reactions_untold(|fault| seen.tells(fault))
}
