use super::*;
use proptest::prelude::*;

const CONFIG: CanLeverConfig = CanLeverConfig {
    message: JoystickMessage::Basic(1),
    source_address: 0x33,
    period_ms: 20.0,
    phase_ms: 3.0,
    neutral_band: 0.02,
    axes: [Fit::Fitted, Fit::Fitted, Fit::Absent],
    buttons: 12,
};

fn lever() -> CanLever {
    CanLever::new(CONFIG).unwrap()
}

fn hex(data: [u8; 8]) -> String {
    data.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn the_published_vectors_come_out() {
    // Computed from the layout of SAE J1939-71; the second decoded by cantools.
    let mut bare = CanLever::new(CanLeverConfig { buttons: 0, ..CONFIG }).unwrap();
    assert_eq!(hex(bare.encode()), "01000100ffffffff");
    let mut lever = lever();
    lever.set_axis(LeverAxis::X, 0.5);
    lever.set_button(1, ButtonState::Pressed);
    assert_eq!(hex(lever.encode()), "107d0100ff400000");
    lever.set_button(1, ButtonState::Released);
    lever.set_axis(LeverAxis::X, -1.0);
    lever.set_axis(LeverAxis::Y, 0.333);
    assert_eq!(hex(lever.encode()), "04fa5053ff000000");
    bare.set_fault(LeverFault::AxisError(LeverAxis::X));
    bare.config.axes[1] = Fit::Absent;
    assert_eq!(hex(bare.encode()), "aaffffffffffffff");
}

#[test]
fn frames_carry_identifier_and_time_of_their_schedule() {
    let mut lever = lever();
    let frames: Vec<BusFrame> = (0..50).filter_map(|_| lever.step(1000)).collect();
    assert_eq!(frames.iter().map(|frame| frame.at_us).collect::<Vec<_>>(), [3000, 23_000, 43_000]);
    assert!(frames.iter().all(|frame| frame.id == 0x0cfd_d633));
}

#[test]
fn parameter_groups_of_all_six_messages_are_the_published_ones() {
    let group = |message| CanLever::new(CanLeverConfig { message, ..CONFIG }).unwrap().parameter_group();
    assert_eq!([1, 2, 3].map(|number| group(JoystickMessage::Basic(number))), [64_982, 64_984, 64_986]);
    assert_eq!([1, 2, 3].map(|number| group(JoystickMessage::Extended(number))), [64_983, 64_985, 64_987]);
    assert!(CanLever::new(CanLeverConfig { message: JoystickMessage::Basic(4), ..CONFIG }).is_err());
}

#[test]
fn each_button_has_its_two_bits() {
    for number in 1..=12u8 {
        let mut lever = lever();
        lever.set_button(number, ButtonState::Pressed);
        let index = usize::from(number - 1);
        let mut expected = [0u8; 3];
        expected[index / 4] = 0b01 << (6 - 2 * (index % 4));
        assert_eq!(lever.encode()[5..], expected, "button {number}");
    }
}

#[test]
fn detents_sit_in_the_high_bits_of_their_byte() {
    let mut lever = lever();
    lever.set_detent(LeverAxis::Y, ButtonState::Pressed);
    lever.set_detent(LeverAxis::X, ButtonState::Released);
    assert_eq!(lever.encode()[4], 0b0001_1111);
}

#[test]
fn the_extended_message_carries_theta_in_bytes_five_and_six() {
    let config = CanLeverConfig {
        message: JoystickMessage::Extended(1),
        axes: [Fit::Fitted, Fit::Absent, Fit::Fitted],
        ..CONFIG
    };
    let mut lever = CanLever::new(config).unwrap();
    lever.set_axis(LeverAxis::Theta, -0.5);
    assert_eq!(hex(lever.encode()), "0100ffff047dffff");
}

#[test]
fn faults_show_on_the_wire() {
    let mut lever = lever();
    lever.set_axis(LeverAxis::Y, 0.4);
    let healthy = lever.encode();
    let y = |lever: &CanLever| {
        let data = lever.encode();
        ((u16::from(data[3]) << 2) | u16::from(data[2] >> 6), data[2] & 0x3f)
    };
    assert_eq!(y(&lever), (400, 0b01_00_00));
    for (fault, position, flags) in [
        (LeverFault::AxisNotAvailable(LeverAxis::Y), 1023, 0b11_11_11),
        (LeverFault::AxisRaw(LeverAxis::Y, 1010), 1010, 0b01_00_00),
        (LeverFault::AxisFlags(LeverAxis::Y, FlagFault::NeutralAndDirection), 400, 0b01_00_01),
        (LeverFault::AxisFlags(LeverAxis::Y, FlagFault::BothDirections), 400, 0b01_01_00),
        (LeverFault::AxisFlags(LeverAxis::Y, FlagFault::NoneSet), 400, 0),
        (LeverFault::AxisFlags(LeverAxis::Y, FlagFault::NeutralOverPosition), 600, 0b00_00_01),
        (LeverFault::AxisFlags(LeverAxis::Y, FlagFault::Error), 400, 0b10_10_10),
    ] {
        lever.set_fault(fault);
        assert_eq!(y(&lever), (position, flags), "{fault:?}");
        assert_eq!(lever.encode()[..2], healthy[..2], "the other axis is untouched");
    }
    lever.set_fault(LeverFault::Button(2, ButtonState::Error));
    assert_eq!(lever.encode()[5], 0b0010_0000);
}

#[test]
fn frozen_data_stay_and_a_wrong_source_moves_the_address() {
    let mut lever = lever();
    lever.set_axis(LeverAxis::X, 0.25);
    lever.set_fault(LeverFault::Frozen);
    lever.set_axis(LeverAxis::X, -1.0);
    let frame = (0..50).find_map(|_| lever.step(1000)).unwrap();
    assert_eq!(frame.data[..2], [0x90, 62]);
    lever.set_fault(LeverFault::WrongSource(0x44));
    let frame = (0..50).find_map(|_| lever.step(1000)).unwrap();
    assert_eq!(frame.id, 0x0cfd_d644);
    assert_eq!(frame.data[..2], [0x04, 250]);
    lever.set_fault(LeverFault::Lost);
    assert!((0..500).all(|_| lever.step(1000).is_none()));
}

proptest! {
    #[test]
    fn a_healthy_axis_has_one_flag_and_a_position_within_range(deflection in -2.0f64..2.0) {
        let mut lever = lever();
        lever.set_axis(LeverAxis::X, deflection);
        let data = lever.encode();
        let position = (u16::from(data[1]) << 2) | u16::from(data[0] >> 6);
        prop_assert!(position <= 1000);
        let flags = data[0] & 0x3f;
        let clipped = deflection.clamp(-1.0, 1.0);
        let expected = if clipped.abs() <= 0.02 { 0b01 } else if clipped < 0.0 { 0b0100 } else { 0b01_0000 };
        prop_assert_eq!(flags, expected);
        let sent = if flags == 0b01 { 0.0 } else { clipped.abs() };
        prop_assert!((f64::from(position) / 1000.0 - sent).abs() <= 0.0005 + 1e-12);
    }
}
