//! Where the operator's controls are, as the controller sees them.

use loader::Loader;
use loader::declaration::{Diagnostics, Inputs};
use trunnion::quantity::{Permille, Ratio};
use trunnion_can::FrameFlaw;
use trunnion_can::joystick::{BasicJoystick, ButtonField};
use trunnion_desk::black_box::{Retelling, Tell};

use super::campaign::READY;

/// A box as a story.
pub const RETELLING: Retelling<Loader> = Retelling { hands, lead_in: READY, seconds: 4.0 };

/// Off, run, crank: a key that cranks cannot be told from one that is in `run`.
const KEY_RUN: f64 = 1.0;
const CHOICE_H: f64 = 1.0;
const CHOICE_ISO: f64 = 2.0;

fn hands(inputs: &Inputs, diagnostics: &Diagnostics, tell: &mut Tell<'_>) {
    let yes = |level: bool| f64::from(u8::from(level));
    tell("key", if inputs.key_on { KEY_RUN } else { 0.0 });
    tell("lock_released", yes(inputs.lock_released));
    tell("operator_seated", yes(inputs.seat_occupied));
    tell("restraint_bar", yes(inputs.restraint_bar_down));
    tell("park_brake_switch", yes(inputs.park_brake_off));
    tell("emergency_stop", yes(!(inputs.emergency_stop_first || inputs.emergency_stop_second)));
    tell("enable_button", yes(inputs.enable_button));
    match (inputs.pattern_h_contact, inputs.pattern_iso_contact) {
        (true, false) => tell("pattern_rocker", CHOICE_H),
        (false, true) => tell("pattern_rocker", CHOICE_ISO),
        _ => tell("pattern_rocker", 0.0),
    }
    let supply = f64::from(inputs.sensor_supply.raw());
    let share = f64::from(inputs.hand_throttle_signal.raw()) / supply;
    if share.is_finite() {
        // From a tenth to nine tenths of the supply, as the drawing says.
        tell("hand_throttle", (share - 0.1) / 0.8 * 100.0);
    }
    let percent = |command: Ratio| f64::from(command.to_permille().raw()) / 10.0;
    if diagnostics.left_lever_state == FrameFlaw::None {
        tell("left_lever_x", percent(diagnostics.left_lever_x));
        tell("left_lever_y", percent(diagnostics.left_lever_y));
        tell("left_lever_wheel", percent(diagnostics.left_lever_wheel));
        tell("two_speed_button", yes(is_pressed(inputs.left_lever_basic, 0)));
    }
    if diagnostics.right_lever_state == FrameFlaw::None {
        tell("right_lever_x", percent(diagnostics.right_lever_x));
        tell("right_lever_y", percent(diagnostics.right_lever_y));
        tell("right_lever_wheel", percent(diagnostics.right_lever_wheel));
        tell("float_button", yes(is_pressed(inputs.right_lever_basic, 0)));
        tell("continuous_button", yes(is_pressed(inputs.right_lever_basic, 1)));
    }
}

fn is_pressed(message: u64, button: usize) -> bool {
    let lever = BasicJoystick::parse(&message.to_le_bytes(), Permille::saturating(50));
    lever.buttons.get(button) == Some(&ButtonField::Pressed)
}
