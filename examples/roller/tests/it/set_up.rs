//! Start, parameters, refusals, and what the documents say of them.

use proptest::prelude::*;
use roller::Roller;
use roller::control::reasons::Reason;
use roller::declaration::{Coil, Fault, Parameter, Parameters};
use trunnion::declare::{FaultSet, Field, ParameterSet, Refusal};
use trunnion::machine::{Boot, Machine};

use crate::cab::Cab;

#[test]
fn the_defaults_build_a_machine() {
    let (roller, _) = Roller::start(&Boot::default());
    assert_eq!(roller.control().err(), None);
}

#[test]
fn coil_faults_follow_the_order_of_the_coils() {
    for (place, coil) in Coil::ALL.iter().enumerate() {
        let words = format!("{coil:?}").replace('_', "").to_lowercase();
        for base in [Fault::DriveForwardOpen, Fault::DriveForwardShort, Fault::DriveForwardCurrent] {
            let name = Fault::INFO[base as usize + place].name.to_lowercase();
            assert!(name.starts_with(&words), "{name} stands where a fault of {coil:?} should");
        }
    }
}

#[test]
fn every_blink_code_of_a_fault_is_below_the_codes_of_the_reasons() {
    assert!(Fault::RULES.iter().all(|rule| rule.blink < 70));
}

#[test]
fn the_readme_says_what_each_code_of_the_lamp_means() {
    let readme = include_str!("../../README.md").split_whitespace().collect::<Vec<_>>().join(" ");
    let of_vibration = Reason::DriveNotPermitted as usize;
    for (place, word) in Reason::CHOICES.iter().enumerate().take(of_vibration).skip(1) {
        let row = format!("{} {}", 70 + place, word.replace('_', " "));
        assert!(readme.contains(&row), "`{row}` is missing in the roller's README");
    }
}

fn contradictory() -> Parameters {
    let mut parameters = Parameters::default();
    parameters.stage(Parameter::vibration_down_to.id(), 700).unwrap();
    parameters
}

#[test]
fn stored_parameters_that_contradict_one_another_are_replaced_and_nothing_moves() {
    let mut cab = Cab::new(contradictory());
    cab.permit();
    cab.hands[0].drive = 800;
    cab.run(1_000);
    let machine = cab.stepper.machine();
    assert!(machine.is_fault_active(Fault::ParametersReplaced as u16));
    assert!(!machine.diagnostics().permission_drive);
    assert!(cab.set_points().currents().iter().all(|current| current.raw() == 0));
}

#[test]
fn a_live_write_that_contradicts_is_refused_with_its_rule_and_changes_nothing() {
    let mut cab = Cab::new(Parameters::default());
    cab.permit();
    let refused = cab.stepper.reconfigure(&contradictory());
    assert!(matches!(refused, Err(Refusal::Contradiction { id: 0x0802, value: 700, .. })), "{refused:?}");
    let mut staged = Parameters::default();
    staged.stage(Parameter::steer_slow.id(), 1_500).unwrap();
    staged.stage(Parameter::steer_fast.id(), 1_200).unwrap();
    let refused = cab.stepper.reconfigure(&staged);
    assert!(matches!(refused, Err(Refusal::Contradiction { id: 0x0303, value: 1_500, .. })), "{refused:?}");
    let mut apart = Parameters::default();
    apart.stage(Parameter::vibration_from.id(), 800).unwrap();
    apart.stage(Parameter::vibration_again_from.id(), 700).unwrap();
    let refused = cab.stepper.reconfigure(&apart);
    assert!(matches!(refused, Err(Refusal::Contradiction { id: 0x0804, .. })), "{refused:?}");
    cab.run(100);
    assert!(cab.stepper.machine().diagnostics().permission_drive);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_set_inside_the_rules_builds_or_names_the_parameter_to_change(
        raws in proptest::collection::vec(any::<u32>(), Parameters::RULES.len())
    ) {
        let mut parameters = Parameters::default();
        for (rule, raw) in Parameters::RULES.iter().zip(raws) {
            let span = i64::from(rule.high) - i64::from(rule.low) + 1;
            let value = i64::from(rule.low) + i64::from(raw) % span;
            parameters.stage(rule.id, value as i32).unwrap();
        }
        let mut cab = Cab::new(Parameters::default());
        if let Err(refusal) = cab.stepper.reconfigure(&parameters) {
            let Refusal::Contradiction { id, value, rule } = refusal else {
                return Err(TestCaseError::fail(format!("{refusal}")));
            };
            prop_assert_eq!(parameters.read(id), Some(value));
            prop_assert!(!rule.is_empty());
        }
    }
}
