use super::*;
use crate::joystick::{BasicJoystick, ButtonField, ExtendedJoystick};
use proptest::prelude::*;
use std::string::ToString;
use trunnion::quantity::{Millis, Permille};

const TICK: Period = Period::from_micros(10_000).unwrap();

/// A frame a tick: the time-out is three ticks, the start-up window ten.
fn config() -> BusLeverConfig {
    BusLeverConfig {
        period: Millis::millis(10),
        start_up: Millis::millis(100),
        neutral_band: Permille::new(50).unwrap(),
        most_frames: 4,
        wheel: WheelAxis::GripY,
        fitted_buttons: 0b1000_0000_0011,
    }
}

fn lever() -> BusLever {
    BusLever::new(config(), TICK).unwrap()
}

fn axis() -> impl Strategy<Value = AxisField> {
    let position = (-1000_i32..=1000).prop_map(|permille| AxisField::Position {
        position: Ratio::from_permille(permille).unwrap(),
        neutral: false,
    });
    prop_oneof![
        8 => position,
        4 => Just(AxisField::Position { position: Ratio::ZERO, neutral: true }),
        1 => Just(AxisField::Error),
        1 => Just(AxisField::NotAvailable),
        1 => Just(AxisField::Reserved),
        1 => Just(AxisField::Inconsistent),
    ]
}

fn button() -> impl Strategy<Value = ButtonField> {
    prop_oneof![
        20 => Just(ButtonField::Released),
        10 => Just(ButtonField::Pressed),
        1 => Just(ButtonField::Error),
        1 => Just(ButtonField::NotAvailable),
    ]
}

fn basic() -> impl Strategy<Value = BasicJoystick> {
    (axis(), axis(), prop::array::uniform12(button())).prop_map(|(x, y, buttons)| BasicJoystick {
        x,
        y,
        buttons,
        ..BasicJoystick::default()
    })
}

fn data(frame: &BasicJoystick) -> u64 {
    u64::from_le_bytes(frame.emit())
}

fn complaint(axis: AxisField) -> Option<FrameFlaw> {
    match axis {
        AxisField::Position { .. } => None,
        AxisField::Error => Some(FrameFlaw::ErrorValue),
        AxisField::NotAvailable => Some(FrameFlaw::NotAvailable),
        AxisField::Reserved => Some(FrameFlaw::Reserved),
        AxisField::Inconsistent => Some(FrameFlaw::Inconsistent),
    }
}

fn is_neutral(axis: AxisField) -> bool {
    matches!(axis, AxisField::Position { neutral: true, .. })
}

fn position(axis: AxisField) -> Ratio {
    match axis {
        AxisField::Position { position, .. } => position,
        _ => Ratio::ZERO,
    }
}

/// Used: both axes, then buttons 1, 2 and 12, which are fitted.
fn verdict(frame: &BasicJoystick) -> Option<FrameFlaw> {
    let buttons = [0, 1, 11].map(|place| match frame.buttons[place] {
        ButtonField::Error => Some(FrameFlaw::ErrorValue),
        ButtonField::NotAvailable => Some(FrameFlaw::NotAvailable),
        _ => None,
    });
    let axes = [complaint(frame.x), complaint(frame.y)];
    axes.into_iter().chain(buttons).flatten().next()
}

