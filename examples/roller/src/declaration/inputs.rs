//! What the wiring and the bus bring, as drawing V84-E-200 has it.

use trunnion::declare::Wire;
use trunnion::quantity::Millivolts;

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
        /// Seat switch of the left station, closed while somebody sits.
        left_seat_occupied: bool = false, at "X2:2", Wire::SwitchToSupply;
        /// Seat switch of the right station, closed while somebody sits.
        right_seat_occupied: bool = false, at "X2:3", Wire::SwitchToSupply;
        /// Park brake switch, closed while the operator asks for the brake to be off.
        park_brake_off: bool = false, at "X2:4", Wire::SwitchToSupply;
        /// Emergency stop, first contact, closed while not pressed.
        emergency_stop_first: bool = false, at "X2:5", Wire::SwitchToSupply;
        /// Emergency stop, second contact, closed while not pressed.
        emergency_stop_second: bool = false, at "X2:6", Wire::SwitchToSupply;
        /// Enable button, closed while pressed.
        enable_button: bool = false, at "X2:7", Wire::SwitchToSupply;
        /// Vibration button, closed while pressed: on, and off again.
        vibration_button: bool = false, at "X2:8", Wire::SwitchToSupply;
        /// Amplitude rocker, contact for large amplitude.
        amplitude_high_contact: bool = false, at "X2:9", Wire::SwitchToSupply;
        /// Amplitude rocker, contact for small amplitude.
        amplitude_low_contact: bool = false, at "X2:10", Wire::SwitchToSupply;

        /// Charge pressure sensor, 0–4 MPa.
        charge_pressure_signal: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X3:2", Wire::Ratiometric;
        /// Engine speed pickup at the flywheel: edges, counted on.
        engine_pickup_edges: u16 = 0, at "X3:3", Wire::PulseCount;
        /// Engine speed pickup: time of the last edge in microseconds, counted on.
        engine_pickup_stamp: u32 = 0, at "X3:3", Wire::PulseStamp;
        /// Travel motor speed pickup: edges, counted on.
        travel_motor_edges: u16 = 0, at "X3:4", Wire::PulseCount;
        /// Travel motor speed pickup: time of the last edge in microseconds, counted on.
        travel_motor_stamp: u32 = 0, at "X3:4", Wire::PulseStamp;
        /// Travel motor direction, high while turning in reverse.
        travel_motor_reverse: bool = false, at "X3:5", Wire::SwitchToSupply;
        /// Eccentric shaft speed pickup in the drum: edges, counted on.
        eccentric_edges: u16 = 0, at "X3:6", Wire::PulseCount;
        /// Eccentric shaft speed pickup: time of the last edge in microseconds, counted on.
        eccentric_stamp: u32 = 0, at "X3:6", Wire::PulseStamp;

        /// Left drive lever, first sensor, rising forward.
        left_drive_first: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X7:1", Wire::Ratiometric;
        /// Left drive lever, second sensor, falling forward.
        left_drive_second: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X7:2", Wire::Ratiometric;
        /// Left steer lever, first sensor, rising to the right.
        left_steer_first: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X7:3", Wire::Ratiometric;
        /// Left steer lever, second sensor, falling to the right.
        left_steer_second: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X7:4", Wire::Ratiometric;
        /// Right drive lever, first sensor, rising forward.
        right_drive_first: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X8:1", Wire::Ratiometric;
        /// Right drive lever, second sensor, falling forward.
        right_drive_second: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X8:2", Wire::Ratiometric;
        /// Right steer lever, first sensor, rising to the right.
        right_steer_first: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X8:3", Wire::Ratiometric;
        /// Right steer lever, second sensor, falling to the right.
        right_steer_second: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X8:4", Wire::Ratiometric;

        /// Engine controller: data of the latest Electronic Engine Controller 1 message.
        engine_controller: u64 = u64::MAX, at "X5:1/2", Wire::Frame;
        /// Engine controller: Electronic Engine Controller 1 messages, counted on.
        engine_controller_count: u8 = 0, at "X5:1/2", Wire::FrameCount;

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
    ("X6:1/2", "Service port, CAN high/low, 250 kbit/s"),
    ("X7:5", "Left station: sensor supply and ground"),
    ("X8:5", "Right station: sensor supply and ground"),
];
