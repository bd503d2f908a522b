//! The same frames through cantools and a DBC.
//!
//! `levers_and_engine.dbc` says where each signal lies, from the layout of SAE J1939-71 as two device makers' public
//! data sheets confirm it (twist axis: from memory of the standard). cantools takes frames apart and puts them
//! together by it; the core and the plant have to mean the same bits.

use std::collections::HashMap;

use serde_json::{Value, json};
use trunnion::quantity::{Permille, Ratio, Rpm};
use trunnion_can::engine::{Eec1, SpeedField};
use trunnion_can::id::Id29;
use trunnion_can::joystick::{AxisField, BasicJoystick, ButtonField, ExtendedJoystick, FlagField};
use trunnion_rig::plant::{
    ButtonState, CanLever, CanLeverConfig, EngineUnit, EngineUnitConfig, Fit, JoystickMessage, LeverAxis,
    SplitMix64,
};

use crate::oracle::ask;

const BAND: Permille = Permille::new(50).unwrap();

/// One frame as cantools reads it.
struct Decoded {
    message: String,
    priority: u8,
    source: u8,
    /// The bits of each signal.
    raw: HashMap<String, u16>,
    /// In the signal's unit.
    value: HashMap<String, f64>,
}

/// What the script says; nothing where there is no Python environment.
fn cantools(frames: &[(u32, [u8; 8])], signals: Vec<Value>) -> Option<(Vec<Decoded>, Vec<[u8; 8]>)> {
    let frames: Vec<_> = frames.iter().map(|(id, data)| json!([id, digits(data)])).collect();
    let answer = ask("decode_frames.py", &json!({ "decode": frames, "encode": signals }))?;
    let list = |value: &Value| value.as_array().expect("a list").clone();
    let decoded = list(&answer["decoded"]).into_iter().map(|frame| {
        let message = frame["message"].as_str().expect("a message").to_owned();
        let names = list(&answer["signals"][&message]);
        let names = || names.iter().map(|name| name.as_str().expect("a name").to_owned());
        let raw = list(&frame["raw"]).into_iter().map(|raw| raw.as_u64().expect("bits") as u16);
        let value = list(&frame["value"]).into_iter().map(|value| value.as_f64().expect("a number"));
        Decoded {
            priority: frame["priority"].as_u64().expect("a priority") as u8,
            source: frame["source"].as_u64().expect("an address") as u8,
            raw: names().zip(raw).collect(),
            value: names().zip(value).collect(),
            message,
        }
    });
    let encoded = list(&answer["encoded"]);
    let encoded = encoded.iter().map(|frame| bytes(frame.as_str().expect("a frame")));
    Some((decoded.collect(), encoded.collect()))
}

fn digits(data: &[u8; 8]) -> String {
    data.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn bytes(digits: &str) -> [u8; 8] {
    let number = u64::from_str_radix(digits, 16).expect("16 digits");
    number.to_be_bytes()
}

impl Decoded {
    fn raw(&self, signal: &str) -> u16 {
        *self.raw.get(signal).unwrap_or_else(|| panic!("no `{signal}` in {}", self.message))
    }

    fn value(&self, signal: &str) -> f64 {
        *self.value.get(signal).unwrap_or_else(|| panic!("no `{signal}` in {}", self.message))
    }

    /// What an axis means by the raw ranges of SAE J1939-71: 0–1000 position, 1022 error, 1023 not available,
    /// the rest reserved; flags 01 set, 10 error, 11 not available; exactly one flag set, neutral only within
    /// the band.
    fn axis(&self, axis: &str, negative: &str, positive: &str) -> AxisField {
        let number = self.raw(&format!("{axis}Position"));
        let flags = ["Neutral", negative, positive].map(|flag| self.raw(&format!("{axis}{flag}")));
        let position = |permille: i32, neutral| AxisField::Position {
            position: Ratio::from_permille(permille).expect("up to 1000"),
            neutral,
        };
        let magnitude = i32::from(number);
        match (number, flags) {
            (1022, _) | (_, [2, _, _] | [_, 2, _] | [_, _, 2]) => AxisField::Error,
            (1023, _) | (_, [3, _, _] | [_, 3, _] | [_, _, 3]) => AxisField::NotAvailable,
            (1001..=1021, _) => AxisField::Reserved,
            (0..=50, [1, 0, 0]) => position(0, true),
            (_, [0, 1, 0]) => position(-magnitude, false),
            (_, [0, 0, 1]) => position(magnitude, false),
            _ => AxisField::Inconsistent,
        }
    }

    fn flag(&self, signal: &str) -> FlagField {
        let fields = [FlagField::No, FlagField::Yes, FlagField::Error, FlagField::NotAvailable];
        fields[usize::from(self.raw(signal))]
    }

    fn basic(&self) -> BasicJoystick {
        let fields =
            [ButtonField::Released, ButtonField::Pressed, ButtonField::Error, ButtonField::NotAvailable];
        let buttons = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]
            .map(|number| fields[usize::from(self.raw(&format!("Button{number}")))]);
        BasicJoystick {
            x: self.axis("X", "Left", "Right"),
            y: self.axis("Y", "Back", "Forward"),
            x_detent: self.flag("XDetent"),
            y_detent: self.flag("YDetent"),
            buttons,
        }
    }

    fn extended(&self) -> ExtendedJoystick {
        ExtendedJoystick {
            grip_x: self.axis("GripX", "Left", "Right"),
            grip_y: self.axis("GripY", "Back", "Forward"),
            theta: self.axis("Theta", "Anticlockwise", "Clockwise"),
            x_detent: self.flag("GripXDetent"),
            y_detent: self.flag("GripYDetent"),
        }
    }
}