proptest! {
    /// The rules by their words over the whole history of frames, `None` for a tick without one.
    #[test]
    fn readings_follow_from_the_last_valid_frame_and_its_age(
        history in proptest::collection::vec(prop::option::weighted(0.6, basic()), 1..60)
    ) {
        let mut lever = lever();
        let mut count = 0_u8;
        let mut latest_data = u64::MAX;
        for step in 0..history.len() {
            if let Some(frame) = &history[step] {
                count = count.wrapping_add(1);
                latest_data = data(frame);
            }
            let reading = lever.step((latest_data, count), (u64::MAX, 0));
            let seen = history[..=step].iter().rev().enumerate();
            let latest = seen.clone().find_map(|(age, frame)| Some((age, frame.as_ref()?)));
            let valid = seen.filter_map(|(age, frame)| Some((age, frame.as_ref()?))).find(|(_, frame)| verdict(frame).is_none());
            let fresh = valid.filter(|(age, _)| *age < 3).map(|(_, frame)| frame);
            prop_assert_eq!(reading.fresh, fresh.is_some());
            prop_assert_eq!(reading.new_frame, valid.is_some_and(|(age, _)| age == 0));
            prop_assert_eq!(reading.x, fresh.map_or(Ratio::ZERO, |frame| position(frame.x)));
            prop_assert_eq!(reading.y, fresh.map_or(Ratio::ZERO, |frame| position(frame.y)));
            for place in 0..12 {
                let fitted = [0, 1, 11].contains(&place);
                let pressed = fresh.is_some_and(|frame| frame.buttons[place] == ButtonField::Pressed);
                prop_assert_eq!(reading.buttons[place], fitted && pressed);
            }
            let expected = match (valid, latest) {
                (None, _) if step < 10 => FrameFlaw::Waiting,
                (_, Some((age, frame))) if age < 3 => verdict(frame).unwrap_or(FrameFlaw::None),
                (None, _) => FrameFlaw::NeverSeen,
                (Some(_), _) => FrameFlaw::Lost,
            };
            prop_assert_eq!(reading.flaw, expected);
            let released = fresh.is_some_and(|frame| is_neutral(frame.x) && is_neutral(frame.y));
            prop_assert_eq!(reading.neutral, released && expected == FrameFlaw::None);
        }
    }

    #[test]
    fn whatever_comes_a_lever_that_is_not_fresh_asks_for_nothing(
        steps in proptest::collection::vec(any::<(u64, u8, u64, u8)>(), 1..100)
    ) {
        let mut lever = lever();
        for (basic, basic_count, extended, extended_count) in steps {
            let reading = lever.step((basic, basic_count % 2), (extended, extended_count % 2));
            if !reading.fresh {
                prop_assert!(reading.x.is_zero() && reading.y.is_zero() && reading.buttons == [false; 12]);
                prop_assert!(!reading.neutral && reading.flaw != FrameFlaw::None);
            }
            if !reading.wheel_fresh {
                prop_assert!(reading.wheel.is_zero() && !reading.wheel_neutral);
                prop_assert!(reading.wheel_flaw != FrameFlaw::None);
            }
            prop_assert!(!reading.neutral || (reading.x.is_zero() && reading.y.is_zero()));
        }
    }
}

#[test]
fn the_wheel_is_the_configured_axis_and_has_its_own_health() {
    let at =
        |permille| AxisField::Position { position: Ratio::from_permille(permille).unwrap(), neutral: false };
    let grip =
        ExtendedJoystick { grip_x: at(100), grip_y: at(200), theta: at(300), ..ExtendedJoystick::default() };
    let extended = u64::from_le_bytes(grip.emit());
    for (wheel, permille) in [(WheelAxis::GripX, 100), (WheelAxis::GripY, 200), (WheelAxis::Theta, 300)] {
        let mut lever = BusLever::new(BusLeverConfig { wheel, ..config() }, TICK).unwrap();
        let reading = lever.step((u64::MAX, 0), (extended, 1));
        assert_eq!(reading.wheel, Ratio::from_permille(permille).unwrap());
        assert!(reading.wheel_fresh && reading.new_wheel_frame && !reading.wheel_neutral);
        assert_eq!(
            (reading.fresh, reading.flaw, reading.wheel_flaw),
            (false, FrameFlaw::Waiting, FrameFlaw::None)
        );
    }
    let released = AxisField::Position { position: Ratio::ZERO, neutral: true };
    let grip = ExtendedJoystick { grip_y: released, ..ExtendedJoystick::default() };
    assert!(
        lever().step((u64::MAX, 0), (u64::from_le_bytes(grip.emit()), 1)).wheel_neutral,
        "other axes are not used"
    );
}

