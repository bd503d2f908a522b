//! What the wiring and the bus bring, as drawing Q36-E-100 has it.

use trunnion::declare::Wire;
use trunnion::quantity::Millivolts;
use trunnion_service::work::WorkReport;

trunnion::signals! {
    /// Everything that the wiring and the bus bring in one period, as the hardware gives it.
    pub struct Inputs, pub enum Input {
        /// Controller supply.
        supply_voltage: Millivolts = Millivolts::ZERO, in 0..=36_000, at "X1:1", Wire::VoltageSense;
        /// Coil supply behind the cut-off relay, read back.
        coil_supply_read_back: Millivolts = Millivolts::ZERO, in 0..=36_000, at "X1:4", Wire::VoltageSense;
        /// 5 V sensor supply, sensed at the connector.
        sensor_supply: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X3:1", Wire::VoltageSense;

        /// Key switch, closed in position "run".
        key_on: bool = false, at "X2:1", Wire::SwitchToSupply;
        /// Work lock switch, closed while the operator has released the lock.
        lock_released: bool = false, at "X2:2", Wire::SwitchToSupply;
        /// Seat switch, closed while somebody sits.
        seat_occupied: bool = false, at "X2:3", Wire::SwitchToSupply;
        /// Restraint bar switch, closed while the bar is down.
        restraint_bar_down: bool = false, at "X2:4", Wire::SwitchToSupply;
        /// Park brake switch, closed while the operator asks for the brake to be off.
        park_brake_off: bool = false, at "X2:5", Wire::SwitchToSupply;
        /// Emergency stop, first contact, closed while not pressed.
        emergency_stop_first: bool = false, at "X2:6", Wire::SwitchToSupply;
        /// Emergency stop, second contact, closed while not pressed.
        emergency_stop_second: bool = false, at "X2:7", Wire::SwitchToSupply;
        /// Enable button, closed while pressed.
        enable_button: bool = false, at "X2:8", Wire::SwitchToSupply;
        /// Pattern rocker, contact for the H pattern.
        pattern_h_contact: bool = false, at "X2:9", Wire::SwitchToSupply;
        /// Pattern rocker, contact for the ISO pattern.
        pattern_iso_contact: bool = false, at "X2:10", Wire::SwitchToSupply;

        /// Charge pressure sensor, 0–4 MPa.
        charge_pressure_signal: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X3:2", Wire::Ratiometric;
        /// Hydraulic oil temperature sensor, -40–140 °C.
        oil_temperature_signal: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X3:3", Wire::Ratiometric;
        /// Hand throttle position sensor, low idle to high idle.
        hand_throttle_signal: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X3:4", Wire::Ratiometric;
        /// Engine speed pickup at the flywheel: edges, counted on.
        engine_pickup_edges: u16 = 0, at "X3:5", Wire::PulseCount;
        /// Engine speed pickup: time of the last edge in microseconds, counted on.
        engine_pickup_stamp: u32 = 0, at "X3:5", Wire::PulseStamp;
        /// Left motor speed pickup: edges, counted on.
        left_motor_edges: u16 = 0, at "X3:6", Wire::PulseCount;
        /// Left motor speed pickup: time of the last edge in microseconds, counted on.
        left_motor_stamp: u32 = 0, at "X3:6", Wire::PulseStamp;
        /// Left motor direction, high while turning in reverse.
        left_motor_reverse: bool = false, at "X3:7", Wire::SwitchToSupply;
        /// Right motor speed pickup: edges, counted on.
        right_motor_edges: u16 = 0, at "X3:8", Wire::PulseCount;
        /// Right motor speed pickup: time of the last edge in microseconds, counted on.
        right_motor_stamp: u32 = 0, at "X3:8", Wire::PulseStamp;
        /// Right motor direction, high while turning in reverse.
        right_motor_reverse: bool = false, at "X3:9", Wire::SwitchToSupply;

        /// Left lever: data of the latest Basic Joystick Message 1.
        left_lever_basic: u64 = u64::MAX, at "X5:1/2", Wire::Frame;
        /// Left lever: Basic Joystick Messages 1, counted on.
        left_lever_basic_count: u8 = 0, at "X5:1/2", Wire::FrameCount;
        /// Left lever: data of the latest Extended Joystick Message 1.
        left_lever_extended: u64 = u64::MAX, at "X5:1/2", Wire::Frame;
        /// Left lever: Extended Joystick Messages 1, counted on.
        left_lever_extended_count: u8 = 0, at "X5:1/2", Wire::FrameCount;
        /// Right lever: data of the latest Basic Joystick Message 1.
        right_lever_basic: u64 = u64::MAX, at "X5:1/2", Wire::Frame;
        /// Right lever: Basic Joystick Messages 1, counted on.
        right_lever_basic_count: u8 = 0, at "X5:1/2", Wire::FrameCount;
        /// Right lever: data of the latest Extended Joystick Message 1.
        right_lever_extended: u64 = u64::MAX, at "X5:1/2", Wire::Frame;
        /// Right lever: Extended Joystick Messages 1, counted on.
        right_lever_extended_count: u8 = 0, at "X5:1/2", Wire::FrameCount;
        /// Engine controller: data of the latest Electronic Engine Controller 1 message.
        engine_controller: u64 = u64::MAX, at "X5:1/2", Wire::Frame;
        /// Engine controller: Electronic Engine Controller 1 messages, counted on.
        engine_controller_count: u8 = 0, at "X5:1/2", Wire::FrameCount;

        /// First frame of this period for the station on the bus: identifier and length (0 without one).
        bus_in_1_head: u64 = 0;
        /// Its bytes.
        bus_in_1_data: u64 = 0;
        /// Second frame of this period for the station on the bus: identifier and length (0 without one).
        bus_in_2_head: u64 = 0;
        /// Its bytes.
        bus_in_2_data: u64 = 0;
        /// Third frame of this period for the station on the bus: identifier and length (0 without one).
        bus_in_3_head: u64 = 0;
        /// Its bytes.
        bus_in_3_data: u64 = 0;
        /// Fourth frame of this period for the station on the bus: identifier and length (0 without one).
        bus_in_4_head: u64 = 0;
        /// Its bytes.
        bus_in_4_data: u64 = 0;
        /// Fifth frame of this period for the station on the bus: identifier and length (0 without one).
        bus_in_5_head: u64 = 0;
        /// Its bytes.
        bus_in_5_data: u64 = 0;
        /// Sixth frame of this period for the station on the bus: identifier and length (0 without one).
        bus_in_6_head: u64 = 0;
        /// Its bytes.
        bus_in_6_data: u64 = 0;
        /// Seventh frame of this period for the station on the bus: identifier and length (0 without one).
        bus_in_7_head: u64 = 0;
        /// Its bytes.
        bus_in_7_data: u64 = 0;
        /// Eighth frame of this period for the station on the bus: identifier and length (0 without one).
        bus_in_8_head: u64 = 0;
        /// Its bytes.
        bus_in_8_data: u64 = 0;
        /// Frames for the station that the board's queue could not hold, counted on.
        bus_lost: u8 = 0;
        /// The bus controller has left the bus after too many errors and waits to come back.
        bus_off: bool = false;
        /// Bits from the hardware's noise source.
        entropy: u32 = 0;
        /// What the board says of the work that is ordered.
        work_report: WorkReport = WorkReport::Nothing;
        /// The number of the order that it speaks of.
        work_report_number: u8 = 0;
        /// What that order asked for: see the kinds of work.
        work_report_item: u64 = 0;

        /// Control periods that the shell could not keep since the last one.
        missed_periods: u8 = 0;
    }
}

/// Connections that carry no single signal: pins and what they are.
pub const PORTS: &[(&str, &str)] = &[
    ("X1:2", "Ground"),
    ("X1:3", "Coil supply, before the cut-off relay"),
    ("X3:10", "Sensor ground"),
    ("X5:1/2", "Machine bus, CAN high/low, 250 kbit/s (SAE J1939-11)"),
    ("X6:1/2", "Service port: the machine bus, brought out for a tester"),
];
