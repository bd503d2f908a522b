//! What must hold over arbitrary input streams.

use loader::declaration::{Inputs, Parameters};
use proptest::prelude::*;
use trunnion::declare::Record;
use trunnion::guard::GateState;
use trunnion::machine::Machine;

use crate::cab::Cab;

/// Something that happens to the controller.
#[derive(Debug, Clone)]
enum Happening {
    Hands { left: [i32; 3], right: [i32; 3] },
    Buttons { left: bool, right: [bool; 2] },
    Wire { index: u16, raw: i64 },
    Garbage { index: u16, raw: i64, periods: u8 },
    LeversSilent,
    LeversSend,
    Enable,
}

fn lever() -> impl Strategy<Value = [i32; 3]> {
    let position = prop_oneof![2 => Just(0), 3 => -1000..=1000];
    [position.clone().boxed(), position.clone().boxed(), position.boxed()]
}

fn happening() -> impl Strategy<Value = Happening> {
    let wires = 0..Inputs::FIELDS.len() as u16;
    let raw = prop_oneof![Just(0_i64), Just(1), 0..36_000_i64, any::<i64>()];
    prop_oneof![
        6 => (lever(), lever()).prop_map(|(left, right)| Happening::Hands { left, right }),
        1 => any::<(bool, [bool; 2])>().prop_map(|(left, right)| Happening::Buttons { left, right }),
        3 => (wires.clone(), raw.clone()).prop_map(|(index, raw)| Happening::Wire { index, raw }),
        2 => (wires, raw, 1..40_u8).prop_map(|(index, raw, periods)| Happening::Garbage { index, raw, periods }),
        1 => Just(Happening::LeversSilent),
        2 => Just(Happening::LeversSend),
        4 => Just(Happening::Enable),
    ]
}

fn story() -> impl Strategy<Value = Vec<(Happening, u8)>> {
    proptest::collection::vec((happening(), 1..60_u8), 1..14)
}

/// Remembers what the rules look back at.
struct Watch {
    neutral_for: u32,
    was_permitted: bool,
    watching: bool,
}

impl Watch {
    fn check(&mut self, cab: &Cab) -> Result<(), TestCaseError> {
        if !self.watching {
            return Ok(());
        }
        let machine = cab.stepper.machine();
        let now = machine.diagnostics();
        let set = cab.set_points();
        let drive =
            [set.left_pump_forward, set.left_pump_reverse, set.right_pump_forward, set.right_pump_reverse];
        let testing = now.self_test == trunnion::valve::StartUpState::Coils;
        for current in set.currents() {
            prop_assert!(current.raw() <= 1_500);
        }
        if now.gate_drive != GateState::Open {
            let limit = if testing { 300 } else { 0 };
            prop_assert!(
                drive.iter().all(|current| current.raw() <= limit),
                "drive current behind a closed gate"
            );
        }
        self.neutral_for = if now.drive_neutral { self.neutral_for + 1 } else { 0 };
        if now.permission_drive && !self.was_permitted {
            prop_assert!(self.neutral_for >= 10, "permission after {} neutral periods", self.neutral_for);
        }
        self.was_permitted = now.permission_drive;
        if now.permission_drive {
            prop_assert!(cab.inputs.key_on || cab.inputs.emergency_stop_first);
            prop_assert_eq!(now.why_not_drive_all, 0);
        } else {
            prop_assert!(now.why_not_drive_all != 0, "no permission and no reason");
        }
        let duties = cab.fast_outputs;
        for (one, other) in [
            (duties.left_pump_forward, duties.left_pump_reverse),
            (duties.right_pump_forward, duties.right_pump_reverse),
            (duties.boom_raise, duties.boom_lower),
            (duties.bucket_curl, duties.bucket_dump),
            (duties.auxiliary_a, duties.auxiliary_b),
        ] {
            prop_assert!(one.raw() == 0 || other.raw() == 0, "both coils of a pair");
        }
        Ok(())
    }
}

fn happen(cab: &mut Cab, happening: &Happening, watch: &mut Watch) -> Result<(), TestCaseError> {
    match *happening {
        Happening::Hands { left, right } => {
            cab.hands.left = left;
            cab.hands.right = right;
        }
        Happening::Buttons { left, right } => {
            cab.hands.left_button = left;
            cab.hands.right_buttons = right;
        }
        Happening::Wire { index, raw } => {
            cab.inputs.set(index, raw);
        }
        Happening::Garbage { index, raw, periods } => {
            let good = cab.inputs.get(index);
            for period in 0..periods {
                cab.inputs.set(index, raw.wrapping_mul(i64::from(period)));
                cab.step();
                watch.check(cab)?;
            }
            cab.inputs.set(index, good);
        }
        Happening::LeversSilent => cab.levers_send = false,
        Happening::LeversSend => cab.levers_send = true,
        Happening::Enable => {
            cab.inputs.enable_button = true;
            for _ in 0..8 {
                cab.step();
                watch.check(cab)?;
            }
            cab.inputs.enable_button = false;
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn no_output_before_neutral_start_and_none_behind_a_closed_gate(warm in any::<bool>(), story in story()) {
        let mut cab = Cab::new(Parameters::default());
        let mut watch = Watch { neutral_for: 0, was_permitted: false, watching: true };
        if warm {
            cab.permit();
            watch.neutral_for = 1_000;
            watch.was_permitted = cab.stepper.machine().diagnostics().permission_drive;
        }
        for (happening, periods) in &story {
            happen(&mut cab, happening, &mut watch)?;
            for _ in 0..*periods {
                cab.step();
                watch.check(&cab)?;
            }
        }
    }

    #[test]
    fn left_and_right_are_mirror_images(drive in -1000..=1000, steer in -1000..=1000, law in 0..=1, convention in 0..=1) {
        let sides = |steer: i32| {
            let mut parameters = Parameters::default();
            use loader::declaration::Parameter;
            use trunnion::declare::ParameterSet;
            parameters.stage(Parameter::mix_law.id(), law).unwrap();
            parameters.stage(Parameter::reverse_convention.id(), convention).unwrap();
            let mut cab = Cab::new(parameters);
            cab.permit();
            cab.hands.left = [steer, drive, 0];
            cab.run(1_500);
            let now = cab.stepper.machine().diagnostics();
            (now.left_command, now.right_command)
        };
        let (left, right) = sides(steer);
        prop_assert_eq!((right, left), sides(-steer));
    }

    #[test]
    fn the_same_inputs_give_the_same_bits(story in story()) {
        let run = || {
            let mut cab = Cab::new(Parameters::default());
            cab.permit();
            let mut watch = Watch { neutral_for: 0, was_permitted: false, watching: false };
            for (happening, periods) in &story {
                happen(&mut cab, happening, &mut watch)?;
                cab.run(u32::from(*periods) * 10);
            }
            Ok::<_, TestCaseError>((cab.stepper.machine().diagnostics(), cab.set_points(), cab.outputs))
        };
        prop_assert_eq!(run()?, run()?);
    }
}
