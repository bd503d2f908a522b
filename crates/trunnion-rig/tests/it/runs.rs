use std::ops::ControlFlow;

use trunnion::declare::Refusal;
use trunnion_rig::requirement::{Requirement, Verdict};
use trunnion_rig::run::{Rig, Run};
use trunnion_rig::scenario::Scenario;
use trunnion_rig::trace::{ColumnKind, TraceHasher};

use crate::hoist::{Hoist, HoistPlant, REQUIREMENTS};

fn rig() -> Rig<Hoist, HoistPlant> {
    Rig::new(REQUIREMENTS).unwrap_or_else(|error| panic!("{error}"))
}

fn scenario(text: &str) -> Scenario {
    Scenario::parse("hoist.scenario", text).unwrap_or_else(|complaints| panic!("{complaints}"))
}

fn run(text: &str) -> Run {
    rig().run(&scenario(text)).unwrap_or_else(|complaints| panic!("{complaints}"))
}

fn refused(text: &str) -> String {
    match Scenario::parse("hoist.scenario", text) {
        Err(complaints) => complaints.to_string(),
        Ok(scenario) => rig().run(&scenario).err().unwrap_or_else(|| panic!("accepted: {text}")).to_string(),
    }
}

const WORK: &str = "\
scenario  A load is hoisted and the operator stands up
about     The coil must go dead
          although the lever is still held.
seed      7
length    3 s
set       operator_seated = yes
at 0.5 s  lever moves to 80 % over 0.4 s
at 1.5 s  operator_seated = no
";

fn values<'a>(run: &'a Run, name: &str) -> &'a [f64] {
    &run.trace.column(name).unwrap_or_else(|| panic!("no column {name}")).values
}

#[test]
fn the_same_seed_gives_the_same_bits_and_another_seed_others() {
    let first = run(WORK);
    let second = run(WORK);
    assert_eq!(first.hash, second.hash);
    assert_eq!(first, second);
    let other = run(&WORK.replace("seed      7", "seed      8"));
    assert_ne!(first.hash, other.hash);
    assert!(first.complete);
    assert_eq!(first.trace.rows(), 300);
}

#[test]
fn the_hash_covers_all_that_crosses_the_border_in_the_agreed_order() {
    let mut hasher = TraceHasher::new();
    let run = rig()
        .run_watched(&scenario(WORK), &mut |tick| {
            hasher.record(tick.inputs);
            assert_eq!(tick.fast_inputs.len(), 10);
            tick.fast_inputs.iter().for_each(|record| hasher.record(record));
            tick.fast_outputs.iter().for_each(|record| hasher.record(record));
            hasher.record(tick.outputs);
            hasher.record(tick.diagnostics);
            ControlFlow::Continue(())
        })
        .unwrap();
    assert_eq!(hasher.hash(), run.hash);
}

#[test]
fn what_a_scenario_does_is_seen_in_the_row_of_its_time() {
    let run = run(WORK);
    assert_eq!(run.about, "The coil must go dead although the lever is still held.");
    let seat = values(&run, "seat_switch");
    assert_eq!((seat[0], seat[149], seat[150]), (1.0, 1.0, 0.0));
    let lever = values(&run, "set_lever");
    assert_eq!((lever[50], lever[60], lever[70], lever[90], lever[91]), (0.0, 20.0, 40.0, 80.0, 80.0));
    assert_eq!(run.trace.time()[150], 1.5);
    let events: Vec<(f64, &str)> = run.events.iter().map(|event| (event.at, event.text.as_str())).collect();
    assert_eq!(events, [(0.5, "lever moves to 80 % over 0.4 s"), (1.5, "operator_seated = no")]);
}

#[test]
fn held_requirements_show_margin_unit_and_place() {
    let run = run(WORK);
    assert!(run.passed(), "{:#?}", run.results);
    let [seat, maximum, brake] = &run.results[..] else { panic!("{:?}", run.results) };
    assert_eq!(
        (maximum.margin, maximum.unit.as_str()),
        (Some(158.0), "mA"),
        "800 mA · (1 - 80.2 %), rounded up"
    );
    assert!(maximum.explanation.starts_with("closest at "), "{}", maximum.explanation);
    assert!(seat.margin.is_some_and(|margin| margin > 0.0));
    assert_eq!((brake.margin, brake.verdict), (None, Verdict::Held), "a yes/no condition has no margin");
}

