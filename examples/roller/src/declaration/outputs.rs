//! What the controller drives.

use trunnion::declare::Wire;
use trunnion::valve::CoilReport;

trunnion::signals! {
    /// On-off outputs; the default of each is its safe state.
    pub struct Outputs, pub enum Output {
        /// Coil supply cut-off relay: on feeds the coils.
        coil_supply: bool = false, at "X1:5", Wire::SwitchedOutput;
        /// Start interlock relay: on lets the starter turn.
        start_permit: bool = false, at "X1:6", Wire::SwitchedOutput;
        /// Park brake valve: on lets charge pressure lift the spring brake.
        park_brake_valve: bool = false, at "X4:30", Wire::SwitchedOutput;
        /// Reverse alarm.
        reverse_alarm: bool = false, at "X2:20", Wire::SwitchedOutput;
        /// Status lamp on the panel.
        status_lamp: bool = false, at "X2:21", Wire::SwitchedOutput;
        /// Lamp of the left station: on while its levers count, blinking while it waits for them to be released.
        left_station_lamp: bool = false, at "X2:22", Wire::SwitchedOutput;
        /// Lamp of the right station: on while its levers count, blinking while it waits for them to be released.
        right_station_lamp: bool = false, at "X2:23", Wire::SwitchedOutput;
        /// Vibration lamp: on while the drum is driven to vibrate, blinking while it is switched on and waits.
        vibration_lamp: bool = false, at "X2:24", Wire::SwitchedOutput;
    }
}

trunnion::coils! {
    /// The proportional coils.
    pub enum Coil, pub struct SetPoints, pub struct FastInputs, pub struct FastOutputs {
        /// Drive pump, forward.
        drive_forward: "X4:1", sense "X4:2";
        /// Drive pump, reverse.
        drive_reverse: "X4:3", sense "X4:4";
        /// Steering spool, to the left.
        steer_left: "X4:5", sense "X4:6";
        /// Steering spool, to the right.
        steer_right: "X4:7", sense "X4:8";
        /// Vibration pump, the way that gives large amplitude.
        vibration_high: "X4:9", sense "X4:10";
        /// Vibration pump, the way that gives small amplitude.
        vibration_low: "X4:11", sense "X4:12";
    }
}

/// What the fast loop tells of each coil, in their order.
pub type CoilReports = [CoilReport; Coil::COUNT];
