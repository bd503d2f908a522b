//! Lever frames: Basic and Extended Joystick Message.
//!
//! Layout: SAE J1939-71, confirmed in two device makers' public data sheets; the twist axis of the extended message
//! is from memory of the standard. Raw ranges: 10 bits, 0–1000 position, 1022 error, 1023
//! not available; two bits, 00 01 10 error 11 not available (SAE J1939-71). Frames below are computed from the
//! layout; the second of them was decoded by cantools as well.
//!
//! The plant's lever writes frames without knowing the core's decoder, and the decoder was written without
//! knowing the plant: what one means the other must read.

use trunnion::quantity::{Permille, Ratio};
use trunnion_can::id::{Id29, pgn};
use trunnion_can::joystick::{AxisField, BasicJoystick, ButtonField, ExtendedJoystick, FlagField};
use trunnion_rig::plant::{
    ButtonState, CanLever, CanLeverConfig, Fit, FlagFault, JoystickMessage, LeverAxis, LeverFault,
    SplitMix64, broadcast_id,
};

const BAND: Permille = Permille::new(50).unwrap();
const NEUTRAL: AxisField = AxisField::Position { position: Ratio::ZERO, neutral: true };
const AXES: [LeverAxis; 3] = [LeverAxis::X, LeverAxis::Y, LeverAxis::Theta];
const BASIC: JoystickMessage = JoystickMessage::Basic(1);
const EXTENDED: JoystickMessage = JoystickMessage::Extended(1);

fn lever(message: JoystickMessage, neutral_band: f64) -> CanLever {
    CanLever::new(CanLeverConfig {
        message,
        source_address: 0x21,
        period_ms: 10.0,
        phase_ms: 0.0,
        neutral_band,
        axes: [Fit::Fitted; 3],
        buttons: 12,
    })
    .unwrap()
}

fn frame(lever: &mut CanLever) -> [u8; 8] {
    lever.step(10_000).expect("a frame each period").data
}

fn position(permille: i32) -> AxisField {
    AxisField::Position { position: Ratio::from_permille(permille).unwrap(), neutral: false }
}

/// X, Y and twist of a frame of either message; the basic one has no twist.
fn read(message: JoystickMessage, data: &[u8; 8]) -> [AxisField; 3] {
    match message {
        JoystickMessage::Basic(_) => {
            let basic = BasicJoystick::parse(data, BAND);
            [basic.x, basic.y, AxisField::NotAvailable]
        }
        JoystickMessage::Extended(_) => {
            let extended = ExtendedJoystick::parse(data, BAND);
            [extended.grip_x, extended.grip_y, extended.theta]
        }
    }
}

/// The axes that a message has.
fn axes(message: JoystickMessage) -> &'static [LeverAxis] {
    match message {
        JoystickMessage::Basic(_) => &AXES[..2],
        JoystickMessage::Extended(_) => &AXES,
    }
}

#[test]
fn frames_of_the_published_layout_mean_the_same_to_both() {
    let neutral = lever(BASIC, 0.05);
    let mut half_right = lever(BASIC, 0.05);
    half_right.set_axis(LeverAxis::X, 0.5);
    half_right.set_button(1, ButtonState::Pressed);
    let mut left_and_forward = lever(BASIC, 0.05);
    left_and_forward.set_axis(LeverAxis::X, -1.0);
    left_and_forward.set_axis(LeverAxis::Y, 0.333);
    let mut broken = CanLever::new(CanLeverConfig {
        axes: [Fit::Fitted, Fit::Absent, Fit::Absent],
        buttons: 0,
        ..config_of_a_bare_lever()
    })
    .unwrap();
    broken.set_fault(LeverFault::AxisError(LeverAxis::X));
    let bare = CanLever::new(config_of_a_bare_lever()).unwrap();

    let zero_buttons = [0x00; 3];
    for (mut lever, axes, buttons, x, y) in [
        (bare, [0x01, 0x00, 0x01, 0x00], [0xFF; 3], NEUTRAL, NEUTRAL),
        (neutral, [0x01, 0x00, 0x01, 0x00], zero_buttons, NEUTRAL, NEUTRAL),
        (half_right, [0x10, 0x7D, 0x01, 0x00], [0x40, 0x00, 0x00], position(500), NEUTRAL),
        (left_and_forward, [0x04, 0xFA, 0x50, 0x53], zero_buttons, position(-1000), position(333)),
        (broken, [0xAA, 0xFF, 0xFF, 0xFF], [0xFF; 3], AxisField::Error, AxisField::NotAvailable),
    ] {
        let [a, b, c, d] = axes;
        let [e, f, g] = buttons;
        let published = [a, b, c, d, 0xFF, e, f, g];
        assert_eq!(frame(&mut lever), published, "the plant writes it");
        let read = BasicJoystick::parse(&published, BAND);
        assert_eq!((read.x, read.y), (x, y), "the core reads it");
        assert_eq!(read.emit(), published, "the core writes it");
    }
}

