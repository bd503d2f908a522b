//! The end of a period: rest and park brake, on-off outputs, what the next period has to know.

use trunnion::guard::ParkBrakeInputs;
use trunnion::quantity::Milliamps;

use super::drive::DriveCommand;
use super::levers::{Received, Wanted};
use super::monitoring::LastPeriod;
use super::panel::PanelInputs;
use super::permission::{Gates, Permissions};
use super::sensing::Sensed;
use super::{Control, NO_CURRENT};
use crate::declaration::faults::CUT;
use crate::declaration::{Coil, Outputs, SetPoints};
use crate::planted::planted;

impl Control {
    /// Finds the machine at rest, and releases or applies the park brake.
    pub(super) fn rest(
        &mut self,
        sensed: &Sensed,
        permissions: &Permissions,
        drive: &DriveCommand,
        current: Milliamps,
    ) -> bool {
        let commands_zero = self.drive.at_zero() && drive.sides.is_zero() && current <= NO_CURRENT;
        let right = if planted!(StandstillOneSide) { sensed.left_motor } else { sensed.right_motor };
        self.at_rest = self.standstill.step(commands_zero, sensed.left_motor, right)
            || (planted!(StandstillAtOnce) && self.drive.at_zero());
        self.park_brake.step(ParkBrakeInputs {
            permitted: permissions.drive.permitted,
            charge_pressure_good: !self.monitoring.charge_lost(sensed) || planted!(BrakeBeforeCharge),
            standstill: self.at_rest,
        });
        if !self.last.coil_supply {
            // Its valve is fed by the coil supply.
            self.park_brake.reset();
        }
        self.park_brake.released()
    }

    pub(super) fn outputs(
        &mut self,
        sensed: &Sensed,
        received: &Received,
        wanted: &Wanted,
        permissions: &Permissions,
        drive: &DriveCommand,
        brake_released: bool,
    ) -> Outputs {
        let cut = self.faults.reactions().has(CUT)
            || sensed.emergency_stop
            || (!sensed.key_on && !planted!(KeyOffKeepsSupply));
        self.panel.step(&PanelInputs {
            coil_supply: self.self_test.supply_on() && !cut,
            brake_released,
            two_speed: drive.two_speed,
            crank: sensed.key_on
                && !sensed.emergency_stop
                && sensed.engine_stands
                && ((received.left.neutral && received.right.neutral && received.right.wheel_neutral)
                    || planted!(CrankWithLeverHeld))
                && !brake_released,
            travel: drive.sides.mean(),
            left_motor: sensed.left_motor,
            right_motor: sensed.right_motor,
            fault_code: self.faults.blink(),
            permitted: permissions.drive.permitted && permissions.work.permitted,
            why_not: permissions.drive.why_not.union(permissions.work.why_not),
            pattern: wanted.pattern.active.unwrap_or_default(),
            pattern_mismatch: wanted.pattern.mismatch,
        })
    }

    pub(super) fn remember(
        &mut self,
        sensed: &Sensed,
        outputs: &Outputs,
        gates: &Gates,
        drive: &DriveCommand,
        currents: [Milliamps; Coil::COUNT],
    ) {
        self.last = LastPeriod {
            coil_supply: outputs.coil_supply,
            start_permit: outputs.start_permit,
            gates: Some(*gates),
            left: drive.sides.left,
            right: drive.sides.right,
            asked: currents,
        };
        self.set_points = SetPoints { supply: sensed.coil_supply, ..SetPoints::from_currents(currents) };
        self.periods = self.periods.saturating_add(1);
    }
}
