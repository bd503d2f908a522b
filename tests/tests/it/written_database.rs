//! The database of the bus that the papers carry, loaded by cantools.
//!
//! Levers and engine of the plant send to the loader's control program; each frame is taken apart by cantools with the
//! database that is written from the loader's declaration, and means to it what the program's own trace says.

use serde_json::{Value, json};
use trunnion::declare::{ParameterSet, Record};
use trunnion::machine::{Boot, Machine, Stepper};
use trunnion::quantity::{Ratio, Rpm};
use trunnion_can::layout::ALL;
use trunnion_desk::sheets::{database, identifier, message_name};
use trunnion_rig::plant::{
    CanLever, CanLeverConfig, EngineUnit, EngineUnitConfig, Fit, JoystickMessage, LeverAxis,
};

use loader::Loader;
use loader::declaration::inputs::Input;
use loader::declaration::{Inputs, MESSAGES, Parameters};

use crate::oracle::ask;

/// A frame of the run, what the program made of it in the same period, and by which signal cantools should know it.
struct Recorded {
    id: u32,
    data: [u8; 8],
    message: &'static str,
    /// Number, and the flag that gives it a negative sign.
    signal: &'static str,
    negative: &'static str,
    traced: f64,
}

fn lever(message: JoystickMessage, source_address: u8) -> CanLever {
    CanLever::new(CanLeverConfig {
        message,
        source_address,
        period_ms: 20.0,
        phase_ms: 0.0,
        neutral_band: 0.02,
        axes: [Fit::Fitted; 3],
        buttons: 2,
    })
    .unwrap()
}

fn percent(ratio: Ratio) -> f64 {
    f64::from(ratio.to_bits()) / f64::from(Ratio::ONE.to_bits()) * 100.0
}

fn rpm(speed: Rpm) -> f64 {
    f64::from(speed.raw()) / 8.0
}

/// Twenty seconds, a frame of each message every second period, in which both levers and the engine's speed move all the way.
fn recorded_run() -> Vec<Recorded> {
    let parameters = Parameters::default();
    let (left, right) = (parameters.left_lever_address(), parameters.right_lever_address());
    let mut levers = [
        lever(JoystickMessage::Basic(1), left),
        lever(JoystickMessage::Extended(1), left),
        lever(JoystickMessage::Basic(1), right),
    ];
    let config =
        EngineUnitConfig { source_address: parameters.engine_address(), period_ms: 20.0, phase_ms: 0.0 };
    let mut engine = EngineUnit::new(config).unwrap();
    let mut machine = Stepper::<Loader>::start(&Boot::default());
    let mut inputs = Inputs::default();
    let mut recorded = Vec::new();
    for step in 0..1000_i32 {
        let hand = |factor: i32| f64::from(step * factor % 2001 - 1000) / 1000.0;
        levers[0].set_axis(LeverAxis::X, hand(7));
        levers[0].set_axis(LeverAxis::Y, hand(11));
        levers[1].set_axis(LeverAxis::X, hand(13));
        levers[2].set_axis(LeverAxis::Y, hand(17));
        let frames = [levers[0].step(20_000), levers[1].step(20_000), levers[2].step(20_000)];
        let speed = engine.step(20_000, f64::from(800 + step), 0.3).unwrap();
        let [basic, grip, other] = frames.map(Option::unwrap);
        for (place, data) in [
            (Input::left_lever_basic, basic.data),
            (Input::left_lever_extended, grip.data),
            (Input::right_lever_basic, other.data),
            (Input::engine_controller, speed.data),
        ] {
            assert!(inputs.set(place as u16, i64::from_le_bytes(data)));
            // The count of a message follows its data in the declaration.
            assert!(inputs.set(place as u16 + 1, i64::from(step as u8).wrapping_add(1) & 0xFF));
        }
        machine.step(&inputs);
        machine.step(&inputs);
        let seen = machine.machine().diagnostics();
        let mut add = |id, data, message, signal, negative, traced| {
            recorded.push(Recorded { id, data, message, signal, negative, traced });
        };
        add(basic.id, basic.data, "LeftLever_BJM1", "XPosition", "XLeft", percent(seen.left_lever_x));
        add(basic.id, basic.data, "LeftLever_BJM1", "YPosition", "YBack", percent(seen.left_lever_y));
        add(
            grip.id,
            grip.data,
            "LeftLever_EJM1",
            "GripXPosition",
            "GripXLeft",
            percent(seen.left_lever_wheel),
        );
        add(other.id, other.data, "RightLever_BJM1", "YPosition", "YBack", percent(seen.right_lever_y));
        add(speed.id, speed.data, "Engine_EEC1", "EngineSpeed", "", rpm(seen.engine_speed_bus));
    }
    recorded
}

