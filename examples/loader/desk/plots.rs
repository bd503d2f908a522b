//! How the loader's runs are drawn: from lever to motion, left always in the same colour.

use trunnion_desk::report::{Lane, PlotGroup, Stroke};

const LEFT: u8 = 0;
const RIGHT: u8 = 1;

/// All groups; the first is the picture of the README.
pub fn plots() -> Vec<PlotGroup> {
    vec![from_lever_to_motion(), permission(), work(), supply_and_engine()]
}

fn from_lever_to_motion() -> PlotGroup {
    PlotGroup {
        title: "From lever to motion".into(),
        caption: "What the operator asks, what the mix makes of it, what the ramp lets through, what the coils carry, what the machine does.".into(),
        lanes: vec![
            Lane::new("Left lever", "%")
                .styled("left_lever_y", "fore and aft", 2, Stroke::Solid)
                .styled("left_lever_x", "sideways", 3, Stroke::Solid)
                .between(-100.0, 100.0),
            Lane::new("Mix (dashed) and ramp", "%")
                .styled("mix_left", "left asked", LEFT, Stroke::Dashed)
                .styled("mix_right", "right asked", RIGHT, Stroke::Dashed)
                .styled("ramp_left", "left", LEFT, Stroke::Solid)
                .styled("ramp_right", "right", RIGHT, Stroke::Solid)
                .between(-100.0, 100.0),
            Lane::new("State of motion", "").line("motion_state", "state").line("motion_phase", "ramp"),
            Lane::new("Pump coils", "mA")
                .styled("left_pump_forward_current", "left forward", LEFT, Stroke::Solid)
                .styled("left_pump_reverse_current", "left reverse", LEFT, Stroke::Dashed)
                .styled("right_pump_forward_current", "right forward", RIGHT, Stroke::Solid)
                .styled("right_pump_reverse_current", "right reverse", RIGHT, Stroke::Dashed),
            Lane::new("Wheels", "m/s")
                .styled("true_left_speed", "left", LEFT, Stroke::Solid)
                .styled("true_right_speed", "right", RIGHT, Stroke::Solid)
                .styled("true_forward_speed", "machine", 4, Stroke::Dashed),
            Lane::new("Yaw rate", "deg/s").line("true_yaw_rate", "counter-clockwise"),
        ],
    }
}

fn permission() -> PlotGroup {
    PlotGroup {
        title: "Permission".into(),
        caption: "Neutral start, stops, last gates and the park brake.".into(),
        lanes: vec![
            Lane::new("Neutral start of the drive", "")
                .line("start_phase_drive", "drive")
                .line("why_not_drive", "why not"),
            Lane::new("Neutral start of boom and bucket", "")
                .line("start_phase_work", "work")
                .line("why_not_work", "why not"),
            Lane::new("Stops", "")
                .line("stop_drive", "drive")
                .line("stop_work", "work")
                .line("stop_auxiliary", "auxiliary"),
            Lane::new("Last gates", "")
                .line("gate_drive", "drive")
                .line("gate_work", "work")
                .line("gate_auxiliary", "auxiliary"),
            Lane::new("Rest", "")
                .line("standstill", "standstill")
                .line("park_brake", "park brake")
                .line("coil_supply", "coil supply"),
            Lane::new("Panel", "")
                .line("status_lamp", "lamp")
                .line("reverse_alarm", "reverse alarm")
                .line("lever_pattern", "pattern")
                .line("pattern_h_lamp", "H lamp")
                .line("pattern_iso_lamp", "ISO lamp"),
        ],
    }
}

fn work() -> PlotGroup {
    PlotGroup {
        title: "Boom, bucket, auxiliary".into(),
        caption: "From the right lever to the cylinders.".into(),
        lanes: vec![
            Lane::new("Right lever", "%")
                .line("right_lever_y", "fore and aft")
                .line("right_lever_x", "sideways")
                .line("right_lever_wheel", "thumb-wheel")
                .between(-100.0, 100.0),
            Lane::new("Commands after their ramps", "%")
                .line("boom_command", "boom, raise positive")
                .line("bucket_command", "bucket, dump positive")
                .line("auxiliary_command", "auxiliary")
                .between(-100.0, 100.0),
            Lane::new("Spool coils", "mA")
                .line("boom_raise_current", "boom raise")
                .line("boom_lower_current", "boom lower")
                .line("bucket_curl_current", "bucket curl")
                .line("bucket_dump_current", "bucket dump")
                .line("auxiliary_a_current", "auxiliary A"),
            Lane::new("Cylinders", "%")
                .line("true_boom_position", "boom")
                .line("true_bucket_position", "bucket")
                .between(0.0, 100.0),
            Lane::new("Load", "kg").line("true_payload", "in the bucket"),
        ],
    }
}

fn supply_and_engine() -> PlotGroup {
    PlotGroup {
        title: "Engine, pressures, supply".into(),
        caption: "What the drive takes from the engine and what anti-stall gives back.".into(),
        lanes: vec![
            Lane::new("Engine", "rpm")
                .styled("engine_speed_expected", "asked by the hand throttle", 4, Stroke::Dashed)
                .styled("engine_speed", "pickup", 2, Stroke::Solid)
                .styled("engine_speed_bus", "bus", 3, Stroke::Dashed),
            Lane::new("Shares left to the drive", "%")
                .line("load_share", "engine droop")
                .line("temperature_share", "oil temperature")
                .line("reach_share", "reachable currents")
                .between(0.0, 100.0),
            Lane::new("Drive loops", "bar").styled("true_left_pressure", "left", LEFT, Stroke::Solid).styled(
                "true_right_pressure",
                "right",
                RIGHT,
                Stroke::Solid,
            ),
            Lane::new("Charge and work pump", "bar")
                .line("true_charge_pressure", "charge")
                .line("true_work_pressure", "work pump"),
            Lane::new("Supply", "V").line("true_supply_voltage", "battery"),
        ],
    }
}