/// Any bits, and likely frames with a few bits turned: the first are almost never a position.
fn frames_of_all_kinds(count: usize) -> Vec<[u8; 8]> {
    let mut random = SplitMix64::new(64_982);
    let mut frame = |kind: usize| -> [u8; 8] {
        if kind.is_multiple_of(2) {
            return random.next_u64().to_le_bytes();
        }
        let mut word = 0_u64;
        for place in [0, 16, 32] {
            let number = random.next_u64() % 1024;
            let flag = 1 << (2 * (random.next_u64() % 3));
            word |= (number << 6 | flag) << place;
        }
        word |= random.next_u64() & 0x5555_0000_0000_0000;
        if kind % 4 == 3 {
            word ^= 1 << (random.next_u64() % 64);
        }
        word.to_le_bytes()
    };
    (0..count).map(&mut frame).collect()
}

#[test]
fn frames_of_all_kinds_mean_to_the_core_what_the_database_says() {
    let frames = frames_of_all_kinds(2000);
    let basic = frames.iter().map(|data| (0x0CFD_D621, *data));
    let extended = frames.iter().map(|data| (0x0CFD_D721, *data));
    let both: Vec<_> = basic.chain(extended).collect();
    let Some((decoded, _)) = cantools(&both, vec![]) else { return };
    let mut positions = 0;
    for ((_, data), decoded) in both.iter().zip(&decoded) {
        if decoded.message == "BJM1" {
            let read = BasicJoystick::parse(data, BAND);
            assert_eq!(read, decoded.basic(), "{}", digits(data));
            positions += usize::from(matches!(read.x, AxisField::Position { .. }));
        } else {
            let read = ExtendedJoystick::parse(data, BAND);
            assert_eq!((decoded.message.as_str(), read), ("EJM1", decoded.extended()), "{}", digits(data));
            positions += usize::from(matches!(read.theta, AxisField::Position { .. }));
        }
    }
    assert!(positions > 800, "{positions} positions: the rest were complaints");
}

fn lever(message: JoystickMessage) -> CanLever {
    CanLever::new(CanLeverConfig {
        message,
        source_address: 0x33,
        period_ms: 10.0,
        phase_ms: 0.0,
        neutral_band: 0.0,
        axes: [Fit::Fitted; 3],
        buttons: 12,
    })
    .unwrap()
}

/// Sign by the flags, magnitude in percent.
fn deflection(decoded: &Decoded, axis: &str, negative: &str, positive: &str) -> f64 {
    let set = |flag: &str| f64::from(decoded.raw(&format!("{axis}{flag}")));
    let sign = set(positive) - set(negative);
    assert_eq!(set("Neutral"), 1.0 - sign.abs(), "exactly one flag");
    sign * decoded.value(&format!("{axis}Position")) / 100.0
}

#[test]
fn an_ordinary_tool_reads_from_the_plants_lever_what_the_hand_does() {
    let (mut main, mut grip) = (lever(JoystickMessage::Basic(1)), lever(JoystickMessage::Extended(1)));
    let hand =
        |step: i32, axis: i32| f64::from((step * (37 + 14 * axis) + 500 * axis) % 2001 - 1000) / 1000.0;
    let mut frames = Vec::new();
    for step in 0..2001 {
        for lever in [&mut main, &mut grip] {
            lever.set_axis(LeverAxis::X, hand(step, 0));
            lever.set_axis(LeverAxis::Y, hand(step, 1));
            lever.set_axis(LeverAxis::Theta, hand(step, 2));
            let (pressed, released) = ((step % 12) as u8 + 1, ((step + 11) % 12) as u8 + 1);
            lever.set_button(pressed, ButtonState::Pressed);
            lever.set_button(released, ButtonState::Released);
            let frame = lever.step(10_000).unwrap();
            frames.push((frame.id, frame.data));
        }
    }
    let Some((decoded, _)) = cantools(&frames, vec![]) else { return };
    let close = |found: f64, set: f64| (found - set).abs() < 1e-9;
    for (step, pair) in (0..).zip(decoded.chunks_exact(2)) {
        let [main, grip] = pair else { unreachable!("chunks of two") };
        assert_eq!((main.message.as_str(), main.priority, main.source), ("BJM1", 3, 0x33));
        assert_eq!((grip.message.as_str(), grip.priority, grip.source), ("EJM1", 3, 0x33));
        assert!(close(deflection(main, "X", "Left", "Right"), hand(step, 0)), "X at step {step}");
        assert!(close(deflection(main, "Y", "Back", "Forward"), hand(step, 1)), "Y at step {step}");
        assert!(close(deflection(grip, "GripX", "Left", "Right"), hand(step, 0)), "grip X at step {step}");
        assert!(close(deflection(grip, "GripY", "Back", "Forward"), hand(step, 1)), "grip Y at step {step}");
        let twist = deflection(grip, "Theta", "Anticlockwise", "Clockwise");
        assert!(close(twist, hand(step, 2)), "twist at step {step}");
        for number in 1..=12 {
            let pressed = main.raw(&format!("Button{number}"));
            assert_eq!(pressed, u16::from(number == step % 12 + 1), "button {number} at step {step}");
        }
    }
}

