//! What the rows of the declaration must have in common, whoever edits one of them.

use loader::declaration::{Coil, Fault, Parameter, Parameters};
use trunnion::declare::{Access, FaultRule, FaultSet, Latch, ParameterSet, Reactions};

use loader::declaration::faults::{CUT, LIMIT, STOP_ALL, STOP_AUXILIARY, STOP_DRIVE, STOP_WORK};

fn rule(fault: Fault) -> &'static FaultRule {
    &Fault::RULES[fault as usize]
}

fn name(fault: Fault) -> &'static str {
    Fault::INFO[fault as usize].name
}

/// The name of the row of the other side, if this one is of a side.
fn of_the_other_side(name: &str) -> Option<String> {
    for (left, right) in [("Left", "Right"), ("left_", "right_")] {
        if name.starts_with(left) {
            return Some(name.replacen(left, right, 1));
        }
    }
    None
}

#[test]
fn left_and_right_fail_alike() {
    let mut pairs = 0;
    for fault in Fault::ALL.iter().copied() {
        let Some(other) = of_the_other_side(name(fault)) else { continue };
        let twin =
            Fault::ALL.iter().copied().find(|one| name(*one) == other).expect("a row of the other side");
        let [one, other] = [fault, twin].map(rule);
        let told = format!("{fault:?} and {twin:?}");
        assert_eq!((one.fmi, one.latch, one.reactions), (other.fmi, other.latch, other.reactions), "{told}");
        assert_eq!((one.set_after, one.clear_after), (other.set_after, other.clear_after), "{told}");
        pairs += 1;
    }
    assert!(pairs >= 10, "only {pairs} pairs");
}

#[test]
fn left_and_right_are_tuned_alike_at_delivery() {
    let mut pairs = 0;
    for (place, info) in Parameters::INFO.iter().enumerate() {
        let Some(other) = of_the_other_side(info.name) else { continue };
        let twin =
            Parameters::INFO.iter().position(|one| one.name == other).expect("a row of the other side");
        let [one, other] = [place, twin].map(|place| &Parameters::RULES[place]);
        assert_eq!((one.low, one.high, one.access), (other.low, other.high, other.access), "{}", info.name);
        if !info.name.ends_with("address") {
            assert_eq!(one.default, other.default, "{}", info.name);
        }
        pairs += 1;
    }
    assert!(pairs >= 6, "only {pairs} pairs");
}

/// Whom a coil serves decides what stops when it fails.
fn stopped_with(coil: Coil) -> Reactions {
    match format!("{coil:?}") {
        name if name.contains("pump") => STOP_DRIVE,
        name if name.starts_with("auxiliary") => STOP_AUXILIARY,
        _ => STOP_WORK,
    }
}

#[test]
fn a_coil_that_fails_stops_its_own_function_and_is_looked_up_by_its_own_number() {
    for (place, coil) in Coil::ALL.iter().copied().enumerate() {
        for (first, fmi) in [
            // FMI 5, 6 and 7 of SAE J1939-73 (from memory): current below normal or open circuit; current above
            // normal or grounded circuit; mechanical system not responding or out of adjustment.
            (Fault::LeftPumpForwardOpen, 5),
            (Fault::LeftPumpForwardShort, 6),
            (Fault::LeftPumpForwardCurrent, 7),
        ] {
            let [of_first, rule] = [first as usize, first as usize + place].map(|row| &Fault::RULES[row]);
            assert_eq!(rule.reactions, stopped_with(coil), "{coil:?}");
            assert_eq!((rule.latch, rule.fmi), (Latch::UntilNeutral, fmi), "{coil:?}");
            assert_eq!(rule.set_after, of_first.set_after, "{coil:?}");
            assert_eq!(rule.clear_after, of_first.clear_after, "{coil:?}");
            let opened = &Fault::RULES[Fault::LeftPumpForwardOpen as usize + place];
            assert_eq!((rule.spn, rule.blink), (opened.spn, opened.blink), "{coil:?}: one place, one number");
        }
    }
}

