//! Every internal point that an engineer would look at, named as the control program names it.

use trunnion::guard::{GateState, StartPhase, StopKind};
use trunnion::propel::SinglePathState;
use trunnion::quantity::{Kilopascals, Milliamps, Ratio, Rpm};
use trunnion::ramp::{MotionPhase, MotionState};
use trunnion::sense::Health;
use trunnion::valve::StartUpState;

use crate::control::reasons::Reason;
use crate::control::stations::Station;
use crate::control::vibration::Amplitude;

trunnion::signals! {
    /// The internal points of the last period.
    pub struct Diagnostics, pub enum Diagnostic {
        /// Engine speed from the pickup.
        engine_speed: Rpm = Rpm::ZERO;
        /// Engine speed from the bus.
        engine_speed_bus: Rpm = Rpm::ZERO;
        /// Travel motor speed, negative in reverse.
        travel_motor_speed: Rpm = Rpm::ZERO;
        /// Speed of the eccentric shaft.
        eccentric_speed: Rpm = Rpm::ZERO;
        /// Charge pressure.
        charge_pressure: Kilopascals = Kilopascals::ZERO;

        /// Left drive lever, forward positive, as read and found valid.
        left_drive_lever: Ratio = Ratio::ZERO;
        /// Health of the left drive lever.
        left_drive_health: Health = Health::Unknown;
        /// Left steer lever, right positive.
        left_steer_lever: Ratio = Ratio::ZERO;
        /// Health of the left steer lever.
        left_steer_health: Health = Health::Unknown;
        /// Right drive lever, forward positive.
        right_drive_lever: Ratio = Ratio::ZERO;
        /// Health of the right drive lever.
        right_drive_health: Health = Health::Unknown;
        /// Right steer lever, right positive.
        right_steer_lever: Ratio = Ratio::ZERO;
        /// Health of the right steer lever.
        right_steer_health: Health = Health::Unknown;
        /// The station whose levers count.
        station: Station = Station::None;
        /// The station that waits for all levers to be released.
        station_waiting: Station = Station::None;
        /// All levers of both stations are released; those of the other station may be known to be broken.
        all_neutral: bool = false;
        /// All levers of both stations are released or known to be broken: the command may pass.
        may_hand_over: bool = false;
        /// Drive asked for by the station in command.
        drive_intent: Ratio = Ratio::ZERO;
        /// Steer asked for by the station in command, right positive.
        steer_intent: Ratio = Ratio::ZERO;
        /// The drive lever in command is neutral.
        drive_neutral: bool = false;
        /// The steer lever in command is neutral.
        steer_neutral: bool = false;

        /// What the start-up tests have come to.
        self_test: StartUpState = StartUpState::CutOff;
        /// Drive is permitted.
        permission_drive: bool = false;
        /// Steering is permitted.
        permission_steer: bool = false;
        /// Vibration is permitted.
        permission_vibration: bool = false;
        /// Where the neutral start of the drive stands.
        start_phase_drive: StartPhase = StartPhase::Blocked;
        /// Where the neutral start of the steering stands.
        start_phase_steer: StartPhase = StartPhase::Blocked;
        /// First condition that keeps the drive from being permitted.
        why_not_drive: Reason = Reason::Nothing;
        /// First condition that keeps the steering from being permitted.
        why_not_steer: Reason = Reason::Nothing;
        /// First condition that keeps the vibration from being permitted.
        why_not_vibration: Reason = Reason::Nothing;
        /// All conditions that must change before the drive is permitted, a bit each.
        why_not_drive_all: u32 = 0;
        /// All conditions that must change before the steering is permitted, a bit each.
        why_not_steer_all: u32 = 0;
        /// All conditions that must change before the vibration is permitted, a bit each.
        why_not_vibration_all: u32 = 0;
        /// How the drive is being stopped.
        stop_drive: StopKind = StopKind::None;
        /// How the steering is being stopped.
        stop_steer: StopKind = StopKind::None;

        /// Where the sequence of drive and brake is.
        drive_sequence: SinglePathState = SinglePathState::Braked;
        /// Drive that the sequence lets through.
        drive_asked: Ratio = Ratio::ZERO;
        /// Drive after its ramp.
        drive_command: Ratio = Ratio::ZERO;
        /// What the machine is doing.
        motion_state: MotionState = MotionState::Standing;
        /// What the ramp is doing.
        motion_phase: MotionPhase = MotionPhase::Holding;
        /// Steering that acts at this speed.
        steer_asked: Ratio = Ratio::ZERO;
        /// Steering after its ramp.
        steer_command: Ratio = Ratio::ZERO;
        /// Amplitude in force.
        amplitude: Amplitude = Amplitude::None;
        /// The amplitude rocker stands differently from the amplitude in force.
        amplitude_mismatch: bool = false;
        /// Vibration is switched on by its button.
        vibration_on: bool = false;
        /// Vibration after its ramp, large amplitude positive.
        vibration_command: Ratio = Ratio::ZERO;

        /// Machine found at rest: ramp, current and motor.
        standstill: bool = false;
        /// Last gate of the drive.
        gate_drive: GateState = GateState::Closed;
        /// Last gate of the steering.
        gate_steer: GateState = GateState::Closed;
        /// Last gate of the vibration.
        gate_vibration: GateState = GateState::Closed;
        /// Largest measured coil current of the drive.
        drive_current: Milliamps = Milliamps::ZERO;
        /// Largest measured coil current of the steering.
        steer_current: Milliamps = Milliamps::ZERO;
        /// Largest measured coil current of the vibration.
        vibration_current: Milliamps = Milliamps::ZERO;

        /// Number of active faults.
        active_faults: u8 = 0;
        /// Blink code on the lamp, 0 when steady.
        blink_code: u8 = 0;
        /// Active faults by place in the table, a bit each.
        active_fault_bits: u64 = 0;
        /// Periods since start.
        periods: u32 = 0;
    }
}