#[test]
fn the_core_reads_from_an_ordinary_tool_what_it_was_told_to_send() {
    let flags = |permille: i32| {
        let sign = permille.signum();
        [u8::from(sign == 0), u8::from(sign < 0), u8::from(sign > 0)]
    };
    let mut signals = Vec::new();
    for permille in -1000..=1000_i32 {
        let ([xn, xl, xr], [yn, yb, yf]) = (flags(permille), flags(-permille));
        let mut basic = json!({
            "XNeutral": xn, "XLeft": xl, "XRight": xr, "XPosition": permille.abs(),
            "YNeutral": yn, "YBack": yb, "YForward": yf, "YPosition": permille.abs(),
            "XDetent": 0, "YDetent": 1,
        });
        for number in 1..=12 {
            basic[format!("Button{number}")] = json!((permille + number).rem_euclid(4));
        }
        signals.push(json!(["BJM1", basic]));
    }
    let Some((_, frames)) = cantools(&[], signals) else { return };
    let fields = [ButtonField::Released, ButtonField::Pressed, ButtonField::Error, ButtonField::NotAvailable];
    for (permille, frame) in (-1000..=1000_i32).zip(frames) {
        let position = |permille: i32| AxisField::Position {
            position: Ratio::from_permille(permille).unwrap(),
            neutral: permille == 0,
        };
        let expected = BasicJoystick {
            x: position(permille),
            y: position(-permille),
            x_detent: FlagField::No,
            y_detent: FlagField::Yes,
            buttons: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]
                .map(|number| fields[(permille + number).rem_euclid(4) as usize]),
        };
        assert_eq!(BasicJoystick::parse(&frame, BAND), expected, "{permille} ‰: {}", digits(&frame));
        // Bits that belong to nobody are set by us and by cantools' padding alike.
        assert_eq!(expected.emit(), frame, "{permille} ‰");
    }
}

/// 0.125 rpm a bit from 0; torque 1 % a bit from −125 % (from memory of SAE J1939-71).
#[test]
fn an_ordinary_tool_reads_the_plants_engine_as_the_core_does() {
    let mut unit =
        EngineUnit::new(EngineUnitConfig { source_address: 0, period_ms: 10.0, phase_ms: 0.0 }).unwrap();
    let mut frames = vec![(0x18F0_0400, [0xFF, 0x7D, 0x7D, 0xE0, 0x15, 0xFF, 0xF0, 0xFF])];
    let driven = |step: i32| (f64::from(step) * 20.125, f64::from(step % 201 - 100) / 100.0);
    for step in 0..400 {
        let (speed_rpm, torque_share) = driven(step);
        let frame = unit.step(10_000, speed_rpm, torque_share).unwrap();
        frames.push((frame.id, frame.data));
    }
    let Some((decoded, _)) = cantools(&frames, vec![]) else { return };
    for ((id, data), decoded) in frames.iter().zip(&decoded) {
        let id = Id29::from_raw(*id).unwrap();
        assert_eq!(
            ("EEC1", id.priority(), id.source()),
            (&*decoded.message, decoded.priority, decoded.source)
        );
        let eighths = i32::from(decoded.raw("EngineSpeed"));
        assert_eq!(Eec1::parse(data).speed, SpeedField::Valid(Rpm::new(eighths).unwrap()));
    }
    assert_eq!((decoded[0].value("EngineSpeed"), decoded[0].priority), (700.0, 6));
    for (step, decoded) in (0..).zip(&decoded[1..]) {
        let (speed_rpm, torque_share) = driven(step);
        assert_eq!(decoded.value("EngineSpeed"), speed_rpm);
        assert_eq!(decoded.value("ActualTorque"), (100.0 * torque_share).round());
    }
}