fn config_of_a_bare_lever() -> CanLeverConfig {
    CanLeverConfig {
        message: BASIC,
        source_address: 0x21,
        period_ms: 10.0,
        phase_ms: 0.0,
        neutral_band: 0.05,
        axes: [Fit::Fitted; 3],
        buttons: 0,
    }
}

#[test]
fn every_position_of_every_axis_is_read_as_it_was_set() {
    for message in [BASIC, EXTENDED] {
        for &axis in axes(message) {
            let mut lever = lever(message, 0.0);
            for permille in -1000..=1000_i32 {
                lever.set_axis(axis, f64::from(permille) / 1000.0);
                let read = read(message, &frame(&mut lever));
                for (place, &other) in axes(message).iter().enumerate() {
                    let expected = if other == axis && permille != 0 { position(permille) } else { NEUTRAL };
                    assert_eq!(read[place], expected, "{message:?} {axis:?} at {permille} ‰, read {other:?}");
                }
            }
        }
    }
}

#[test]
fn what_the_core_writes_at_a_position_is_what_the_plant_writes() {
    let mut lever = lever(BASIC, 0.0);
    for permille in (-1000..=1000_i32).filter(|permille| *permille != 0) {
        lever.set_axis(LeverAxis::X, f64::from(permille) / 1000.0);
        lever.set_axis(LeverAxis::Y, f64::from(-permille) / 1000.0);
        let buttons = [ButtonField::Released; 12];
        let ours =
            BasicJoystick { x: position(permille), y: position(-permille), buttons, ..Default::default() };
        assert_eq!(ours.emit(), frame(&mut lever), "{permille} ‰");
    }
}

#[test]
fn inside_its_own_band_the_lever_says_neutral_and_is_read_so() {
    let mut lever = lever(BASIC, 0.05);
    for permille in -80..=80_i32 {
        lever.set_axis(LeverAxis::Y, f64::from(permille) / 1000.0);
        let [x, y, _] = read(BASIC, &frame(&mut lever));
        assert_eq!(x, NEUTRAL);
        assert_eq!(y, if permille.abs() <= 50 { NEUTRAL } else { position(permille) }, "{permille} ‰");
    }
}

#[test]
fn each_raw_number_under_right_flags_is_what_its_range_says() {
    for message in [BASIC, EXTENDED] {
        for &axis in axes(message) {
            let mut lever = lever(message, 0.0);
            lever.set_axis(axis, -0.4);
            for raw in 0..=1023_u16 {
                lever.set_fault(LeverFault::AxisRaw(axis, raw));
                let read = read(message, &frame(&mut lever))[axis as usize];
                let expected = match raw {
                    0..=1000 => position(-i32::from(raw)),
                    1001..=1021 => AxisField::Reserved,
                    1022 => AxisField::Error,
                    _ => AxisField::NotAvailable,
                };
                assert_eq!(read, expected, "{message:?} {axis:?} raw {raw}");
            }
        }
    }
}

/// Exactly one of neutral, negative and positive is set, and neutral comes with a magnitude inside the band.
#[test]
fn flags_that_contradict_are_no_position() {
    for message in [BASIC, EXTENDED] {
        for &axis in axes(message) {
            for deflection in [-1.0, -0.3, 0.3, 1.0] {
                let mut lever = lever(message, 0.05);
                lever.set_axis(axis, deflection);
                for (fault, expected) in [
                    (FlagFault::NeutralAndDirection, AxisField::Inconsistent),
                    (FlagFault::BothDirections, AxisField::Inconsistent),
                    (FlagFault::NoneSet, AxisField::Inconsistent),
                    (FlagFault::NeutralOverPosition, AxisField::Inconsistent),
                    (FlagFault::Error, AxisField::Error),
                    (FlagFault::NotAvailable, AxisField::NotAvailable),
                ] {
                    lever.set_fault(LeverFault::AxisFlags(axis, fault));
                    let read = read(message, &frame(&mut lever));
                    assert_eq!(read[axis as usize], expected, "{message:?} {axis:?} {fault:?}");
                }
                for (fault, expected) in [
                    (LeverFault::AxisError(axis), AxisField::Error),
                    (LeverFault::AxisNotAvailable(axis), AxisField::NotAvailable),
                ] {
                    lever.set_fault(fault);
                    assert_eq!(read(message, &frame(&mut lever))[axis as usize], expected, "{fault:?}");
                }
            }
        }
    }
}

