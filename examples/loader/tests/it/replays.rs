//! A log of the bus, played to the control program: the same as was recorded, or different where it was changed.

use std::fs;
use std::path::PathBuf;

use loader::Loader;
use loader::declaration::{Parameter, Parameters};
use trunnion::declare::ParameterSet;
use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;
use trunnion_desk::bench::Bench;
use trunnion_desk::command_line::{Look, Outcome, Streams, run_with};
use trunnion_desk::gateway::log::{LogLine, Logged, lines, written};
use trunnion_desk::replaying::{NoReplay, Question, Replayed, Unknown, Wires, recorded, replay};
use trunnion_rig::run::Rig;
use trunnion_rig::scenario::Scenario;

use loader::desk::LoaderBench;

type LoaderRig = Rig<Loader, <LoaderBench as Bench>::Plant>;

/// Control periods are of this length, µs.
const PERIOD: u64 = 10_000;

fn rig() -> LoaderRig {
    Rig::new(&[]).unwrap()
}

fn story(name: &str) -> Scenario {
    let (_, text) = LoaderBench::SCENARIOS.iter().find(|(known, _)| *known == name).unwrap();
    Scenario::parse(name, text).unwrap()
}

fn with_parameter(scenario: &Scenario, setting: &str) -> Scenario {
    Scenario::parse(&scenario.origin, &format!("{}\nparameter {setting}\n", scenario.text)).unwrap()
}

fn text(log: &[Logged]) -> String {
    log.iter().map(|logged| written(logged, "can0") + "\n").collect()
}

fn record(scenario: &Scenario) -> Vec<LogLine> {
    lines(&text(&recorded::<LoaderBench>(&rig(), scenario).unwrap())).unwrap()
}

fn question<'a>(lines: &'a [LogLine], scenario: &'a Scenario) -> Question<'a> {
    Question { lines, scenario, wires: Wires::Told, tolerance: 1, left_out: Vec::new(), serial: None }
}

fn played(lines: &[LogLine], scenario: &Scenario) -> Replayed {
    replay::<LoaderBench>(&rig(), &question(lines, scenario), &mut |_, _| ()).unwrap()
}

fn is_of_controller(line: &LogLine) -> bool {
    let address = Parameters::default().controller_address();
    line.logged.frame.id29().is_some_and(|id| id.source() == address)
}

/// The period whose step sent a frame of a log that counts in periods.
fn period(line: &LogLine) -> i64 {
    (line.logged.micros / PERIOD) as i64 - 1
}

fn with_byte(line: &mut LogLine, place: usize, change: impl Fn(u8) -> u8) {
    let mut bytes = *line.logged.frame.eight().unwrap();
    bytes[place] = change(bytes[place]);
    line.logged.frame = Frame::group(line.logged.frame.id29().unwrap(), bytes);
}

#[test]
fn a_log_of_any_story_replays_over_its_whole_length_without_a_difference() {
    for (name, _) in LoaderBench::SCENARIOS {
        let scenario = story(name);
        let log = record(&scenario);
        let sent = log.iter().filter(|line| is_of_controller(line)).count();
        let told = played(&log, &scenario);
        assert!(told.difference.is_none(), "{name}: {:?}", told.difference.map(|(difference, _)| difference));
        assert_eq!(told.sent, sent, "{name}");
        let pending = told.unknown.get(&Unknown::Waiting).copied().unwrap_or(0);
        assert!(told.compared + pending >= sent as u64, "{name}: {told:?}");
        assert!(told.periods >= period(log.last().unwrap()), "{name}: to its end");
    }
}

/// Changes a byte of the controller's frames of a group, one after the other, and expects it told there and nowhere else.
fn each_changed_frame_is_told(name: &str, group: u32, place: usize, most: usize) {
    let scenario = story(name);
    let log = record(&scenario);
    let of_group = |line: &LogLine| {
        is_of_controller(line) && line.logged.frame.id29().is_some_and(|id| id.pgn() == group)
    };
    let places: Vec<usize> = (0..log.len()).filter(|place| of_group(&log[*place])).collect();
    assert!(!places.is_empty(), "{name} has no frame of group {group:04X}");
    let step = places.len().div_ceil(most);
    for changed in places.into_iter().step_by(step) {
        let mut log = log.clone();
        with_byte(&mut log[changed], place, |byte| byte ^ 0x10);
        let told = played(&log, &scenario);
        let (difference, state) =
            told.difference.unwrap_or_else(|| panic!("{name}: line {changed} is not told"));
        assert_eq!(difference.period, period(&log[changed]), "{name}");
        assert_eq!(difference.recorded.unwrap().line, Some(log[changed].number));
        assert_eq!(difference.recorded.unwrap().frame, log[changed].logged.frame);
        assert!(difference.replayed.is_some());
        assert_eq!(state.unwrap().period, difference.period);
    }
}