#[test]
fn what_a_fault_does_decides_how_long_it_stays() {
    for fault in Fault::ALL.iter().copied() {
        let FaultRule { reactions, latch, .. } = *rule(fault);
        let expected = if fault == Fault::EmergencyStop {
            // Releasing the actuator must not start anything again; resetting it is the operator's act
            // (ISO 13850, from memory).
            Some(Latch::UntilNeutral)
        } else if reactions.has(CUT) {
            // Whatever casts doubt on the means to stop is looked at before the machine works again.
            Some(Latch::UntilRestart)
        } else if reactions == LIMIT || reactions == Reactions::NONE {
            Some(Latch::WhilePresent)
        } else {
            None
        };
        assert!(expected.is_none_or(|expected| expected == latch), "{fault:?} stays {latch:?}");
        assert!(
            reactions == Reactions::NONE
                || [CUT, LIMIT, STOP_ALL, STOP_DRIVE, STOP_WORK, STOP_AUXILIARY].contains(&reactions),
            "{fault:?} does {reactions:?}"
        );
    }
}

#[test]
fn a_lever_that_cannot_be_believed_stops_all_until_neutral() {
    for fault in Fault::ALL.iter().copied().filter(|fault| name(*fault).contains("Lever")) {
        let told = format!("{fault:?}");
        // Two senders with one address: which of them speaks is not known again by itself.
        let latch = if told.ends_with("Duplicated") { Latch::UntilRestart } else { Latch::UntilNeutral };
        assert_eq!((rule(fault).reactions, rule(fault).latch), (STOP_ALL, latch), "{fault:?}");
    }
}

#[test]
fn what_has_a_number_in_the_standard_has_that_number() {
    // SPNs of SAE J1939-71: accelerator pedal position 1, battery potential, engine speed, hydraulic temperature; from
    // memory but for 190, which is in the test vectors of can-j1939 2.0.12.
    for (words, spn) in [
        ("HandThrottle", 91),
        ("Supply", 168),
        ("EngineSpeed", 190),
        ("OilTemperature", 1638),
        ("OilHot", 1638),
    ] {
        let named = Fault::ALL.iter().copied().filter(|fault| name(*fault).starts_with(words));
        let rows: Vec<_> = named.collect();
        assert!(!rows.is_empty(), "{words}");
        for fault in rows {
            assert_eq!(rule(fault).spn, spn, "{fault:?}");
        }
    }
    for fault in Fault::ALL.iter().copied() {
        // FMIs of SAE J1939-73 (from memory): 9 abnormal update rate, 3 voltage above and 4 below normal.
        let told = name(fault);
        let fmi = match told {
            _ if told.ends_with("Lost") => 9,
            _ if told.ends_with("High") || told.ends_with("StuckOn") => 3,
            "SupplyLow" | "CutOffStuckOff" => 4,
            _ => continue,
        };
        assert_eq!(rule(fault).fmi, fmi, "{fault:?}");
    }
}

#[test]
fn what_keeps_people_safe_is_written_at_the_highest_level_and_what_is_fixed_has_no_range() {
    for (place, rule) in Parameters::RULES.iter().enumerate() {
        let name = Parameters::INFO[place].name;
        assert_eq!(rule.access == Access::Constant, rule.low == rule.high, "{name}");
        // Neutral start, seat, pattern, start-up, stops, brake, and limits below which nothing is permitted.
        let keeps_safe =
            ["neutral_", "seat_", "pattern_", "start_up_", "lever_neutral", "brake_", "drive_stop"]
                .iter()
                .any(|start| name.starts_with(start))
                || [Parameter::supply_low, Parameter::charge_pressure_low, Parameter::test_pulse_current]
                    .iter()
                    .any(|parameter| *parameter as usize == place);
        if keeps_safe {
            assert_eq!(rule.access, Access::Safety, "{name}");
        }
    }
}
