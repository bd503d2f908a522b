//! What must hold on the roller whatever happens: watched in every run.

use trunnion_rig::requirement::Requirement;

/// The hazards that the requirements answer. The list is this example's own; a machine's risk assessment
/// (ISO 12100; for rollers EN 500 or the ISO 20500 series, from memory) decides on a real one.
pub const HAZARDS: &[(&str, &str)] = &[
    ("H-01", "The machine moves without being asked to"),
    ("H-02", "The machine does not do what the operator asks"),
    ("H-03", "The machine rolls away on a slope"),
    ("H-04", "The machine drives with nobody in the seat"),
    ("H-05", "The levers of the other station move the machine"),
    ("H-06", "The machine rolls and cannot be steered"),
    ("H-07", "The drum vibrates on one spot, and damages ground or building"),
    ("H-08", "Somebody is caught in the joint"),
];

/// Requirements of every run.
pub const REQUIREMENTS: &[Requirement] = &[
    Requirement {
        id: "R-01",
        sentence: "No coil of the drive is driven while its last gate is closed and no test runs",
        hazard: "H-01",
        formula: "always (held for 20 ms (not gate_drive = open and self_test = done) implies max(drive_forward_duty, drive_reverse_duty) = 0 %)",
    },
    Requirement {
        id: "R-02",
        sentence: "No coil of steering or vibration is driven while its last gate is closed and no test runs",
        hazard: "H-01",
        formula: "always ((held for 20 ms (not gate_steer = open and self_test = done) implies max(steer_left_duty, steer_right_duty) = 0 %) and (held for 20 ms (not gate_vibration = open and self_test = done) implies max(vibration_high_duty, vibration_low_duty) = 0 %))",
    },
    Requirement {
        id: "R-03",
        sentence: "Both coils of a pair are never driven together",
        hazard: "H-02",
        formula: "always (min(drive_forward_duty, drive_reverse_duty) = 0 % and min(steer_left_duty, steer_right_duty) = 0 % and min(vibration_high_duty, vibration_low_duty) = 0 %)",
    },
    Requirement {
        id: "R-04",
        sentence: "When the drive loses permission its command is at zero within the longer deceleration and one period",
        hazard: "H-01",
        formula: "always (permission_drive falls implies ((within forward_decelerate + 10 ms drive_command = 0) or (within reverse_decelerate + 10 ms drive_command = 0)))",
    },
    Requirement {
        id: "R-05",
        sentence: "In a controlled stop the drive neither speeds up nor turns round",
        hazard: "H-02",
        formula: "always (stop_drive = controlled implies (abs(drive_command) <= abs(previous(drive_command)) and abs(drive_command - previous(drive_command)) <= abs(previous(drive_command))))",
    },
    Requirement {
        id: "R-06",
        sentence: "Permission comes only after the lever was neutral for the hold time",
        hazard: "H-01",
        formula: "always ((permission_drive rises implies held for neutral_hold drive_neutral) and (permission_steer rises implies held for neutral_hold steer_neutral))",
    },
    Requirement {
        id: "R-07",
        sentence: "The command passes between stations only at standstill with all levers released, or known to be broken, for the hold time",
        hazard: "H-05",
        formula: "always (station changes implies ((held for station_hold may_hand_over) and abs(true_speed) < 0.1 m/s and drive_command = 0))",
    },
    Requirement {
        id: "R-08",
        sentence: "A station that does not command moves nothing: without its lever the drive is asked for nothing",
        hazard: "H-05",
        formula: "always ((station = left and abs(left_drive_lever) < 5 % implies drive_intent = 0) and (station = right and abs(right_drive_lever) < 5 % implies drive_intent = 0) and (station = none implies (drive_intent = 0 and steer_intent = 0)))",
    },
    Requirement {
        id: "R-09",
        sentence: "Nobody in either seat for the seat delay: the drive is not permitted",
        hazard: "H-04",
        formula: "always (held for seat_open_after + 20 ms not (left_seat_occupied or right_seat_occupied) implies not permission_drive)",
    },
    Requirement {
        id: "R-10",
        sentence: "Nobody in either seat and the machine at rest: the joint is not moved",
        hazard: "H-08",
        formula: "always (held for 1.1 s (standstill and not (left_seat_occupied or right_seat_occupied) and self_test = done) implies max(steer_left_duty, steer_right_duty) = 0 %)",
    },
    Requirement {
        id: "R-11",
        sentence: "The drive is asked for nothing before the brake is open, and the brake is not closed while it is",
        hazard: "H-02",
        formula: "always (not drive_command = 0 implies (park_brake_valve or stop_drive = immediate or why_not_drive = charge_pressure_low))",
    },
    Requirement {
        id: "R-12",
        sentence: "The brake is lifted only with permission or until the stop is over",
        hazard: "H-03",
        formula: "always (park_brake_valve implies (permission_drive or once within brake_time_out + 20 ms permission_drive))",
    },
    Requirement {
        id: "R-13",
        sentence: "A brake that was closed for two seconds holds the machine",
        hazard: "H-03",
        formula: "always (held for 2 s not park_brake_valve implies abs(true_speed) < 0.02 m/s)",
    },
    Requirement {
        id: "R-14",
        sentence: "The drum is not driven to vibrate on one spot",
        hazard: "H-07",
        formula: "always (held for vibration_fall + 0.5 s abs(true_speed) < 0.1 m/s implies vibration_command = 0)",
    },
    Requirement {
        id: "R-15",
        sentence: "The drum is driven to vibrate only with permission of the drive, or while it runs down",
        hazard: "H-01",
        formula: "always (abs(vibration_command) > abs(previous(vibration_command)) implies (permission_drive and vibration_on))",
    },
    Requirement {
        id: "R-16",
        sentence: "The amplitude changes only while the drum rests",
        hazard: "H-02",
        formula: "always ((amplitude changes and not amplitude = none) implies (vibration_command = 0 and abs(true_vibration) < 65 rpm))",
    },
    Requirement {
        id: "R-17",
        sentence: "The reverse alarm sounds while the machine rolls in reverse",
        hazard: "H-01",
        formula: "always (held for 0.3 s true_speed < -0.2 m/s implies reverse_alarm)",
    },
    Requirement {
        id: "R-18",
        sentence: "The starter turns only with all levers neutral and the brake on",
        hazard: "H-01",
        formula: "always (start_permit implies (drive_sequence = braked and all_neutral))",
    },
    Requirement {
        id: "R-19",
        sentence: "Emergency stop or key off: supply cut, brake on, and no coil driven",
        hazard: "H-01",
        formula: "always (held for 60 ms (not (emergency_stop_first and emergency_stop_second and key_on)) implies (not coil_supply and not park_brake_valve and max(drive_forward_duty, drive_reverse_duty, steer_left_duty, steer_right_duty, vibration_high_duty, vibration_low_duty) = 0 %))",
    },
    Requirement {
        id: "R-20",
        sentence: "An immediate stop leaves less than a tenth of a threshold current after 50 ms",
        hazard: "H-01",
        formula: "always (held for 60 ms (stop_drive = immediate and self_test = done) implies true_drive_current < 42 mA)",
    },
    Requirement {
        id: "R-21",
        sentence: "The faster the machine, the less of the steering acts, and never less than the floor",
        hazard: "H-02",
        formula: "always (abs(steer_asked) <= abs(steer_intent) and (held for 50 ms abs(travel_motor_speed) >= 1800 rpm implies abs(steer_asked) <= 35.1 %) and (permission_steer implies abs(steer_asked) >= abs(steer_intent) * 0.349))",
    },
    Requirement {
        id: "R-22",
        sentence: "While the machine rolls, the loss of the drive's permission leaves the steering",
        hazard: "H-06",
        formula: "always ((stop_drive = controlled and not why_not_drive = fault and not why_not_drive = supply_low) implies (permission_steer or why_not_steer = levers_not_neutral or why_not_steer = press_enable or why_not_steer = self_test))",
    },
    Requirement {
        id: "R-23",
        sentence: "A function is permitted exactly when nothing is left to say why not",
        hazard: "H-02",
        formula: "always ((permission_drive or why_not_drive_all > 0) and (permission_steer or why_not_steer_all > 0) and (permission_vibration or why_not_vibration_all > 0) and (permission_drive implies why_not_drive_all = 0) and (permission_steer implies why_not_steer_all = 0) and (permission_vibration implies why_not_vibration_all = 0))",
    },
    Requirement {
        id: "R-24",
        sentence: "The operator is not thrown about but by the closed brake",
        hazard: "H-02",
        formula: "always (abs(true_acceleration) < 4.2 m/s^2)",
    },
    Requirement {
        id: "R-25",
        sentence: "One station lamp at most is steady: that of the station in command",
        hazard: "H-05",
        formula: "always ((held for 1.1 s left_station_lamp implies station = left) and (held for 1.1 s right_station_lamp implies station = right))",
    },
];