#[test]
fn a_changed_byte_of_any_message_is_told_at_its_tick() {
    each_changed_frame_is_told("stall_in_pile", pgn::TORQUE_SPEED_CONTROL_1, 2, 3);
    each_changed_frame_is_told("lever_lost_h_pattern", pgn::ACTIVE_TROUBLE_CODES, 3, 3);
    // Diagnostic messages to one address (ISO 15765-2, normal fixed addressing).
    each_changed_frame_is_told("tester_sweeps_a_coil", 0xDA00, 0, 6);
}

#[test]
fn a_changed_byte_of_what_a_lever_sent_is_told_when_the_controller_answers_otherwise() {
    // An axis beyond what the standard allows, for half a second: a fault of the lever, which the real controller did not see.
    let scenario = story("stall_in_pile");
    let mut log = record(&scenario);
    let from = 4_000_000..4_500_000;
    let id = 0x0CFD_D621;
    let left = |line: &&mut LogLine| {
        from.contains(&line.logged.micros)
            && line.logged.frame.id29().is_some_and(|found| found.to_raw() == id)
    };
    log.iter_mut().filter(left).for_each(|line| with_byte(line, 1, |_| 0xFE));
    let told = played(&log, &scenario);
    let (difference, state) = told.difference.unwrap();
    assert!((400..460).contains(&difference.period), "{difference:?}");
    assert!(difference.replayed.is_some());
    assert!(!state.unwrap().row.is_empty());
}

#[test]
fn a_controller_with_another_parameter_differs_at_the_first_tick_that_shows_it() {
    let scenario = story("stall_in_pile");
    let (plain, other) =
        (record(&scenario), record(&with_parameter(&scenario, "speed_request_rise = 2000 ms")));
    let first = plain
        .iter()
        .zip(&other)
        .find(|(one, other)| one.logged != other.logged)
        .map(|(_, other)| other)
        .unwrap();
    assert!(is_of_controller(first), "it shows in what the controller sends first");
    let told = played(&other, &scenario);
    let (difference, _) = told.difference.unwrap();
    assert_eq!(difference.period, period(first));
    assert_eq!(difference.recorded.unwrap().line, Some(first.number));
    assert!(told.compared > 0, "what comes before is compared, and alike");
}

#[test]
fn a_frame_that_the_log_lost_and_one_that_nobody_sends_are_told() {
    let scenario = story("lever_lost_h_pattern");
    let log = record(&scenario);
    let troubles: Vec<usize> = (0..log.len())
        .filter(|place| {
            let id = log[*place].logged.frame.id29();
            is_of_controller(&log[*place]) && id.is_some_and(|id| id.pgn() == pgn::ACTIVE_TROUBLE_CODES)
        })
        .collect();
    let place = troubles[troubles.len() / 2];
    let mut lost = log.clone();
    lost.remove(place);
    let (difference, _) = played(&lost, &scenario).difference.unwrap();
    assert_eq!((difference.period, difference.recorded), (period(&log[place]), None));
    let mut twice = log.clone();
    twice.insert(place, LogLine { number: 999_999, ..log[place].clone() });
    let (difference, _) = played(&twice, &scenario).difference.unwrap();
    assert_eq!((difference.period, difference.replayed), (period(&log[place]), None));
}

#[test]
fn times_of_a_real_recorder_are_told_apart_into_periods() {
    // Epoch, a crystal that runs 80 ppm apart, frames spread over the period, the controller's own 0.3 to 1.5 ms behind its step.
    let scenario = story("stall_in_pile");
    let mut log = record(&scenario);
    let mut noise = 1_u64;
    for line in &mut log {
        noise = noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let random = noise >> 40;
        // A period begins with what the step before it sent.
        let begin = line.logged.micros;
        let within = if is_of_controller(line) { 300 + random % 1_200 } else { 1_600 + random % 8_000 };
        let micros = begin + within;
        line.logged.micros = 1_700_000_000_004_321 + micros + micros * 80 / 1_000_000;
    }
    log.sort_by_key(|line| line.logged.micros);
    let told = played(&log, &scenario);
    assert!(told.difference.is_none(), "{:?}", told.difference);
    assert!(told.compared > 100);
}