#[test]
fn every_state_of_every_button_is_read_at_its_own_place() {
    let states = [
        (ButtonState::Released, ButtonField::Released),
        (ButtonState::Pressed, ButtonField::Pressed),
        (ButtonState::Error, ButtonField::Error),
        (ButtonState::NotAvailable, ButtonField::NotAvailable),
    ];
    for number in 1..=12_u8 {
        for (state, field) in states {
            let mut lever = lever(BASIC, 0.05);
            lever.set_button(number, state);
            let mut expected = [ButtonField::Released; 12];
            expected[usize::from(number) - 1] = field;
            assert_eq!(BasicJoystick::parse(&frame(&mut lever), BAND).buttons, expected);
            lever.set_button(number, ButtonState::Released);
            lever.set_fault(LeverFault::Button(number, state));
            assert_eq!(BasicJoystick::parse(&frame(&mut lever), BAND).buttons, expected);
        }
    }
}

#[test]
fn every_state_of_every_detent_is_read_at_its_own_place() {
    let states = [
        (ButtonState::Released, FlagField::No),
        (ButtonState::Pressed, FlagField::Yes),
        (ButtonState::Error, FlagField::Error),
        (ButtonState::NotAvailable, FlagField::NotAvailable),
    ];
    for message in [BASIC, EXTENDED] {
        for (x, x_field) in states {
            for (y, y_field) in states {
                let mut lever = lever(message, 0.05);
                lever.set_detent(LeverAxis::X, x);
                lever.set_detent(LeverAxis::Y, y);
                let data = frame(&mut lever);
                let basic = BasicJoystick::parse(&data, BAND);
                let extended = ExtendedJoystick::parse(&data, BAND);
                let (found_x, found_y) = match message {
                    JoystickMessage::Basic(_) => (basic.x_detent, basic.y_detent),
                    JoystickMessage::Extended(_) => (extended.x_detent, extended.y_detent),
                };
                assert_eq!((found_x, found_y), (x_field, y_field), "{message:?}");
            }
        }
    }
}

/// PGN 64982, 64984, 64986 basic, 64983, 64985, 64987 extended (SAE J1939-71), default priority 3: 0x0CFDD6SA.
#[test]
fn identifiers_of_the_levers_are_the_published_ones() {
    let groups = [
        (JoystickMessage::Basic(1), 64_982, pgn::BASIC_JOYSTICK_1),
        (JoystickMessage::Extended(1), 64_983, pgn::EXTENDED_JOYSTICK_1),
        (JoystickMessage::Basic(2), 64_984, pgn::BASIC_JOYSTICK_2),
        (JoystickMessage::Extended(2), 64_985, pgn::EXTENDED_JOYSTICK_2),
        (JoystickMessage::Basic(3), 64_986, pgn::BASIC_JOYSTICK_3),
        (JoystickMessage::Extended(3), 64_987, pgn::EXTENDED_JOYSTICK_3),
    ];
    for (message, published, core) in groups {
        let mut lever = lever(message, 0.05);
        assert_eq!((lever.parameter_group(), core), (published, published));
        let id = lever.step(10_000).unwrap().id;
        assert_eq!(id, 0x0C00_0021 | (published << 8));
        assert_eq!(Some(Id29::from_raw(id).unwrap()), Id29::broadcast(3, published, 0x21));
    }
    assert_eq!(lever(BASIC, 0.05).step(10_000).unwrap().id, 0x0CFD_D621);
}

/// Priority 3 bits, extended data page and data page 1 bit each, format, specific and source 8 bits each; below
/// format 240 the specific byte is the destination (SAE J1939-21).
#[test]
fn any_identifier_comes_apart_as_it_was_put_together() {
    let mut random = SplitMix64::new(21);
    for _ in 0..20_000 {
        let raw = (random.next_u64() & 0x1FFF_FFFF) as u32;
        let id = Id29::from_raw(raw).unwrap();
        let [pages, format, specific, source] = raw.to_be_bytes();
        let pages_of_group = u32::from(pages & 0b11) << 16;
        assert_eq!((id.priority(), id.source()), (pages >> 2, source));
        let group = pages_of_group | u32::from(format) << 8;
        if format < 240 {
            assert_eq!((id.pgn(), id.destination()), (group, Some(specific)));
        } else {
            let group = group | u32::from(specific);
            assert_eq!((id.pgn(), id.destination()), (group, None));
            assert_eq!(broadcast_id(id.priority(), group, source), raw);
        }
    }
}
