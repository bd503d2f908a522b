//! The loader's fault campaign: what it may be doing when something breaks.

mod expected;

use trunnion_rig::campaign::{Allowed, Charter, Group, Limb, Path, State};

macro_rules! ready {
    ($more:literal) => {
        concat!(
            "set       engine_running = yes, hand_throttle = 70 %, key = run, operator_seated = yes, restraint_bar = down\n",
            "set       lock_released = yes, park_brake_switch = off, pattern_rocker = iso\n",
            "at 2.4 s  enable_button = yes\n",
            "at 2.7 s  enable_button = no\n",
            $more
        )
    };
}

const STANDING: Allowed = Allowed { metres: 0.1, degrees: 3.0, stop_metres: 0.1, stop_degrees: 3.0 };
/// What leads to a machine that is permitted and at rest, after 4 s.
pub const READY: &str = ready!("");

/// A machine that stops may do so on a curve: one side a little earlier than the other. The stop of a sound machine
/// that is let go takes half a metre.
const TRAVELLING: Allowed = Allowed { metres: 0.3, degrees: 12.0, stop_metres: 0.8, stop_degrees: 12.0 };
/// A machine that spins comes to rest on an arc.
const SPINNING: Allowed = Allowed { stop_degrees: 20.0, ..TRAVELLING };

const STATES: &[State] = &[
    State {
        name: "start_up",
        about: "the start-up tests run",
        story: "set       engine_running = yes, hand_throttle = 70 %, key = run, operator_seated = yes, restraint_bar = down\nset       lock_released = yes, park_brake_switch = off, pattern_rocker = iso\n",
        seconds: 0.2,
        seen: "not self_test = done",
        allowed: STANDING,
    },
    State {
        name: "not_asked",
        about: "everything is in place, and nobody has asked for permission",
        story: "set       engine_running = yes, hand_throttle = 70 %, key = run, operator_seated = yes, restraint_bar = down\nset       lock_released = yes, park_brake_switch = off, pattern_rocker = iso\n",
        seconds: 3.0,
        seen: "self_test = done and not permission_drive and standstill",
        allowed: STANDING,
    },
    State {
        name: "at_rest",
        about: "permitted, at rest",
        story: ready!(""),
        seconds: 4.0,
        seen: "permission_drive and permission_work and permission_auxiliary and standstill",
        allowed: STANDING,
    },
    State {
        name: "driving",
        about: "straight ahead",
        story: ready!("at 3 s    left_lever_y moves to 60 % over 0.3 s\n"),
        seconds: 5.0,
        seen: "permission_drive and true_forward_speed > 0.5 m/s",
        allowed: TRAVELLING,
    },
    State {
        name: "reversing",
        about: "straight back",
        story: ready!("at 3 s    left_lever_y moves to -60 % over 0.3 s\n"),
        seconds: 5.0,
        seen: "permission_drive and true_forward_speed < -0.3 m/s",
        allowed: TRAVELLING,
    },
    State {
        name: "spinning",
        about: "on the spot, to the right",
        story: ready!("at 3 s    left_lever_x moves to 60 % over 0.3 s\n"),
        seconds: 5.0,
        seen: "permission_drive and abs(true_yaw_rate) > 10 deg/s",
        allowed: SPINNING,
    },
    State {
        name: "curving",
        about: "ahead and to the left",
        story: ready!(
            "at 3 s    left_lever_y moves to 60 % over 0.3 s, left_lever_x moves to -30 % over 0.3 s\n"
        ),
        seconds: 5.0,
        seen: "permission_drive and true_forward_speed > 0.3 m/s and abs(true_yaw_rate) > 3 deg/s",
        allowed: TRAVELLING,
    },
    State {
        name: "ramping_down",
        about: "the lever is released at speed",
        story: ready!("at 3 s    left_lever_y moves to 60 % over 0.3 s\nat 5 s    left_lever_y = 0 %\n"),
        seconds: 5.2,
        seen: "permission_drive and true_forward_speed > 0.3 m/s and left_lever_y = 0 %",
        allowed: TRAVELLING,
    },
    State {
        name: "working",
        about: "boom and bucket move",
        story: ready!(
            "at 3 s    right_lever_y moves to -50 % over 0.3 s, right_lever_x moves to 40 % over 0.3 s\n"
        ),
        seconds: 4.0,
        seen: "permission_work and abs(boom_command) > 10 % and abs(bucket_command) > 10 %",
        allowed: STANDING,
    },
    State {
        name: "lowering",
        about: "boom down and bucket back, the auxiliary flows backwards",
        story: ready!(
            "at 3 s    right_lever_y moves to -70 % over 0.3 s\nat 4.5 s  right_lever_y moves to 40 % over 0.3 s, right_lever_x moves to -40 % over 0.3 s, right_lever_wheel moves to -60 % over 0.3 s\n"
        ),
        seconds: 5.5,
        seen: "permission_work and boom_command < -10 % and bucket_command < -10 % and auxiliary_command < -10 %",
        allowed: STANDING,
    },
    State {
        name: "floating",
        about: "the boom floats",
        story: ready!("at 3 s    float_button = yes\nat 3.3 s  float_button = no\n"),
        seconds: 4.0,
        seen: "permission_work and float_active",
        allowed: STANDING,
    },
    State {
        name: "auxiliary",
        about: "the auxiliary flows",
        story: ready!("at 3 s    right_lever_wheel moves to 60 % over 0.3 s\n"),
        seconds: 4.0,
        seen: "permission_auxiliary and auxiliary_command > 10 %",
        allowed: STANDING,
    },
    State {
        name: "pattern_change",
        about: "the rocker is turned, and a lever not yet released",
        story: ready!("at 4 s    left_lever_y = 8 %, pattern_rocker = h\n"),
        seconds: 4.5,
        seen: "lever_pattern = ISO and pattern_mismatch",
        allowed: STANDING,
    },
    State {
        name: "pushing",
        about: "the bucket is in the pile, the engine droops",
        story: ready!("set       pile_distance = 1.5 m\nat 3 s    left_lever_y moves to 100 % over 0.3 s\n"),
        seconds: 6.5,
        seen: "permission_drive and true_pile_penetration > 0.05 m",
        allowed: TRAVELLING,
    },
    State {
        name: "service_routine",
        about: "a tester sweeps the boom coil",
        story: ready!("at 3.5 s  tester = sweeps_boom_raise\n"),
        seconds: 5.0,
        seen: "tester_drives",
        allowed: STANDING,
    },
];