#[test]
fn a_challenge_is_not_compared_and_whether_its_code_fitted_is_taken_from_the_log() {
    // Another board draws other challenges; the recorded codes fit the recorded ones only.
    let scenario = story("tester_sweeps_a_coil");
    let log = record(&scenario);
    let other = Scenario { seed: scenario.seed + 1, ..scenario.clone() };
    let told = played(&log, &other);
    assert!(told.difference.is_none(), "{:?}", told.difference);
    assert!(told.unknown.get(&Unknown::Challenge).is_some_and(|frames| *frames >= 3), "{:?}", told.unknown);
    // The same log, if the real controller had refused the code.
    let mut refused = log.clone();
    let answer = refused
        .iter_mut()
        .find(|line| is_of_controller(line) && line.logged.frame.bytes().starts_with(&[0x02, 0x67, 0x02]))
        .unwrap();
    let at = period(answer);
    with_byte(answer, 2, |_| 0x04);
    let (difference, _) = played(&refused, &other).difference.unwrap();
    assert_eq!(difference.period, at, "another level");
}

#[test]
fn without_a_story_what_wires_move_is_left_out_and_the_rest_is_compared() {
    let scenario = story("stall_in_pile");
    let rest = Scenario::parse("rest", "scenario  At rest\nlength    1 s\n").unwrap();
    let mut log = record(&scenario);
    let rig = rig();
    let ask = |log: &[LogLine]| {
        let question = Question { wires: Wires::Assumed, ..question(log, &rest) };
        replay::<LoaderBench>(&rig, &question, &mut |_, _| ()).unwrap()
    };
    let told = ask(&log);
    assert!(told.difference.is_none(), "{:?}", told.difference);
    assert!(told.compared >= 1 && told.unknown.get(&Unknown::Wires).is_some_and(|frames| *frames > 10));
    let claim = log.iter_mut().find(|line| is_of_controller(line)).unwrap();
    let at = period(claim);
    with_byte(claim, 5, |byte| byte ^ 1);
    // Another NAME in every other part is another unit: nothing of ours is left that starts.
    let question = Question { wires: Wires::Assumed, ..question(&log, &rest) };
    assert!(
        matches!(replay::<LoaderBench>(&rig, &question, &mut |_, _| ()), Err(NoReplay::NoStart { .. })),
        "{at}"
    );
}

#[test]
fn the_serial_number_is_taken_from_the_log_or_from_who_asks() {
    let scenario = story("stall_in_pile");
    let mut log = record(&scenario);
    let claim = log.iter_mut().find(|line| is_of_controller(line)).unwrap();
    with_byte(claim, 0, |_| 77);
    let told = played(&log, &scenario);
    assert_eq!((told.serial, told.difference.is_none()), (77, true));
    let asked = Question { serial: Some(5), ..question(&log, &scenario) };
    let told = replay::<LoaderBench>(&rig(), &asked, &mut |_, _| ()).unwrap();
    assert_eq!(told.difference.unwrap().0.period, 0);
}

/// The command on a log in a folder of its own, which `name` names.
fn command(name: &str, log: &str, more: &[&str]) -> (Outcome, String, String) {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("replays");
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join(format!("{name}.log"));
    fs::write(&file, log).unwrap();
    let (mut out, mut errors) = (Vec::new(), Vec::new());
    let typed = ["replay", file.to_str().unwrap()].into_iter().chain(more.iter().copied()).map(str::to_owned);
    let mut streams = Streams { out: &mut out, errors: &mut errors, look: Look::PLAIN };
    let outcome = run_with::<LoaderBench>(typed.collect::<Vec<_>>(), &mut streams);
    (outcome, String::from_utf8(out).unwrap(), String::from_utf8(errors).unwrap())
}

