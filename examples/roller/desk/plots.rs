//! How the roller's runs are drawn: from lever to motion.

use trunnion_desk::report::{Lane, PlotGroup, Stroke};

/// All groups; the first is the picture of a run.
pub fn plots() -> Vec<PlotGroup> {
    vec![from_lever_to_motion(), drum(), permission(), supply_and_engine()]
}

fn from_lever_to_motion() -> PlotGroup {
    PlotGroup {
        title: "From lever to motion".into(),
        caption: "Both drive levers, what the sequence and the ramp let through, what the coils carry, what the machine does.".into(),
        lanes: vec![
            Lane::new("Drive levers", "%")
                .styled("left_drive_lever", "left", 0, Stroke::Solid)
                .styled("right_drive_lever", "right", 1, Stroke::Solid)
                .between(-100.0, 100.0),
            Lane::new("Stations", "").line("station", "in command").line("station_waiting", "waits"),
            Lane::new("Drive", "%")
                .styled("drive_asked", "asked", 2, Stroke::Dashed)
                .styled("drive_command", "ramp", 2, Stroke::Solid)
                .between(-100.0, 100.0),
            Lane::new("Drive and brake", "")
                .line("drive_sequence", "sequence")
                .line("park_brake_valve", "brake valve"),
            Lane::new("Drive pump coils", "mA")
                .styled("drive_forward_current", "forward", 2, Stroke::Solid)
                .styled("drive_reverse_current", "reverse", 2, Stroke::Dashed),
            Lane::new("Speed", "m/s").line("true_speed", "drum"),
            Lane::new("Steering", "%")
                .styled("steer_intent", "lever in command", 3, Stroke::Dashed)
                .styled("steer_asked", "at this speed", 3, Stroke::Dashed)
                .styled("steer_command", "ramp, right positive", 3, Stroke::Solid)
                .between(-100.0, 100.0),
            Lane::new("Joint", "deg").line("true_joint_angle", "left positive"),
        ],
    }
}

fn drum() -> PlotGroup {
    PlotGroup {
        title: "The drum".into(),
        caption: "Switched on by the button, driven at compacting speeds only.".into(),
        lanes: vec![
            Lane::new("Travel motor", "rpm").line("travel_motor_speed", "negative in reverse"),
            Lane::new("Vibration", "")
                .line("vibration_on", "switched on")
                .line("why_not_vibration", "why not")
                .line("amplitude", "amplitude"),
            Lane::new("Command", "%")
                .line("vibration_command", "large amplitude positive")
                .between(-100.0, 100.0),
            Lane::new("Vibration coils", "mA")
                .line("vibration_high_current", "large amplitude")
                .line("vibration_low_current", "small amplitude"),
            Lane::new("Eccentric shaft", "rpm").line("true_vibration", "large amplitude positive"),
        ],
    }
}

fn permission() -> PlotGroup {
    PlotGroup {
        title: "Permission".into(),
        caption: "Neutral start, stops, last gates, panel.".into(),
        lanes: vec![
            Lane::new("Drive", "")
                .line("start_phase_drive", "neutral start")
                .line("why_not_drive", "why not"),
            Lane::new("Steering", "")
                .line("start_phase_steer", "neutral start")
                .line("why_not_steer", "why not"),
            Lane::new("Stops", "").line("stop_drive", "drive").line("stop_steer", "steering"),
            Lane::new("Last gates", "")
                .line("gate_drive", "drive")
                .line("gate_steer", "steering")
                .line("gate_vibration", "vibration"),
            Lane::new("Rest", "").line("standstill", "standstill").line("coil_supply", "coil supply"),
            Lane::new("Panel", "")
                .line("status_lamp", "lamp")
                .line("left_station_lamp", "left station")
                .line("right_station_lamp", "right station")
                .line("vibration_lamp", "vibration")
                .line("reverse_alarm", "reverse alarm"),
        ],
    }
}

fn supply_and_engine() -> PlotGroup {
    PlotGroup {
        title: "Engine, pressure, supply".into(),
        caption: "What the machine lives on.".into(),
        lanes: vec![
            Lane::new("Engine", "rpm").styled("engine_speed", "pickup", 2, Stroke::Solid).styled(
                "engine_speed_bus",
                "bus",
                3,
                Stroke::Dashed,
            ),
            Lane::new("Charge", "bar").line("true_charge_pressure", "charge pressure"),
            Lane::new("Supply", "V").line("true_supply_voltage", "battery"),
        ],
    }
}