#[test]
fn cantools_loads_it_strictly_and_reads_from_a_run_what_the_programs_own_trace_says() {
    let recorded = recorded_run();
    let frames: Vec<Value> = recorded.iter().map(|frame| json!([frame.id, frame.data.to_vec()])).collect();
    let text = database("the loader", MESSAGES, &Parameters::default());
    let Some(answer) = ask("load_database.py", &json!({ "database": text, "frames": frames })) else {
        return;
    };
    let decoded = answer["decoded"].as_array().unwrap();
    assert_eq!(decoded.len(), recorded.len());
    let mut moved = 0;
    for (frame, decoded) in recorded.iter().zip(decoded) {
        assert_eq!(decoded["message"], frame.message, "{:08X}", frame.id);
        let value = |name: &str| decoded["signals"][name].as_f64().unwrap_or_else(|| panic!("no {name}"));
        let sign = if frame.negative.is_empty() || value(frame.negative) == 0.0 { 1.0 } else { -1.0 };
        // A neutral flag stands for zero, whatever small number comes with it.
        let neutral = frame.signal.replace("Position", "Neutral");
        let rests = frame.signal.ends_with("Position") && value(&neutral) == 1.0;
        let read = if rests { 0.0 } else { sign * value(frame.signal) };
        let difference = (read - frame.traced).abs();
        assert!(difference < 1e-6, "{} {}: {read}, traced {}", frame.message, frame.signal, frame.traced);
        moved += usize::from(read.abs() > 1.0);
    }
    assert!(moved > 4 * 900, "{moved} values were away from zero");
}

#[test]
fn every_message_and_field_of_the_declaration_is_in_the_loaded_database() {
    let text = database("the loader", MESSAGES, &Parameters::default());
    let Some(answer) = ask("load_database.py", &json!({ "database": text, "frames": [] })) else { return };
    let messages = answer["messages"].as_array().unwrap();
    assert_eq!(messages.len(), MESSAGES.len());
    for row in MESSAGES {
        let name = message_name(row);
        let message = messages.iter().find(|message| message["name"] == *name).unwrap();
        let id = identifier(row, &Parameters::default()).unwrap();
        assert_eq!(message["id"], id.to_raw(), "{name}");
        assert_eq!((&message["extended"], &message["bytes"]), (&json!(true), &json!(row.layout.bytes)));
        for field in row.layout.fields {
            let place = json!([field.first, field.bits]);
            assert_eq!(message["fields"][field.name], place, "{name}.{}", field.name);
        }
    }
}

/// The hand-written database of the levers and the engine is from the published layout, not from our table.
#[test]
fn the_table_says_what_the_database_from_the_published_layout_says() {
    let theirs = include_str!("../../python/levers_and_engine.dbc");
    let Some(answer) = ask("load_database.py", &json!({ "database": theirs, "frames": [] })) else { return };
    for message in answer["messages"].as_array().unwrap() {
        let name = message["name"].as_str().unwrap();
        let ours = ALL.iter().find(|layout| layout.name == name).unwrap();
        let fields = message["fields"].as_object().unwrap();
        assert_eq!(fields.len(), ours.fields.len(), "{name}");
        for field in ours.fields {
            assert_eq!(fields[field.name], json!([field.first, field.bits]), "{name}.{}", field.name);
            let spn = message["numbers"][field.name].as_u64();
            assert_eq!(spn.filter(|spn| *spn > 0), field.spn.map(u64::from), "{name}.{}", field.name);
        }
    }
}

#[test]
fn every_slot_that_a_message_is_kept_in_is_an_input_with_a_count_behind_it() {
    assert!(Parameters::RULES.len() > 10);
    for row in MESSAGES.iter().filter(|row| !row.slot.is_empty()) {
        let place = Inputs::FIELDS.iter().position(|field| field.name == row.slot).unwrap();
        assert_eq!(Inputs::FIELDS[place + 1].name, format!("{}_count", row.slot));
    }
}