#[test]
fn a_violation_says_when_which_part_and_with_which_values() {
    let text = format!(
        "{WORK}require   S-01 (H-01) the coil is dead at once: always (seat_switch falls implies \
         within 150 ms hoist_current = 0 mA)"
    );
    let run = run(&text);
    assert!(!run.passed());
    let result = run.results.last().unwrap();
    assert_eq!((result.id.as_str(), result.hazard.as_str()), ("S-01", "H-01"));
    assert_eq!(result.verdict, Verdict::Violated);
    assert_eq!(result.at, Some(1.5));
    let current = values(&run, "hoist_current")[165];
    assert_eq!(result.margin, Some(-current));
    assert_eq!(
        result.explanation,
        format!(
            "at 1.5 s `seat_switch falls implies within 150 ms hoist_current = 0 mA` fails; \
             1.5 s `seat_switch` fails with seat_switch = no; \
             1.49 s `seat_switch` holds with seat_switch = yes; \
             1.65 s `hoist_current = 0 mA` fails with hoist_current = {current} mA"
        )
    );
    assert_eq!(result.evidence.len(), 3);
}

#[test]
fn a_run_too_short_to_decide_is_not_a_pass() {
    let run = run(&format!(
        "{}require S-01 dead: always (seat_switch falls implies within 500 ms hoist_current = 0 mA)\n\
         require S-02 late: from 3 s hoist_current = 0 mA\n",
        WORK.replace("length    3 s", "length    1.7 s")
    ));
    let [first, second] = &run.results[3..] else { panic!() };
    assert_eq!(first.verdict, Verdict::Inconclusive);
    assert!(first.explanation.contains("the run ends at 1.7 s, before"), "{}", first.explanation);
    assert!(first.explanation.contains("is decided at 2 s: make it longer"), "{}", first.explanation);
    assert_eq!(second.verdict, Verdict::Inconclusive);
    assert!(!run.passed());
}

#[test]
fn a_broken_wire_is_a_fault_until_it_is_mended() {
    let run =
        run("scenario x\nlength 1 s\nat 0.2 s break lever_signal: open\nafter 0.3 s mend lever_signal\n");
    let fault = run.trace.column("fault_lever_open").unwrap();
    assert_eq!(fault.info.kind, ColumnKind::Fault);
    let active: Vec<usize> = (0..100).filter(|row| fault.values[*row] > 0.0).collect();
    assert_eq!((active.first(), active.last(), active.len()), (Some(&20), Some(&49), 30));
}

#[test]
fn a_parameter_acts_from_the_start_or_from_its_write_on() {
    let text = "scenario x\nlength 1 s\nparameter current_maximum = 0.5 A\nset operator_seated = yes, lever = 100 %\n\
                at 0.5 s parameter current_maximum = 600 mA\n\
                at 0.7 s parameter current_threshold = 600 mA\n";
    let mut writes = Vec::new();
    let run = rig()
        .run_watched(&scenario(text), &mut |tick| {
            if let Some((parameters, result)) = tick.written {
                writes.push((tick.index, parameters.current_threshold().raw(), *result));
            }
            ControlFlow::Continue(())
        })
        .unwrap();
    let asked = values(&run, "asked_current");
    assert_eq!((asked[10], asked[49], asked[50], asked[99]), (500.0, 500.0, 600.0, 600.0));
    let rule = "the threshold must be below the maximum";
    let refusal = Refusal::Contradiction { id: 2, value: 600, rule };
    assert_eq!(writes, [(50, 200, Ok(())), (70, 600, Err(refusal))]);
    assert!(run.events[1].text.contains("refused: "), "{:?}", run.events);
    // A formula speaks of the parameter as it was at the start.
    let maximum = &run.results[1];
    assert_eq!((maximum.verdict, maximum.margin, maximum.at), (Verdict::Violated, Some(-100.0), Some(0.5)));
}

