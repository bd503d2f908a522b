//! What the controller drives.

use trunnion::declare::Wire;
use trunnion::valve::CoilReport;
use trunnion_service::work::WorkKind;

trunnion::signals! {
    /// On-off outputs, and what goes to the bus and the board; the default of each is its safe state.
    pub struct Outputs, pub enum Output {
        /// Coil supply cut-off relay: on feeds the coils.
        coil_supply: bool = false, at "X1:5", Wire::SwitchedOutput;
        /// Park brake valve: on lets charge pressure lift the spring brake.
        park_brake_valve: bool = false, at "X4:30", Wire::SwitchedOutput;
        /// Two-speed valve: on puts both motors to small displacement.
        two_speed_valve: bool = false, at "X4:31", Wire::SwitchedOutput;
        /// Start interlock relay: on lets the starter turn.
        start_permit: bool = false, at "X1:6", Wire::SwitchedOutput;
        /// Reverse alarm.
        reverse_alarm: bool = false, at "X2:20", Wire::SwitchedOutput;
        /// Status lamp on the panel.
        status_lamp: bool = false, at "X2:21", Wire::SwitchedOutput;
        /// Lamp of the H pattern: on while it is in force, blinking while the rocker says otherwise.
        pattern_h_lamp: bool = false, at "X2:22", Wire::SwitchedOutput;
        /// Lamp of the ISO pattern: on while it is in force, blinking while the rocker says otherwise.
        pattern_iso_lamp: bool = false, at "X2:23", Wire::SwitchedOutput;

        /// First frame to send: identifier and length (0 without one).
        bus_out_1_head: u64 = 0;
        /// Its bytes.
        bus_out_1_data: u64 = 0;
        /// Second frame to send: identifier and length (0 without one).
        bus_out_2_head: u64 = 0;
        /// Its bytes.
        bus_out_2_data: u64 = 0;
        /// Third frame to send: identifier and length (0 without one).
        bus_out_3_head: u64 = 0;
        /// Its bytes.
        bus_out_3_data: u64 = 0;
        /// Fourth frame to send: identifier and length (0 without one).
        bus_out_4_head: u64 = 0;
        /// Its bytes.
        bus_out_4_data: u64 = 0;
        /// Slow work that the board is to do.
        work_kind: WorkKind = WorkKind::Nothing;
        /// The number of this order.
        work_number: u8 = 0;
        /// What the order is about: see the kinds of work.
        work_place: u8 = 0;
        /// What the order is about: see the kinds of work.
        work_item: u64 = 0;
    }
}

trunnion::coils! {
    /// The proportional coils.
    pub enum Coil, pub struct SetPoints, pub struct FastInputs, pub struct FastOutputs {
        /// Left pump, forward.
        left_pump_forward: "X4:1", sense "X4:2";
        /// Left pump, reverse.
        left_pump_reverse: "X4:3", sense "X4:4";
        /// Right pump, forward.
        right_pump_forward: "X4:5", sense "X4:6";
        /// Right pump, reverse.
        right_pump_reverse: "X4:7", sense "X4:8";
        /// Boom, raise.
        boom_raise: "X4:9", sense "X4:10";
        /// Boom, lower.
        boom_lower: "X4:11", sense "X4:12";
        /// Boom, float: moves the boom spool into its fourth position.
        boom_float: "X4:13", sense "X4:14";
        /// Bucket, curl.
        bucket_curl: "X4:15", sense "X4:16";
        /// Bucket, dump.
        bucket_dump: "X4:17", sense "X4:18";
        /// Auxiliary, flow to coupling A.
        auxiliary_a: "X4:19", sense "X4:20";
        /// Auxiliary, flow to coupling B.
        auxiliary_b: "X4:21", sense "X4:22";
    }
}

/// What the fast loop tells of each coil, in their order.
pub type CoilReports = [CoilReport; Coil::COUNT];
