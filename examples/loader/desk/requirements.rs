//! What must hold on the loader whatever happens: watched in every run.

use trunnion_rig::requirement::Requirement;

/// The hazards that the requirements answer. The list is this example's own; a machine's risk assessment
/// (ISO 12100, ISO 19014) decides on a real one.
pub const HAZARDS: &[(&str, &str)] = &[
    ("H-01", "The machine moves without being asked to"),
    ("H-02", "The machine does not do what the operator asks"),
    ("H-03", "One side of the drive stops and the other goes on: the machine spins"),
    ("H-04", "The machine works or drives with nobody in the seat or the bar up"),
    ("H-05", "The engine stalls and takes steering and braking with it"),
    ("H-06", "The levers do something else than the operator believes"),
    ("H-07", "The machine turns the wrong way while it changes direction"),
    ("H-08", "A fault is told that is not there, or not told although it is there"),
];

/// Requirements of every run.
pub const REQUIREMENTS: &[Requirement] = &[
    Requirement {
        id: "R-01",
        sentence: "No pump coil is driven while the drive's last gate is closed and no test runs",
        hazard: "H-01",
        formula: "always (held for 20 ms (not gate_drive = open and self_test = done) implies max(left_pump_forward_duty, left_pump_reverse_duty, right_pump_forward_duty, right_pump_reverse_duty) = 0 %)",
    },
    Requirement {
        id: "R-02",
        sentence: "No spool coil is driven while its last gate is closed and no test runs",
        hazard: "H-01",
        formula: "always (held for 20 ms (not gate_work = open and self_test = done) implies max(boom_raise_duty, boom_lower_duty, boom_float_duty, bucket_curl_duty, bucket_dump_duty) = 0 %)",
    },
    Requirement {
        id: "R-03",
        sentence: "Both coils of a pair are never driven together",
        hazard: "H-02",
        formula: "always (min(left_pump_forward_duty, left_pump_reverse_duty) = 0 % and min(right_pump_forward_duty, right_pump_reverse_duty) = 0 % and min(boom_raise_duty, boom_lower_duty) = 0 % and min(bucket_curl_duty, bucket_dump_duty) = 0 % and min(auxiliary_a_duty, auxiliary_b_duty) = 0 %)",
    },
    Requirement {
        id: "R-04",
        sentence: "When the drive loses permission both sides are at zero within the stop time and one period",
        hazard: "H-03",
        formula: "always (permission_drive falls implies within drive_stop + 10 ms (left_command = 0 and right_command = 0))",
    },
    Requirement {
        id: "R-05",
        sentence: "Both sides stop together: neither comes to rest in a stop while the other still runs",
        hazard: "H-03",
        formula: "always ((((held for 30 ms stop_drive = controlled) and left_command = 0 and abs(previous(left_command)) > 0 %) implies abs(right_command) < 2 %) and (((held for 30 ms stop_drive = controlled) and right_command = 0 and abs(previous(right_command)) > 0 %) implies abs(left_command) < 2 %))",
    },
    Requirement {
        id: "R-06",
        sentence: "Permission comes only after the levers of the drive were neutral for the hold time",
        hazard: "H-01",
        formula: "always (permission_drive rises implies held for neutral_hold drive_neutral)",
    },
    Requirement {
        id: "R-07",
        sentence: "Permission of boom and bucket comes only after their levers were neutral for the hold time",
        hazard: "H-01",
        formula: "always (permission_work rises implies held for neutral_hold work_neutral)",
    },
    Requirement {
        id: "R-08",
        sentence: "Nobody in the seat for the seat delay: nothing is permitted",
        hazard: "H-04",
        formula: "always (held for seat_open_after + 20 ms not seat_occupied implies not (permission_drive or permission_work or permission_auxiliary))",
    },
    Requirement {
        id: "R-09",
        sentence: "Restraint bar up: boom, bucket and auxiliary are off at once",
        hazard: "H-04",
        formula: "always (held for 60 ms (not restraint_bar_down and self_test = done) implies max(boom_raise_duty, boom_lower_duty, boom_float_duty, bucket_curl_duty, bucket_dump_duty, auxiliary_a_duty, auxiliary_b_duty) = 0 %)",
    },
    Requirement {
        id: "R-10",
        sentence: "The lever pattern changes only at standstill, after which permission is gone",
        hazard: "H-06",
        formula: "always (lever_pattern changes implies ((standstill or not permission_drive) and not permission_drive))",
    },
    Requirement {
        id: "R-11",
        sentence: "The park brake is lifted only with permission or until the stop is over",
        hazard: "H-01",
        formula: "always (park_brake_valve implies (permission_drive or once within brake_time_out + 20 ms permission_drive))",
    },
    Requirement {
        id: "R-12",
        sentence: "The starter turns only with levers neutral and the park brake applied",
        hazard: "H-01",
        formula: "always (start_permit implies (park_brake = applied and drive_neutral))",
    },
    Requirement {
        id: "R-13",
        sentence: "A brake that was applied for a second holds the machine",
        hazard: "H-01",
        formula: "always (held for 1.5 s park_brake = applied implies abs(true_forward_speed) < 0.05 m/s)",
    },
    Requirement {
        id: "R-14",
        sentence: "The reverse alarm sounds while the wheels roll in reverse",
        hazard: "H-01",
        formula: "always (held for 0.3 s true_left_speed + true_right_speed < -0.6 m/s implies reverse_alarm)",
    },
    Requirement {
        id: "R-15",
        sentence: "An immediate stop leaves less than a tenth of a threshold current after 50 ms",
        hazard: "H-01",
        formula: "always (held for 60 ms (stop_drive = immediate and self_test = done) implies true_drive_current < 42 mA)",
    },
    Requirement {
        id: "R-16",
        sentence: "The machine neither speeds up nor slows down harder than an operator stands",
        hazard: "H-02",
        formula: "always (abs(true_acceleration) < 6 m/s^2 or emergency_stop_first falls or (once within 300 ms not coil_supply))",
    },
    Requirement {
        id: "R-17",
        sentence: "A coil is driven only when the current of the opposite one has decayed",
        hazard: "H-02",
        formula: "always ((left_pump_forward_duty > 0 % implies left_pump_reverse_current <= 150 mA) and (left_pump_reverse_duty > 0 % implies left_pump_forward_current <= 150 mA) and (right_pump_forward_duty > 0 % implies right_pump_reverse_current <= 150 mA) and (right_pump_reverse_duty > 0 % implies right_pump_forward_current <= 150 mA))",
    },
    Requirement {
        id: "R-18",
        sentence: "In a controlled stop no side speeds up or turns round",
        hazard: "H-03",
        formula: "always (stop_drive = controlled implies (abs(left_command) <= abs(previous(left_command)) and abs(right_command) <= abs(previous(right_command)) and abs(left_command - previous(left_command)) <= abs(previous(left_command)) and abs(right_command - previous(right_command)) <= abs(previous(right_command))))",
    },
    Requirement {
        id: "R-19",
        sentence: "Emergency stop or key off: supply cut and no coil driven",
        hazard: "H-01",
        formula: "always (held for 60 ms (not (emergency_stop_first and emergency_stop_second and key_on)) implies (not coil_supply and max(left_pump_forward_duty, left_pump_reverse_duty, right_pump_forward_duty, right_pump_reverse_duty) = 0 % and max(boom_raise_duty, boom_lower_duty, boom_float_duty, bucket_curl_duty, bucket_dump_duty, auxiliary_a_duty, auxiliary_b_duty) = 0 %))",
    },
    Requirement {
        id: "R-20",
        sentence: "The park brake comes on at standstill, at its time-out, when the supply is cut or charge pressure is lost",
        hazard: "H-02",
        formula: "always (park_brake_valve falls implies (standstill or not coil_supply or why_not_drive = charge_pressure_low or (why_not_drive = engine_stopped and charge_pressure < charge_pressure_low) or held for brake_time_out not permission_drive))",
    },
    Requirement {
        id: "R-21",
        sentence: "A group is permitted exactly when nothing is left to say why not",
        hazard: "H-02",
        formula: "always ((permission_drive or why_not_drive_all > 0) and (permission_work or why_not_work_all > 0) and (permission_auxiliary or why_not_auxiliary_all > 0) and (permission_drive implies why_not_drive_all = 0) and (permission_work implies why_not_work_all = 0) and (permission_auxiliary implies why_not_auxiliary_all = 0))",
    },
    Requirement {
        id: "R-22",
        sentence: "Permission of the auxiliary comes only after its wheel was neutral for the hold time",
        hazard: "H-01",
        formula: "always (permission_auxiliary rises implies held for neutral_hold auxiliary_neutral)",
    },
    Requirement {
        id: "R-23",
        sentence: "After an immediate stop of boom and bucket no spool coil carries a tenth of its threshold",
        hazard: "H-04",
        formula: "always (held for 60 ms stop_work = immediate implies work_current < 38 mA)",
    },
    Requirement {
        id: "R-24",
        sentence: "The lamp of the pattern in force is lit while the rocker agrees, and never both lamps",
        hazard: "H-06",
        formula: "always ((not (pattern_h_lamp and pattern_iso_lamp)) and ((lever_pattern = ISO and not pattern_mismatch) implies pattern_iso_lamp) and ((lever_pattern = H and not pattern_mismatch) implies pattern_h_lamp))",
    },
    Requirement {
        id: "R-25",
        sentence: "Throughout a second in which rocker and pattern differ, a pattern lamp goes out",
        hazard: "H-06",
        formula: "always (held for 1 s (pattern_mismatch and coil_supply) implies once within 1 s not (pattern_h_lamp or pattern_iso_lamp))",
    },
    Requirement {
        id: "R-26",
        sentence: "The lever pattern comes into force only at standstill",
        hazard: "H-06",
        formula: "always ((lever_pattern changes and not lever_pattern = none) implies once within 20 ms standstill)",
    },
    Requirement {
        id: "R-27",
        sentence: "With path-following steering the turn follows what the machine does, not what the lever already asks for",
        hazard: "H-07",
        formula: "always ((reverse_convention = path_following and ramp_left + ramp_right > 2 * reverse_blend + 10 %) implies ((steer_intent < 20 % or mix_left >= mix_right) and (steer_intent > -20 % or mix_left <= mix_right)))",
    },
    Requirement {
        id: "R-28",
        sentence: "With yaw-fixed steering the lever to the right is clockwise, forward and in reverse",
        hazard: "H-07",
        formula: "always (reverse_convention = yaw_fixed implies ((steer_intent < 20 % or mix_left >= mix_right) and (steer_intent > -20 % or mix_left <= mix_right)))",
    },
    Requirement {
        id: "R-29",
        sentence: "Without permission and without a reason to stop at once, no side loses a tenth of its speed in a period",
        hazard: "H-03",
        formula: "always ((permission_drive or once within 20 ms stop_drive = immediate) or (abs(left_command - previous(left_command)) <= 10 % and abs(right_command - previous(right_command)) <= 10 %))",
    },
    Requirement {
        id: "R-30",
        sentence: "A lever that is silent for longer than any time-out leaves no permission",
        hazard: "H-06",
        formula: "always ((held for 400 ms not left_lever_basic_count changes implies not permission_drive) and (held for 400 ms not right_lever_basic_count changes implies not permission_drive))",
    },
    Requirement {
        id: "R-31",
        sentence: "A coil is driven only by the command of its own function and direction",
        hazard: "H-02",
        formula: "always ((held for 60 ms (self_test = done and left_command >= 0) implies left_pump_reverse_duty = 0 %) and (held for 60 ms (self_test = done and left_command <= 0) implies left_pump_forward_duty = 0 %) and (held for 60 ms (self_test = done and right_command >= 0) implies right_pump_reverse_duty = 0 %) and (held for 60 ms (self_test = done and right_command <= 0) implies right_pump_forward_duty = 0 %) and (held for 60 ms (self_test = done and bucket_command >= 0) implies bucket_curl_duty = 0 %) and (held for 60 ms (self_test = done and bucket_command <= 0) implies bucket_dump_duty = 0 %) and (held for 60 ms (self_test = done and boom_command >= 0) implies boom_lower_duty = 0 %) and (held for 60 ms (self_test = done and boom_command <= 0) implies boom_raise_duty = 0 %))",
    },
    Requirement {
        id: "R-32",
        sentence: "The park brake is lifted only with charge pressure",
        hazard: "H-01",
        formula: "always (park_brake_valve rises implies charge_pressure >= charge_pressure_low)",
    },
    Requirement {
        id: "R-33",
        sentence: "The fast range is engaged only while the machine hardly turns",
        hazard: "H-02",
        formula: "always (two_speed_valve rises implies abs(ramp_left - ramp_right) <= 2 * shift_turning_limit + 2 %)",
    },
    Requirement {
        id: "R-34",
        sentence: "The fast range is left only below the shifting speed, at standstill, or with the coil supply",
        hazard: "H-02",
        formula: "always (two_speed_valve falls implies (not coil_supply or (once within 20 ms standstill) or abs(ramp_left + ramp_right) <= 2 * shift_down_below + 2 %))",
    },
    Requirement {
        id: "R-35",
        sentence: "The drive's intent begins at zero at the edge of the deadband",
        hazard: "H-02",
        formula: "always ((lever_pattern = ISO and abs(left_lever_y) <= lever_deadband + 5 %) implies abs(drive_intent) <= 8 %)",
    },
    Requirement {
        id: "R-36",
        sentence: "When every reason for a smaller share is over, the drive has its whole share again",
        hazard: "H-02",
        formula: "always (held for 6 s (load_share >= 99.9 % and temperature_share >= 99.9 % and reach_share >= 99.9 % and active_faults = 0 and permission_drive) implies abs(left_command - ramp_left) <= 1 %)",
    },
    Requirement {
        id: "R-37",
        sentence: "The seat stops the drive only when it was open for the seat delay",
        hazard: "H-02",
        formula: "always ((permission_drive falls and why_not_drive = seat_open) implies held for seat_open_after not seat_occupied)",
    },
    Requirement {
        id: "R-38",
        sentence: "The machine counts as standing only when commands were zero for a while and both motors stand",
        hazard: "H-01",
        formula: "always ((standstill rises implies held for 250 ms (left_command = 0 and right_command = 0)) and (standstill implies (abs(left_motor_speed) <= 16 rpm and abs(right_motor_speed) <= 16 rpm)))",
    },
    Requirement {
        id: "R-39",
        sentence: "The machine is not asked for more reverse than its maximum",
        hazard: "H-02",
        formula: "always mix_left + mix_right + 2 * reverse_maximum >= -2 %",
    },
    Requirement {
        id: "R-40",
        sentence: "Trim takes from the side that it is for",
        hazard: "H-02",
        formula: "always ((lever_pattern = ISO and drive_intent > 5 % and steer_intent = 0) implies ((left_trim < right_trim or mix_left <= mix_right) and (left_trim > right_trim or mix_left >= mix_right)))",
    },
    Requirement {
        id: "R-41",
        sentence: "When boom and bucket lose permission they are asked for nothing within their ramp, float included",
        hazard: "H-04",
        formula: "always (permission_work falls implies within work_decelerate + 20 ms (boom_command = 0 and bucket_command = 0 and not float_active))",
    },
    Requirement {
        id: "R-42",
        sentence: "The permission of the auxiliary does not bring back a continuous flow that nobody asked for anew",
        hazard: "H-01",
        formula: "always (permission_auxiliary rises implies (not continuous_active or once within 150 ms set_continuous_button))",
    },
    Requirement {
        id: "R-43",
        sentence: "After the seat was left the drive is permitted only when the enable button was pressed since",
        hazard: "H-01",
        formula: "always (permission_drive rises implies ((not held for seat_open_after + 50 ms not seat_occupied) since enable_button))",
    },
    Requirement {
        id: "R-44",
        sentence: "Without an oil temperature the drive runs at its cold share",
        hazard: "H-02",
        formula: "always (held for 4 s fault_oil_temperature_sensor implies temperature_share <= cold_share + 20 %)",
    },
];