#[test]
fn a_watcher_may_end_the_run() {
    let run = rig()
        .run_watched(&scenario(WORK), &mut |tick| {
            if tick.index == 99 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        })
        .unwrap();
    assert!(!run.complete);
    assert!(!run.passed());
    assert_eq!(run.trace.rows(), 100);
}

#[test]
fn unknown_names_are_all_told_at_once_with_place_and_nearest() {
    let text = "scenario x\nlength 1 s\nset operator_seatet = yes\nparameter curent_maximum = 500 mA\n\
                at 0.1 s levr = 3 %\nat 0.2 s break seat_swich: open\nat 0.3 s break seat_switch: opne\n\
                require S-01 dead: always hoist_curent = 0 mA\n";
    assert_eq!(
        refused(text),
        "hoist.scenario:3:5: there is no action `operator_seatet`; did you mean `operator_seated`?\n\
         hoist.scenario:4:11: there is no parameter `curent_maximum`; did you mean `current_maximum`?\n\
         hoist.scenario:5:10: there is no action `levr`; did you mean `lever`?\n\
         hoist.scenario:6:16: there is no breakable signal `seat_swich`; did you mean `seat_switch`?\n\
         hoist.scenario:7:29: there is no failure of `seat_switch` called `opne`; did you mean `open`?\n\
         hoist.scenario:8:27: there is no signal `hoist_curent`; did you mean `hoist_current`?"
    );
}

#[test]
fn an_impossible_value_is_refused_with_what_is_possible() {
    let with = |line: &str| refused(&format!("scenario x\nlength 1 s\n{line}\n"));
    for (line, complaint) in [
        (
            "parameter current_maximum = 1.2 A",
            "3:29: `current_maximum = 1.2 A` is outside its range; 400 mA to 1000 mA; current_maximum: Largest current.",
        ),
        (
            "parameter current_maximum = 500.5 mA",
            "3:29: `current_maximum` moves in steps of 1 mA; 501 mA is the nearest",
        ),
        (
            "parameter current_maximum = 50 %",
            "3:29: `current_maximum` is in mA, which `50 %` is not; a value in mA",
        ),
        ("parameter layers = 3", "3:20: `layers` is fixed by the maker; 2"),
        (
            "parameter test_motion = sway",
            "3:25: there is no choice of `test_motion` called `sway`; one of: at_rest, hoist",
        ),
        (
            "set lever = 120 %",
            "3:13: `lever = 120 %` is outside its range; -100 % to 100 %; lever: Deflection of the lever.",
        ),
        ("set lever = 3", "3:13: `lever` is in %, which `3` is not; a value in %"),
        ("set weather = 1", "3:15: `weather` is a choice, not a number; one of: dry, light_rain"),
        (
            "at 0.1 s weather moves to light_rain over 1 s",
            "3:10: `weather` is a choice and cannot move; `weather = light_rain`",
        ),
        (
            "at 0.1 s mend lever_signal",
            "3:15: `lever_signal` is not broken when it is mended; a signal that an earlier event breaks",
        ),
        ("at 1 s lever = 3 %", "3:4: 1 s is not before the end of the scenario; less than 1 s"),
        (
            "require R-01 twice: always permission",
            "3:9: the machine has a requirement `R-01` of its own; another id",
        ),
    ] {
        assert_eq!(with(line), format!("hoist.scenario:{complaint}"), "{line}");
    }
    assert_eq!(
        refused("scenario x\nlength 2 h\n"),
        "hoist.scenario:2:8: a scenario cannot last 2 h; at least one tick of 10000 µs, at most an hour"
    );
}

#[test]
fn a_rig_refuses_requirements_that_its_machine_cannot_answer() {
    let requirement = |id, formula| Requirement { id, sentence: "s", hazard: "h", formula };
    let wrong = [
        requirement("A", "always (seat_swich implies permission)"),
        requirement("B", "always hoist_current < 3 V"),
        requirement("A", "always permission"),
    ];
    let error = Rig::<Hoist, HoistPlant>::new(&wrong).unwrap_err().to_string();
    assert_eq!(
        error,
        "requirement A:1:9: there is no signal `seat_swich`; did you mean `seat_switch`?\n\
         requirement B:1:24: this is in V and does not compare with mA; something in mA\n\
         requirement A:1:1: this id stands twice; an id of its own"
    );
}