#[test]
fn the_command_tells_the_first_tick_that_differs_with_its_signals_and_the_why_not() {
    let scenario = story("lever_lost_h_pattern");
    let log = recorded::<LoaderBench>(&rig(), &scenario).unwrap();
    let (outcome, out, _) = command("same", &text(&log), &["--with", "lever_lost_h_pattern"]);
    assert_eq!(outcome, Outcome::AllHeld, "{out}");
    assert!(out.contains("frames compared, none differs"), "{out}");
    let other = "forward_accelerate = 1800 ms";
    let (outcome, out, _) =
        command("same_set", &text(&log), &["--with", "lever_lost_h_pattern", "--parameter", other]);
    assert_eq!(outcome, Outcome::AllHeld, "{out}");

    // The lever falls silent in the story; nobody tells the controller so when the fault's time is past in the log.
    let changed: Vec<Logged> = log
        .iter()
        .map(|logged| {
            let mut line = LogLine { number: 1, interface: String::new(), logged: *logged };
            let troubles = logged.frame.id29().is_some_and(|id| id.pgn() == pgn::ACTIVE_TROUBLE_CODES);
            if troubles && is_of_controller(&line) && logged.micros > 6_600_000 {
                with_byte(&mut line, 4, |byte| byte ^ 0x01);
            }
            line.logged
        })
        .collect();
    let first = changed.iter().zip(&log).position(|(one, other)| one != other).unwrap();
    let (outcome, out, _) = command("changed", &text(&changed), &["--with", "lever_lost_h_pattern"]);
    assert_eq!(outcome, Outcome::Failed, "{out}");
    for part in [
        &format!("the first tick that differs is period {}", changed[first].micros / PERIOD - 1),
        &format!("changed.log:{}", first + 1),
        "PGN 65226 (0xFECA)",
        "Fmi",
        "differs",
        "drive: not permitted",
        "LeftLeverLost",
    ] {
        assert!(out.contains(part), "{part}\nin\n{out}");
    }
    let (outcome, out, _) =
        command("left_out", &text(&changed), &["--with", "lever_lost_h_pattern", "--without", "DM1"]);
    assert_eq!(outcome, Outcome::AllHeld, "{out}");
}

#[test]
fn json_has_the_difference_for_a_script() {
    let scenario = story("lever_lost_h_pattern");
    let mut log = record(&scenario);
    let place = log.iter().rposition(is_of_controller).unwrap();
    with_byte(&mut log[place], 0, |byte| byte ^ 0x04);
    let logged: Vec<Logged> = log.iter().map(|line| line.logged).collect();
    let (outcome, out, _) = command("json", &text(&logged), &["--with", "lever_lost_h_pattern", "--json"]);
    assert_eq!(outcome, Outcome::Failed, "{out}");
    for part in [
        format!("\"line\": {}", place + 1),
        format!("\"period\": {}", period(&log[place])),
        "\"recorded\"".to_owned(),
        "\"groups\"".to_owned(),
    ] {
        assert!(out.contains(&part), "{part}\nin\n{out}");
    }
}

#[test]
fn what_cannot_be_replayed_is_refused_with_file_line_and_what_to_do() {
    let claim = "(0.010000) can0 18EEFF27#0100E0FF008000B0\n";
    for (name, log, more, part) in [
        ("broken", format!("{claim}(0.02) can0 123#00\n"), &[][..], "broken.log:2: expected a time"),
        ("back", format!("(9.000000) can0 123#00\n{claim}"), &[], "back.log:2: the time goes back"),
        ("two", format!("{claim}(0.020000) can1 123#00\n"), &[], "two.log:2: the log holds can0 and can1"),
        (
            "nobody",
            "(0.010000) can0 18FECA28#00\n".to_owned(),
            &[],
            "no frame of the controller, address 0x27; it has frames of 0x28",
        ),
        (
            "running",
            "(0.010000) can0 18FECA27#00FFFFFFFFFFFFFF\n".to_owned(),
            &[],
            "does not hold the start of the controller",
        ),
        ("empty", "; nothing\n".to_owned(), &[], "holds no frame"),
        ("message", claim.to_owned(), &["--without", "DM7"], "the controller sends no message `DM7`"),
        ("no_story", claim.to_owned(), &["--with", "nothing_such"], "there is no scenario"),
        ("other_bus", claim.to_owned(), &["--interface", "can7"], "holds no frame of can7"),
    ] {
        let (outcome, out, errors) = command(name, &log, more);
        assert_eq!(outcome, Outcome::Refused, "{name}: {out}");
        let told = errors.split_whitespace().collect::<Vec<_>>().join(" ").replace(" │ ", " ");
        assert!(told.contains(part), "{part}\nin\n{told}");
    }
}

#[test]
fn the_parameters_of_a_unit_are_read_from_the_file_that_it_was_saved_to() {
    let scenario = with_parameter(&story("stall_in_pile"), "speed_request_rise = 2000 ms");
    let log = recorded::<LoaderBench>(&rig(), &scenario).unwrap();
    let mut set = Parameters::default();
    set.stage(Parameter::speed_request_rise.id(), 2_000).unwrap();
    let file = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("replayed_unit.txt");
    fs::write(&file, trunnion_desk::tester::settings::written("a unit", &set)).unwrap();
    let with = ["--with", "stall_in_pile"];
    let (outcome, out, _) = command("tuned", &text(&log), &with);
    assert_eq!(outcome, Outcome::Failed, "{out}");
    let (outcome, out, errors) =
        command("tuned", &text(&log), &[&with[..], &["--settings", file.to_str().unwrap()]].concat());
    assert_eq!(outcome, Outcome::AllHeld, "{out}{errors}");
}