const GROUPS: &[Group] = &[
    Group {
        permission: "permission_drive",
        why_not: "why_not_drive",
        held_by: &["left_lever_x", "left_lever_y"],
        driven_by: &[
            "left_pump_forward_duty",
            "left_pump_reverse_duty",
            "right_pump_forward_duty",
            "right_pump_reverse_duty",
        ],
    },
    Group {
        permission: "permission_work",
        why_not: "why_not_work",
        held_by: &["right_lever_x", "right_lever_y"],
        driven_by: &[
            "boom_raise_duty",
            "boom_lower_duty",
            "boom_float_duty",
            "bucket_curl_duty",
            "bucket_dump_duty",
        ],
    },
    Group {
        permission: "permission_auxiliary",
        why_not: "why_not_auxiliary",
        held_by: &["right_lever_wheel"],
        driven_by: &["auxiliary_a_duty", "auxiliary_b_duty"],
    },
];

/// The loader's campaign.
pub const CHARTER: Charter = Charter {
    states: STATES,
    rules: expected::RULES,
    together: expected::TOGETHER,
    one_thing: expected::ONE_THING,
    groups: GROUPS,
    pairs: &[
        ("left_pump_forward_duty", "left_pump_reverse_duty"),
        ("right_pump_forward_duty", "right_pump_reverse_duty"),
        ("boom_raise_duty", "boom_lower_duty"),
        ("bucket_curl_duty", "bucket_dump_duty"),
        ("auxiliary_a_duty", "auxiliary_b_duty"),
    ],
    longest_stop_ms: 2_500,
    tested: Some(("self_test", "done")),
    path: Some(Path { columns: ["true_x", "true_y", "true_yaw"], permission: "permission_drive" }),
    limbs: &[
        Limb { position: "true_boom_position", permission: "permission_work", allowed: 5.0 },
        Limb { position: "true_bucket_position", permission: "permission_work", allowed: 5.0 },
    ],
    let_go: &[
        (
            0,
            "left_lever_x = 0 %, left_lever_y = 0 %, right_lever_x = 0 %, right_lever_y = 0 %, right_lever_wheel = 0 %",
        ),
        (0, "tester = silent"),
        (1_200, "enable_button = yes"),
        (1_500, "enable_button = no"),
    ],
};