#[test]
fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
    let mut lever = lever();
    let good = config();
    for (config, message) in [
        (
            BusLeverConfig { neutral_band: Permille::new(-1).unwrap(), ..good },
            "neutral_band is -1 ‰; it must be 0 to 200 ‰",
        ),
        (
            BusLeverConfig { neutral_band: Permille::new(201).unwrap(), ..good },
            "neutral_band is 201 ‰; it must be 0 to 200 ‰",
        ),
        (
            BusLeverConfig { fitted_buttons: 0x1000, ..good },
            "fitted_buttons is 0x1000; a lever has twelve: bits of 0x0FFF",
        ),
        (BusLeverConfig { period: Millis::millis(5), ..good }, "period is 5 ms; it must be 10 ms to 150 ms"),
    ] {
        assert_eq!(lever.reconfigure(config).unwrap_err().to_string(), message);
        assert_eq!(
            (lever.fitted.buttons, lever.fitted.neutral_band),
            (config::fields(good.fitted_buttons), good.neutral_band)
        );
    }
}

#[test]
fn a_reset_forgets_the_position_until_the_next_frame() {
    let mut lever = lever();
    let right = BasicJoystick {
        x: AxisField::Position { position: Ratio::ONE, neutral: false },
        y: AxisField::Position { position: Ratio::ZERO, neutral: true },
        buttons: [ButtonField::Released; 12],
        ..BasicJoystick::default()
    };
    assert_eq!(lever.step((data(&right), 1), (u64::MAX, 0)).x, Ratio::ONE);
    lever.reset();
    assert_eq!(lever.step((data(&right), 1), (u64::MAX, 0)), LeverReading::default());
    assert_eq!(lever.step((data(&right), 2), (u64::MAX, 0)).x, Ratio::ONE);
}

proptest! {
    #[test]
    fn a_frame_is_read_as_the_whole_message_is(axes in any::<u32>(), buttons in any::<u32>(), flags in 0u8..64, fitted in 0u16..1 << 12) {
        // Flags of every kind, and often a number that is a position.
        let axes = (axes & 0x7fc0_7fc0) | u32::from(flags) | u32::from(flags.rotate_left(3) & 63) << 16;
        let data = u64::from(axes) | u64::from(buttons) << 32;
        let mut lever = BusLever::new(BusLeverConfig { fitted_buttons: fitted, ..config() }, TICK).unwrap();
        let reading = lever.step((data, 1), (data, 1));
        let band = config().neutral_band;
        let basic = BasicJoystick::parse(&data.to_le_bytes(), band);
        let wheel = ExtendedJoystick::parse(&data.to_le_bytes(), band).grip_x;
        let flaw = |axis| held(axis).1;
        let button = |button: &ButtonField| match button {
            ButtonField::Error => FrameFlaw::ErrorValue,
            ButtonField::NotAvailable => FrameFlaw::NotAvailable,
            ButtonField::Pressed | ButtonField::Released => FrameFlaw::None,
        };
        let is_fitted = |place: usize| fitted >> place & 1 == 1;
        let buttons = basic.buttons.iter().enumerate().filter(|(place, _)| is_fitted(*place)).map(|(_, field)| button(field));
        let expected = [flaw(basic.x), flaw(basic.y)].into_iter().chain(buttons).find(|flaw| *flaw != FrameFlaw::None);
        prop_assert_eq!(lever.basic_cause(), expected.unwrap_or(FrameFlaw::None));
        if expected.is_none() {
            prop_assert_eq!((reading.x, reading.y), (held(basic.x).0.position, held(basic.y).0.position));
            for (place, field) in basic.buttons.iter().enumerate() {
                prop_assert_eq!(reading.buttons[place], is_fitted(place) && *field == ButtonField::Pressed);
            }
        }
        if flaw(wheel) == FrameFlaw::None && config().wheel == WheelAxis::GripX {
            prop_assert_eq!(reading.wheel, held(wheel).0.position);
        }
    }
}

impl BusLever {
    fn basic_cause(&self) -> FrameFlaw {
        self.basic.cause()
    }
}
