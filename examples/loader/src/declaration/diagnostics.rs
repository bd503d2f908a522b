//! Every internal point that an engineer would look at, named as the control program names it.

use trunnion::guard::{GateState, ParkBrakeState, StartPhase, StopKind};
use trunnion::lever::LeverPattern;
use trunnion::propel::TwoSpeedInhibit;
use trunnion::quantity::{Celsius, Kilopascals, Milliamps, Ratio, Rpm};
use trunnion::ramp::{MotionPhase, MotionState};
use trunnion::valve::StartUpState;
use trunnion_can::FrameFlaw;
use trunnion_service::routine::{RoutineReason, RoutineStep};

use crate::control::reasons::Reason;

trunnion::signals! {
    /// The internal points of the last period.
    pub struct Diagnostics, pub enum Diagnostic {
        /// Engine speed from the pickup.
        engine_speed: Rpm = Rpm::ZERO;
        /// Engine speed from the bus.
        engine_speed_bus: Rpm = Rpm::ZERO;
        /// Engine speed that the hand throttle asks for.
        engine_speed_expected: Rpm = Rpm::ZERO;
        /// Left motor speed, negative in reverse.
        left_motor_speed: Rpm = Rpm::ZERO;
        /// Right motor speed, negative in reverse.
        right_motor_speed: Rpm = Rpm::ZERO;
        /// Charge pressure.
        charge_pressure: Kilopascals = Kilopascals::ZERO;
        /// Hydraulic oil temperature.
        oil_temperature: Celsius = Celsius::ZERO;

        /// Left lever, sideways, as received and found valid.
        left_lever_x: Ratio = Ratio::ZERO;
        /// Left lever, fore and aft.
        left_lever_y: Ratio = Ratio::ZERO;
        /// Left lever, thumb-wheel.
        left_lever_wheel: Ratio = Ratio::ZERO;
        /// What is wrong with the left lever.
        left_lever_state: FrameFlaw = FrameFlaw::Waiting;
        /// Right lever, sideways.
        right_lever_x: Ratio = Ratio::ZERO;
        /// Right lever, fore and aft.
        right_lever_y: Ratio = Ratio::ZERO;
        /// Right lever, thumb-wheel.
        right_lever_wheel: Ratio = Ratio::ZERO;
        /// What is wrong with the right lever.
        right_lever_state: FrameFlaw = FrameFlaw::Waiting;
        /// Lever pattern in force.
        lever_pattern: LeverPattern = LeverPattern::None;
        /// The pattern rocker stands differently from the pattern in force.
        pattern_mismatch: bool = false;

        /// Drive asked for (ISO pattern).
        drive_intent: Ratio = Ratio::ZERO;
        /// Steer asked for (ISO pattern), right positive.
        steer_intent: Ratio = Ratio::ZERO;
        /// Left side asked for (H pattern).
        left_intent: Ratio = Ratio::ZERO;
        /// Right side asked for (H pattern).
        right_intent: Ratio = Ratio::ZERO;
        /// Boom asked for, raise positive.
        boom_intent: Ratio = Ratio::ZERO;
        /// Bucket asked for, dump positive.
        bucket_intent: Ratio = Ratio::ZERO;
        /// Auxiliary asked for, coupling A positive.
        auxiliary_intent: Ratio = Ratio::ZERO;
        /// Levers of the drive are neutral.
        drive_neutral: bool = false;
        /// Levers of boom and bucket are neutral.
        work_neutral: bool = false;
        /// Thumb-wheel of the auxiliary is neutral.
        auxiliary_neutral: bool = false;

        /// What the start-up tests have come to.
        self_test: StartUpState = StartUpState::CutOff;
        /// Drive is permitted.
        permission_drive: bool = false;
        /// Boom and bucket are permitted.
        permission_work: bool = false;
        /// Auxiliary is permitted.
        permission_auxiliary: bool = false;
        /// Where the neutral start of the drive stands.
        start_phase_drive: StartPhase = StartPhase::Blocked;
        /// Where the neutral start of boom and bucket stands.
        start_phase_work: StartPhase = StartPhase::Blocked;
        /// Where the neutral start of the auxiliary stands.
        start_phase_auxiliary: StartPhase = StartPhase::Blocked;
        /// First condition that keeps the drive from being permitted.
        why_not_drive: Reason = Reason::Nothing;
        /// First condition that keeps boom and bucket from being permitted.
        why_not_work: Reason = Reason::Nothing;
        /// First condition that keeps the auxiliary from being permitted.
        why_not_auxiliary: Reason = Reason::Nothing;
        /// All conditions that must change before the drive is permitted, a bit each.
        why_not_drive_all: u32 = 0;
        /// All conditions that must change before boom and bucket are permitted, a bit each.
        why_not_work_all: u32 = 0;
        /// All conditions that must change before the auxiliary is permitted, a bit each.
        why_not_auxiliary_all: u32 = 0;
        /// How the drive is being stopped.
        stop_drive: StopKind = StopKind::None;
        /// How boom and bucket are being stopped.
        stop_work: StopKind = StopKind::None;
        /// How the auxiliary is being stopped.
        stop_auxiliary: StopKind = StopKind::None;

        /// Left side after mixing, trim and maxima.
        mix_left: Ratio = Ratio::ZERO;
        /// Right side after mixing, trim and maxima.
        mix_right: Ratio = Ratio::ZERO;
        /// Left side after the ramp.
        ramp_left: Ratio = Ratio::ZERO;
        /// Right side after the ramp.
        ramp_right: Ratio = Ratio::ZERO;
        /// What the machine is doing.
        motion_state: MotionState = MotionState::Standing;
        /// What the ramp is doing.
        motion_phase: MotionPhase = MotionPhase::Holding;
        /// Share that engine droop leaves to the drive.
        load_share: Ratio = Ratio::ZERO;
        /// Share that oil temperature leaves to the drive.
        temperature_share: Ratio = Ratio::ZERO;
        /// Share that reachable currents leave to the drive.
        reach_share: Ratio = Ratio::ZERO;
        /// Why the speed range is not the one asked for.
        two_speed_inhibit: TwoSpeedInhibit = TwoSpeedInhibit::Nothing;
        /// Left side after all shares.
        left_command: Ratio = Ratio::ZERO;
        /// Right side after all shares.
        right_command: Ratio = Ratio::ZERO;
        /// Boom after its ramp.
        boom_command: Ratio = Ratio::ZERO;
        /// Bucket after its ramp.
        bucket_command: Ratio = Ratio::ZERO;
        /// Auxiliary after its ramp.
        auxiliary_command: Ratio = Ratio::ZERO;
        /// The engine is asked for a speed of its own.
        engine_requested: bool = false;
        /// Which speed; zero when none is asked for.
        engine_request: Rpm = Rpm::ZERO;
        /// A tester drives a coil.
        tester_drives: bool = false;
        /// What a routine wants the operator to do.
        routine_step: RoutineStep = RoutineStep::Nothing;
        /// Why the latest routine did not end well, or does not go on.
        routine_reason: RoutineReason = RoutineReason::Nothing;
        /// Boom floats.
        float_active: bool = false;
        /// Auxiliary holds its flow.
        continuous_active: bool = false;

        /// Machine found at rest: ramps, currents and motors.
        standstill: bool = false;
        /// Where the park brake stands.
        park_brake: ParkBrakeState = ParkBrakeState::Applied;
        /// Last gate of the drive.
        gate_drive: GateState = GateState::Closed;
        /// Last gate of boom and bucket.
        gate_work: GateState = GateState::Closed;
        /// Last gate of the auxiliary.
        gate_auxiliary: GateState = GateState::Closed;
        /// Largest measured coil current of the drive.
        drive_current: Milliamps = Milliamps::ZERO;
        /// Largest measured coil current of boom and bucket.
        work_current: Milliamps = Milliamps::ZERO;
        /// Largest measured coil current of the auxiliary.
        auxiliary_current: Milliamps = Milliamps::ZERO;

        /// Number of active faults.
        active_faults: u8 = 0;
        /// Blink code on the lamp, 0 when steady.
        blink_code: u8 = 0;
        /// Active faults by place in the table, places 0–63, a bit each.
        faults_low: u64 = 0;
        /// Active faults by place in the table, places 64 and up, a bit each.
        faults_high: u64 = 0;
        /// Periods since start.
        periods: u32 = 0;
    }
}
