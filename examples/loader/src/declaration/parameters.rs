//! What a commissioning engineer may tune, and the maker's constants.

use trunnion::declare::Access;
use trunnion::propel::{MixLaw, ReverseConvention};
use trunnion::quantity::{Centiohms, Kilopascals, Milliamps, Millis, Millivolts, Permille};
use trunnion_board::black_box::FreezeRule;

trunnion::parameters! {
    /// The loader's parameter set.
    pub struct Parameters, pub enum Parameter {
        /// Source address of the left lever.
        0x0101 left_lever_address: u8 = 0x21, in 0..=253, Access::Tune;
        /// Source address of the right lever.
        0x0102 right_lever_address: u8 = 0x22, in 0..=253, Access::Tune;
        /// Source address of the engine controller.
        0x0103 engine_address: u8 = 0, in 0..=253, Access::Tune;
        /// Period in which a lever sends; its time-out is three of them, at most 300 ms.
        0x0104 lever_period: Millis = 20, in 10..=100, Access::Tune;
        /// Lever travel around the centre that asks for nothing.
        0x0105 lever_deadband: Permille = 60, in 20..=200, Access::Tune;
        /// Lever travel that asks for everything.
        0x0106 lever_full_travel: Permille = 980, in 700..=1000, Access::Tune;
        /// How much finer the lever is near the centre: 0 linear, 1000 cubic.
        0x0107 lever_progression: Permille = 300, in 0..=1000, Access::Operator;
        /// Largest position that a lever may report with its neutral flag set.
        0x0108 lever_neutral_band: Permille = 50, in 10..=100, Access::Safety;
        /// Source address that the controller would like on the bus.
        0x0109 controller_address: u8 = 0x27, in 0..=253, Access::Tune;
        /// Left lever sideways: what it sends at its negative end.
        0x0111 left_lever_x_low: Permille = -1000, in -1000..=-500, Access::Tune;
        /// Left lever sideways: what it sends when released.
        0x0112 left_lever_x_centre: Permille = 0, in -100..=100, Access::Tune;
        /// Left lever sideways: what it sends at its positive end.
        0x0113 left_lever_x_high: Permille = 1000, in 500..=1000, Access::Tune;
        /// Left lever fore and aft: what it sends at its negative end.
        0x0114 left_lever_y_low: Permille = -1000, in -1000..=-500, Access::Tune;
        /// Left lever fore and aft: what it sends when released.
        0x0115 left_lever_y_centre: Permille = 0, in -100..=100, Access::Tune;
        /// Left lever fore and aft: what it sends at its positive end.
        0x0116 left_lever_y_high: Permille = 1000, in 500..=1000, Access::Tune;
        /// Right lever sideways: what it sends at its negative end.
        0x0117 right_lever_x_low: Permille = -1000, in -1000..=-500, Access::Tune;
        /// Right lever sideways: what it sends when released.
        0x0118 right_lever_x_centre: Permille = 0, in -100..=100, Access::Tune;
        /// Right lever sideways: what it sends at its positive end.
        0x0119 right_lever_x_high: Permille = 1000, in 500..=1000, Access::Tune;
        /// Right lever fore and aft: what it sends at its negative end.
        0x011A right_lever_y_low: Permille = -1000, in -1000..=-500, Access::Tune;
        /// Right lever fore and aft: what it sends when released.
        0x011B right_lever_y_centre: Permille = 0, in -100..=100, Access::Tune;
        /// Right lever fore and aft: what it sends at its positive end.
        0x011C right_lever_y_high: Permille = 1000, in 500..=1000, Access::Tune;
        /// Thumb-wheel of the right lever: what it sends at its negative end.
        0x011D right_wheel_low: Permille = -1000, in -1000..=-500, Access::Tune;
        /// Thumb-wheel of the right lever: what it sends when released.
        0x011E right_wheel_centre: Permille = 0, in -100..=100, Access::Tune;
        /// Thumb-wheel of the right lever: what it sends at its positive end.
        0x011F right_wheel_high: Permille = 1000, in 500..=1000, Access::Tune;

        /// How long levers must be neutral before permission.
        0x0201 neutral_hold: Millis = 100, in 100..=1000, Access::Safety;
        /// How many new frames must show the levers neutral before permission.
        0x0202 neutral_frames: u8 = 3, in 3..=20, Access::Safety;
        /// How long the seat must be open before it counts (rough ground).
        0x0203 seat_open_after: Millis = 700, in 100..=1000, Access::Safety;
        /// How long the pattern rocker and the levers must rest before the pattern changes.
        0x0204 pattern_hold: Millis = 200, in 100..=2000, Access::Safety;
        /// Time after power-up in which levers, pickup and engine controller may still be silent.
        0x0205 start_up_window: Millis = 2000, in 500..=5000, Access::Safety;
        /// Largest current of a coil that a tester drives.
        0x0206 service_current: Milliamps = 450, in 100..=700, Access::Safety;

        /// How drive and steer become left and right.
        0x0301 mix_law: MixLaw = 1, in 0..=1, Access::Tune;
        /// Steer travel at which the inner side stands still.
        0x0302 pivot_point: Permille = 500, in 300..=800, Access::Tune;
        /// Width of the steer travel in which the inner side stands still.
        0x0303 pivot_band: Permille = 100, in 20..=200, Access::Tune;
        /// Share of the steer travel that is used.
        0x0304 steer_sensitivity: Permille = 1000, in 300..=1000, Access::Operator;
        /// Drive travel over which the blended law passes from spinning to driving.
        0x0305 blend_drive: Permille = 200, in 50..=500, Access::Tune;
        /// What steering does in reverse.
        0x0306 reverse_convention: ReverseConvention = 1, in 0..=1, Access::Tune;
        /// Reverse travel over which path-following steering turns round.
        0x0307 reverse_blend: Permille = 150, in 50..=400, Access::Tune;
        /// Takes from the left side so that the machine runs straight.
        0x0308 left_trim: Permille = 0, in 0..=200, Access::Tune;
        /// Takes from the right side so that the machine runs straight.
        0x0309 right_trim: Permille = 0, in 0..=200, Access::Tune;
        /// Largest forward speed.
        0x030A forward_maximum: Permille = 1000, in 100..=1000, Access::Tune;
        /// Largest reverse speed.
        0x030B reverse_maximum: Permille = 800, in 100..=1000, Access::Tune;
        /// Largest rotation speed.
        0x030C rotation_maximum: Permille = 700, in 100..=1000, Access::Tune;

        /// Standstill to full speed forward.
        0x0401 forward_accelerate: Millis = 1800, in 300..=10_000, Access::Tune;
        /// Full speed forward to standstill.
        0x0402 forward_decelerate: Millis = 1200, in 300..=5000, Access::Tune;
        /// Full speed forward to standstill when reverse is asked for.
        0x0403 forward_reverse: Millis = 1000, in 300..=5000, Access::Tune;
        /// Standstill to full speed in reverse.
        0x0404 reverse_accelerate: Millis = 2000, in 300..=10_000, Access::Tune;
        /// Full speed in reverse to standstill.
        0x0405 reverse_decelerate: Millis = 1300, in 300..=5000, Access::Tune;
        /// Full speed in reverse to standstill when forward is asked for.
        0x0406 reverse_reverse: Millis = 1100, in 300..=5000, Access::Tune;
        /// Standstill to full rotation.
        0x0407 rotation_accelerate: Millis = 1300, in 300..=10_000, Access::Tune;
        /// Full rotation to standstill.
        0x0408 rotation_decelerate: Millis = 800, in 300..=5000, Access::Tune;
        /// Full rotation to standstill when the other way is asked for.
        0x0409 rotation_reverse: Millis = 700, in 300..=5000, Access::Tune;
        /// Longest controlled stop of the drive, from full speed.
        0x040A drive_stop: Millis = 1000, in 200..=1500, Access::Safety;
        /// Pause at standstill in a reversal.
        0x040B drive_dwell: Millis = 0, in 0..=1000, Access::Tune;
        /// Boom and bucket: closed to fully open.
        0x040C work_accelerate: Millis = 350, in 50..=3000, Access::Tune;
        /// Boom and bucket: fully open to closed.
        0x040D work_decelerate: Millis = 200, in 50..=1000, Access::Safety;
        /// Auxiliary: closed to fully open and back.
        0x040E auxiliary_ramp: Millis = 500, in 50..=3000, Access::Tune;
        /// Auxiliary flow that the continuous button starts with the wheel neutral.
        0x040F continuous_flow: Permille = 700, in 10..=1000, Access::Operator;
        /// Largest time from a lost drive permission to the park brake.
        0x0410 brake_time_out: Millis = 3000, in 1000..=6000, Access::Safety;

        /// Teeth that pass the engine pickup in one revolution.
        0x0501 engine_teeth: u16 = 120, in 1..=500, Access::Tune;
        /// Teeth that pass a motor pickup in one revolution.
        0x0502 motor_teeth: u16 = 36, in 1..=500, Access::Tune;
        /// Engine speed at low idle.
        0x0503 low_idle: u16 = 1000, in 600..=1500, Access::Tune;
        /// Engine speed at high idle, without load.
        0x0504 high_idle: u16 = 2600, in 1500..=3500, Access::Tune;
        /// Engine speed below which the engine counts as stopped.
        0x0505 running_speed: u16 = 500, in 300..=900, Access::Safety;
        /// Largest difference between the pickup and the bus.
        0x0506 speed_difference: u16 = 150, in 50..=500, Access::Tune;
        /// Droop at which the drive begins to yield.
        0x0507 droop_begin: Permille = 120, in 50..=300, Access::Tune;
        /// Droop at which the drive has yielded as far as it will.
        0x0508 droop_full: Permille = 300, in 100..=600, Access::Tune;
        /// Share of the drive that is left then.
        0x0509 droop_floor: Permille = 150, in 0..=500, Access::Tune;
        /// Time in which the drive comes back when the droop is over.
        0x050A droop_recovery: Millis = 1500, in 300..=10_000, Access::Tune;
        /// Largest mean travel command at which the motors may be put back.
        0x050B shift_down_below: Permille = 600, in 50..=800, Access::Tune;
        /// Largest turning command with small displacement.
        0x050C shift_turning_limit: Permille = 300, in 50..=600, Access::Tune;
        /// Time in which a speed asked of the engine rises from low to high idle.
        0x050D speed_request_rise: Millis = 1000, in 200..=10_000, Access::Tune;
        /// Time in which it falls from high to low idle.
        0x050E speed_request_fall: Millis = 5000, in 200..=30_000, Access::Tune;

        /// Left pump forward: current of first movement.
        0x0601 left_pump_forward_threshold: Milliamps = 420, in 100..=900, Access::Tune;
        /// Left pump forward: current of full displacement.
        0x0602 left_pump_forward_end: Milliamps = 1150, in 300..=1500, Access::Tune;
        /// Left pump reverse: current of first movement.
        0x0603 left_pump_reverse_threshold: Milliamps = 420, in 100..=900, Access::Tune;
        /// Left pump reverse: current of full displacement.
        0x0604 left_pump_reverse_end: Milliamps = 1150, in 300..=1500, Access::Tune;
        /// Right pump forward: current of first movement.
        0x0605 right_pump_forward_threshold: Milliamps = 420, in 100..=900, Access::Tune;
        /// Right pump forward: current of full displacement.
        0x0606 right_pump_forward_end: Milliamps = 1150, in 300..=1500, Access::Tune;
        /// Right pump reverse: current of first movement.
        0x0607 right_pump_reverse_threshold: Milliamps = 420, in 100..=900, Access::Tune;
        /// Right pump reverse: current of full displacement.
        0x0608 right_pump_reverse_end: Milliamps = 1150, in 300..=1500, Access::Tune;
        /// Boom raise: current of first movement.
        0x0609 boom_raise_threshold: Milliamps = 380, in 100..=900, Access::Tune;
        /// Boom raise: current of the fully open spool.
        0x060A boom_raise_end: Milliamps = 1050, in 300..=1500, Access::Tune;
        /// Boom lower: current of first movement.
        0x060B boom_lower_threshold: Milliamps = 380, in 100..=900, Access::Tune;
        /// Boom lower: current of the fully open spool.
        0x060C boom_lower_end: Milliamps = 900, in 300..=1500, Access::Tune;
        /// Boom float: current of first movement.
        0x060D boom_float_threshold: Milliamps = 500, in 100..=900, Access::Tune;
        /// Boom float: current that holds the float position.
        0x060E boom_float_end: Milliamps = 1200, in 300..=1500, Access::Tune;
        /// Bucket curl: current of first movement.
        0x060F bucket_curl_threshold: Milliamps = 380, in 100..=900, Access::Tune;
        /// Bucket curl: current of the fully open spool.
        0x0610 bucket_curl_end: Milliamps = 1050, in 300..=1500, Access::Tune;
        /// Bucket dump: current of first movement.
        0x0611 bucket_dump_threshold: Milliamps = 380, in 100..=900, Access::Tune;
        /// Bucket dump: current of the fully open spool.
        0x0612 bucket_dump_end: Milliamps = 1050, in 300..=1500, Access::Tune;
        /// Auxiliary A: current of first movement.
        0x0613 auxiliary_a_threshold: Milliamps = 350, in 100..=900, Access::Tune;
        /// Auxiliary A: current of the fully open spool.
        0x0614 auxiliary_a_end: Milliamps = 1100, in 300..=1500, Access::Tune;
        /// Auxiliary B: current of first movement.
        0x0615 auxiliary_b_threshold: Milliamps = 350, in 100..=900, Access::Tune;
        /// Auxiliary B: current of the fully open spool.
        0x0616 auxiliary_b_end: Milliamps = 1100, in 300..=1500, Access::Tune;
        /// Resistance of a pump coil at 20 °C.
        0x0617 pump_coil_resistance: Centiohms = 530, in 200..=2000, Access::Tune;
        /// Resistance of a spool coil at 20 °C.
        0x0618 spool_coil_resistance: Centiohms = 610, in 200..=2000, Access::Tune;
        /// Current of the start-up test pulse, below every threshold.
        0x0619 test_pulse_current: Milliamps = 200, in 100..=300, Access::Safety;
        /// Pause between the two coils of a pair.
        0x061A pair_pause: Millis = 20, in 0..=500, Access::Tune;

        /// Charge pressure below which the drive is not permitted.
        0x0701 charge_pressure_low: Kilopascals = 1200, in 500..=2500, Access::Safety;
        /// Oil temperature below which the drive is at its cold share, in whole degrees.
        0x0702 cold_oil: i8 = -15, in -40..=0, Access::Tune;
        /// Oil temperature above which the drive is whole, in whole degrees.
        0x0703 warm_oil: i8 = 10, in 1..=40, Access::Tune;
        /// Share of the drive that cold oil leaves.
        0x0704 cold_share: Permille = 400, in 100..=1000, Access::Tune;
        /// Oil temperature above which a fault is told, in whole degrees.
        0x0705 hot_oil: i8 = 95, in 60..=120, Access::Tune;
        /// Supply below which nothing is permitted.
        0x0706 supply_low: Millivolts = 9000, in 7000..=11_000, Access::Safety;
        /// Supply above which a fault is told.
        0x0707 supply_high: Millivolts = 16_500, in 15_000..=18_000, Access::Safety;

        /// Time that each of the black box's two segments holds.
        0x0801 black_box_depth: Millis = 2000, in 100..=20_000, Access::Tune;
        /// Time that the black box records after the fault.
        0x0802 black_box_after: Millis = 500, in 0..=5000, Access::Tune;
        /// Which faults freeze the black box.
        0x0803 black_box_rule: FreezeRule = 1, in 0..=2, Access::Tune;

        /// Period of the control loop in microseconds.
        0x0F01 control_period: u16 = 10_000, in 10_000..=10_000, Access::Constant;
        /// Period of the current loop in microseconds.
        0x0F02 current_loop_period: u16 = 1000, in 1000..=1000, Access::Constant;
        /// Time in which a coil current must have decayed after an immediate stop.
        0x0F03 decay_time: Millis = 50, in 50..=50, Access::Constant;
        /// Current at zero command that cuts the coil supply.
        0x0F04 stray_current: Milliamps = 150, in 150..=150, Access::Constant;
        /// Motor speed below which a side stands still.
        0x0F05 standstill_speed: u16 = 15, in 15..=15, Access::Constant;
        /// How long both sides must stand still before the park brake is applied.
        0x0F06 standstill_hold: Millis = 300, in 300..=300, Access::Constant;
    }
}
