//! What a commissioning engineer may tune, and the maker's constants.

use trunnion::declare::Access;
use trunnion::quantity::{Centiohms, Kilopascals, Milliamps, Millis, Millivolts, Permille};

trunnion::parameters! {
    /// The roller's parameter set.
    pub struct Parameters, pub enum Parameter {
        /// Source address of the engine controller.
        0x0101 engine_address: u8 = 0, in 0..=253, Access::Tune;
        /// Left drive lever: where it rests, as a share of its sensors' span.
        0x0102 left_drive_centre: Permille = 500, in 400..=600, Access::Tune;
        /// Left steer lever: where it rests.
        0x0103 left_steer_centre: Permille = 500, in 400..=600, Access::Tune;
        /// Right drive lever: where it rests.
        0x0104 right_drive_centre: Permille = 500, in 400..=600, Access::Tune;
        /// Right steer lever: where it rests.
        0x0105 right_steer_centre: Permille = 500, in 400..=600, Access::Tune;
        /// Largest difference between the two sensors of a lever.
        0x0106 lever_disagreement: Permille = 50, in 20..=150, Access::Safety;
        /// Lever travel around the centre that asks for nothing.
        0x0107 lever_deadband: Permille = 80, in 60..=200, Access::Tune;
        /// Lever travel that asks for everything.
        0x0108 lever_full_travel: Permille = 960, in 700..=1000, Access::Tune;
        /// How much finer the drive lever is near the centre: 0 linear, 1000 cubic.
        0x0109 drive_progression: Permille = 200, in 0..=1000, Access::Operator;
        /// How much finer the steer lever is near the centre.
        0x010A steer_progression: Permille = 300, in 0..=1000, Access::Operator;
        /// Travel inside which a lever counts as released; inside the deadband.
        0x010B lever_neutral: Permille = 50, in 20..=100, Access::Safety;

        /// How long levers must be neutral before permission.
        0x0201 neutral_hold: Millis = 200, in 100..=1000, Access::Safety;
        /// How long a seat must be open before it counts (rough ground).
        0x0202 seat_open_after: Millis = 700, in 100..=1000, Access::Safety;
        /// How long the claim of a station and all released levers must last before it takes over.
        0x0203 station_hold: Millis = 500, in 200..=5000, Access::Safety;
        /// Time after power-up in which the engine controller may still be silent.
        0x0204 start_up_window: Millis = 2000, in 500..=5000, Access::Safety;
        /// How long the amplitude rocker and the drum must rest before the amplitude changes.
        0x0205 amplitude_hold: Millis = 200, in 100..=2000, Access::Tune;

        /// Largest forward speed.
        0x0301 forward_maximum: Permille = 1000, in 100..=1000, Access::Tune;
        /// Largest reverse speed.
        0x0302 reverse_maximum: Permille = 1000, in 100..=1000, Access::Tune;
        /// Travel motor speed up to which all of the steering acts.
        0x0303 steer_slow: u16 = 600, in 0..=1500, Access::Tune;
        /// Travel motor speed from which only the floor acts.
        0x0304 steer_fast: u16 = 1800, in 300..=2500, Access::Safety;
        /// Share of the steering that always acts.
        0x0305 steer_floor: Permille = 350, in 100..=1000, Access::Safety;

        /// Standstill to full speed forward.
        0x0401 forward_accelerate: Millis = 3000, in 500..=10_000, Access::Tune;
        /// Full speed forward to standstill.
        0x0402 forward_decelerate: Millis = 2000, in 500..=4000, Access::Safety;
        /// Standstill to full speed in reverse.
        0x0403 reverse_accelerate: Millis = 3000, in 500..=10_000, Access::Tune;
        /// Full speed in reverse to standstill.
        0x0404 reverse_decelerate: Millis = 2000, in 500..=4000, Access::Safety;
        /// Full speed to standstill when the other direction is asked for.
        0x0405 drive_reversal: Millis = 2200, in 500..=4000, Access::Tune;
        /// Pause at standstill in a reversal.
        0x0406 drive_dwell: Millis = 100, in 0..=1000, Access::Tune;
        /// Steering: closed to fully open and back.
        0x0407 steer_ramp: Millis = 250, in 50..=2000, Access::Tune;
        /// Vibration: standing to full speed.
        0x0408 vibration_rise: Millis = 2000, in 500..=10_000, Access::Tune;
        /// Vibration: full speed to standing.
        0x0409 vibration_fall: Millis = 1500, in 500..=10_000, Access::Tune;
        /// From the brake valve on until the brake is open.
        0x040A brake_opens_in: Millis = 250, in 0..=2000, Access::Tune;
        /// How long the machine stands with the lever at zero before the brake comes on.
        0x040B brake_after_rest: Millis = 1000, in 0..=10_000, Access::Tune;
        /// Largest time from a lost drive permission to the park brake.
        0x040C brake_time_out: Millis = 5000, in 4500..=10_000, Access::Safety;

        /// Teeth that pass the engine pickup in one revolution.
        0x0501 engine_teeth: u16 = 120, in 1..=500, Access::Tune;
        /// Teeth that pass the travel motor pickup in one revolution.
        0x0502 motor_teeth: u16 = 48, in 1..=500, Access::Tune;
        /// Marks that pass the eccentric pickup in one revolution.
        0x0503 eccentric_teeth: u16 = 12, in 1..=100, Access::Tune;
        /// Engine speed below which the engine counts as stopped.
        0x0504 running_speed: u16 = 500, in 300..=900, Access::Safety;
        /// Largest difference between the pickup and the bus.
        0x0505 speed_difference: u16 = 150, in 50..=500, Access::Tune;

        /// Drive pump forward: current of first movement.
        0x0601 drive_forward_threshold: Milliamps = 420, in 100..=900, Access::Tune;
        /// Drive pump forward: current of full displacement.
        0x0602 drive_forward_end: Milliamps = 1150, in 300..=1500, Access::Tune;
        /// Drive pump reverse: current of first movement.
        0x0603 drive_reverse_threshold: Milliamps = 420, in 100..=900, Access::Tune;
        /// Drive pump reverse: current of full displacement.
        0x0604 drive_reverse_end: Milliamps = 1150, in 300..=1500, Access::Tune;
        /// Steering to the left: current of first movement.
        0x0605 steer_left_threshold: Milliamps = 380, in 100..=900, Access::Tune;
        /// Steering to the left: current of the fully open spool.
        0x0606 steer_left_end: Milliamps = 1050, in 300..=1500, Access::Tune;
        /// Steering to the right: current of first movement.
        0x0607 steer_right_threshold: Milliamps = 380, in 100..=900, Access::Tune;
        /// Steering to the right: current of the fully open spool.
        0x0608 steer_right_end: Milliamps = 1050, in 300..=1500, Access::Tune;
        /// Vibration, large amplitude: current of first movement.
        0x0609 vibration_high_threshold: Milliamps = 420, in 100..=900, Access::Tune;
        /// Vibration, large amplitude: current of full speed.
        0x060A vibration_high_end: Milliamps = 1000, in 300..=1500, Access::Tune;
        /// Vibration, small amplitude: current of first movement.
        0x060B vibration_low_threshold: Milliamps = 420, in 100..=900, Access::Tune;
        /// Vibration, small amplitude: current of full speed.
        0x060C vibration_low_end: Milliamps = 1150, in 300..=1500, Access::Tune;
        /// Resistance of a pump coil at 20 °C.
        0x060D pump_coil_resistance: Centiohms = 530, in 200..=2000, Access::Tune;
        /// Resistance of a steering coil at 20 °C.
        0x060E steer_coil_resistance: Centiohms = 610, in 200..=2000, Access::Tune;
        /// Current of the start-up test pulse, below every threshold.
        0x060F test_pulse_current: Milliamps = 200, in 100..=300, Access::Safety;
        /// Pause between the two coils of a pair.
        0x0610 pair_pause: Millis = 20, in 0..=500, Access::Tune;

        /// Charge pressure below which the drive is not permitted.
        0x0701 charge_pressure_low: Kilopascals = 1200, in 500..=2500, Access::Safety;
        /// Supply below which nothing is permitted.
        0x0702 supply_low: Millivolts = 9000, in 7000..=11_000, Access::Safety;
        /// Supply above which a fault is told.
        0x0703 supply_high: Millivolts = 16_500, in 15_000..=18_000, Access::Safety;

        /// Travel motor speed from which the drum may vibrate.
        0x0801 vibration_from: u16 = 180, in 50..=800, Access::Tune;
        /// Travel motor speed at and below which it stops: the drum must not vibrate on one spot.
        0x0802 vibration_down_to: u16 = 90, in 20..=700, Access::Tune;
        /// Travel motor speed from which it stops: blows too far apart compact nothing.
        0x0803 vibration_up_to: u16 = 1150, in 300..=2500, Access::Tune;
        /// Travel motor speed at and below which it may come again.
        0x0804 vibration_again_from: u16 = 1050, in 250..=2400, Access::Tune;

        /// Period of the control loop in microseconds.
        0x0F01 control_period: u16 = 10_000, in 10_000..=10_000, Access::Constant;
        /// Period of the current loop in microseconds.
        0x0F02 current_loop_period: u16 = 1000, in 1000..=1000, Access::Constant;
        /// Time in which a coil current must have decayed after an immediate stop.
        0x0F03 decay_time: Millis = 50, in 50..=50, Access::Constant;
        /// Current at zero command that cuts the coil supply.
        0x0F04 stray_current: Milliamps = 150, in 150..=150, Access::Constant;
        /// Travel motor speed below which the machine stands still: above what it rolls back by leakage on the steepest slope.
        0x0F05 standstill_speed: u16 = 45, in 45..=45, Access::Constant;
        /// How long it must stand still before it counts.
        0x0F06 standstill_hold: Millis = 300, in 300..=300, Access::Constant;
    }
}
