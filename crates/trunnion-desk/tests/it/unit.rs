//! A controller over its service port, as the command line shows it.

use std::time::{Duration, Instant};

use trunnion::quantity::Millis;
use trunnion_desk::bench::{GuidedMotion, MotionKind};
use trunnion_desk::command_line::Outcome;
use trunnion_desk::gateway::log::parse;
use trunnion_desk::tester::conversation::Conversation;
use trunnion_desk::tester::hold::Hold;
use trunnion_desk::tester::key::Key;
use trunnion_desk::tester::port::Place;
use trunnion_desk::tester::unit::{MotionEnd, Unit};
use trunnion_service::level::{Level, Standing};
use trunnion_service::routine::{RoutineReport, RoutineStep};
use trunnion_service::served::Needs;

use crate::barrow::Barrow;
use crate::served_barrow::{COIL_SWEEP, FOUND, KEY, ServedBarrow, all_at};
use crate::session::{Folder, Said, typed_words};

fn unit(barrow: &ServedBarrow, words: &[&str]) -> Said {
    let at = barrow.at();
    typed_words(&[&["unit", "--at", &at], words].concat())
}

fn key(folder: &Folder) -> String {
    folder.file("unit.key", KEY)
}

#[test]
fn it_says_who_it_is_and_shows_its_values() {
    let barrow = ServedBarrow::start();
    let who = unit(&barrow, &["who"]);
    assert_eq!(who.outcome, Outcome::AllHeld, "{}", who.errors);
    for text in ["machine        Power barrow", "serial number  B-0001", "program        not told"] {
        assert!(who.out.contains(text), "{text} in\n{}", who.out);
    }
    let shown = unit(&barrow, &["show", "ramp_time", "left_ramped"]);
    assert!(shown.out.contains("ramp_time") && shown.out.contains("1000 ms"), "{}", shown.out);
    assert!(shown.out.contains("left_ramped"), "{}", shown.out);
    let json: serde_json::Value = serde_json::from_str(&unit(&barrow, &["show", "--json"]).out).unwrap();
    let rows = json.as_array().unwrap();
    assert_eq!(rows[1]["name"], "ramp_time");
    assert_eq!((&rows[1]["value"], &rows[1]["unit"]), (&1000.0.into(), &"ms".into()));
    let unknown = unit(&barrow, &["show", "ramp_tim3"]);
    assert!(unknown.errors.contains("did you mean `ramp_time`?"), "{}", unknown.errors);
}

#[test]
fn parameters_are_saved_shown_as_a_difference_and_restored_as_one() {
    let (barrow, folder) = (ServedBarrow::start(), Folder::new());
    let (file, key) = (folder.path("barrow.txt"), key(&folder));
    assert_eq!(unit(&barrow, &["save", &file]).outcome, Outcome::AllHeld);
    let saved = folder.read("barrow.txt");
    assert!(saved.contains("ramp_time = 1000 ms  # 200 ms to 5000 ms"), "{saved}");
    assert!(unit(&barrow, &["restore", &file]).out.contains("nothing differs"));

    folder.file(
        "barrow.txt",
        &saved.replace("ramp_time = 1000", "ramp_time = 900").replace("stop_time = 400", "stop_time = 500"),
    );
    let before = barrow.with(|state| state.parameters);
    let shown = unit(&barrow, &["restore", &file]);
    assert!(
        shown.out.contains("1000 ms  →  900 ms") && shown.out.contains("400 ms  →  500 ms"),
        "{}",
        shown.out
    );
    assert!(shown.errors.contains("nothing was written"), "{}", shown.errors);
    assert_eq!(barrow.with(|state| state.parameters), before);

    let keyless = unit(&barrow, &["restore", &file, "--yes"]);
    assert_eq!(keyless.outcome, Outcome::Refused);
    assert!(keyless.errors.contains("--key FILE"), "{}", keyless.errors);
    let restored = unit(&barrow, &["restore", &file, "--yes", "--key", &key]);
    assert_eq!(restored.outcome, Outcome::AllHeld, "{}", restored.errors);
    assert!(restored.errors.contains("2 values were written and read back"), "{}", restored.errors);
    assert_eq!(barrow.with(|state| state.parameters.ramp_time()), Millis::millis(900));
    assert_eq!(barrow.with(|state| state.parameters.stop_time()), Millis::millis(500));
}

#[test]
fn values_that_are_wrong_contradict_each_other_or_come_while_it_moves_change_nothing() {
    let (barrow, folder) = (ServedBarrow::start(), Folder::new());
    let key = key(&folder);
    let before = barrow.with(|state| state.parameters);
    let kept = folder.path("set.json");
    let words = ["set", "--key", &key, "--preview", &kept];
    let set = |settings: &[&str]| unit(&barrow, &[&words[..], settings].concat());
    for (settings, part) in [
        (&["ramp_time = 10 s"][..], "such as `1000 ms`"),
        (&["ramp_time = 100 ms"], "outside 200 ms to 5000 ms"),
        (&["ramp_tim = 300 ms"], "did you mean `ramp_time`?"),
        (&["track_pads = 43"], "fixed by the maker"),
        // Each is in range; together the machine would not run with them.
        (&["ramp_time = 300 ms", "stop_time = 900 ms"], "contradict each other"),
    ] {
        let said = set(settings);
        assert_eq!(said.outcome, Outcome::Refused, "{settings:?}");
        assert!(said.errors.replace("\n  │ ", " ").contains(part), "{part} in\n{}", said.errors);
        assert_eq!(barrow.with(|state| state.parameters), before, "{settings:?}");
    }
    barrow.with(|state| {
        state.standing = Standing { at_rest: false, neutral: true, permitted: true, withheld: false }
    });
    let moving = set(&["ramp_time = 900 ms"]);
    assert!(moving.errors.contains("not at rest"), "{}", moving.errors);
    barrow.with(|state| state.standing.at_rest = true);
    assert_eq!(set(&["ramp_time = 900 ms"]).outcome, Outcome::AllHeld);
}

#[test]
fn every_end_of_every_range_is_written_from_a_file_and_reads_back() {
    let (barrow, folder) = (ServedBarrow::start(), Folder::new());
    let key = key(&folder);
    for end in [|rule: &trunnion::declare::Rule| rule.high, |rule: &trunnion::declare::Rule| rule.default] {
        let wanted = all_at(end);
        let file = folder.file("ends.txt", &trunnion_desk::tester::settings::written("ends", &wanted));
        // At the ends it no longer stops in time.
        let said = unit(&barrow, &["restore", &file, "--yes", "--key", &key, "--despite-violations"]);
        assert_eq!(said.outcome, Outcome::AllHeld, "{}", said.errors);
        assert!(barrow.with(|state| state.parameters == wanted));
    }
}

#[test]
fn a_wrong_key_opens_nothing_and_a_third_locks_out() {
    let (barrow, folder) = (ServedBarrow::start(), Folder::new());
    let wrong = folder.file("wrong.key", &KEY.replace("00", "01"));
    let attempt = || unit(&barrow, &["set", "ramp_time = 900 ms", "--key", &wrong]);
    assert!(attempt().errors.contains("not the key of this unit"));
    assert!(attempt().errors.contains("the code is wrong"));
    assert!(attempt().errors.contains("once too often"));
    let locked_out = unit(&barrow, &["set", "ramp_time = 900 ms", "--key", &key(&folder)]);
    assert!(locked_out.errors.contains("the lock-out is not over"), "{}", locked_out.errors);
    assert_eq!(barrow.with(|state| state.parameters.ramp_time()), Millis::millis(1000));
    let torn = unit(&barrow, &["set", "ramp_time = 900 ms", "--key", &folder.file("torn.key", "0011")]);
    assert!(torn.errors.contains("expected 64 hexadecimal digits"), "{}", torn.errors);
}

#[test]
fn faults_are_told_with_texts_and_cleared_only_with_the_key() {
    let (barrow, folder) = (ServedBarrow::start(), Folder::new());
    let told = unit(&barrow, &["faults"]);
    for text in
        ["active   RightGripOpen  SPN 520193 FMI 5", "came 3 times, first at 1.00 s", "stops both tracks"]
    {
        assert!(told.out.contains(text), "{text} in\n{}", told.out);
    }
    let json: serde_json::Value = serde_json::from_str(&unit(&barrow, &["faults", "--json"]).out).unwrap();
    assert_eq!((&json[0]["count"], &json[0]["last_seconds"]), (&3.into(), &2.5.into()));
    assert_eq!(unit(&barrow, &["faults", "--clear"]).outcome, Outcome::Refused);
    assert_eq!(barrow.with(|state| state.history[1].count), 3);
    let cleared = unit(&barrow, &["faults", "--clear", "--key", &key(&folder)]);
    assert_eq!(cleared.outcome, Outcome::AllHeld, "{}", cleared.errors);
    assert_eq!(barrow.with(|state| state.history[1].count), 0);
}

#[test]
fn signals_are_watched_and_the_bus_is_recorded() {
    let (barrow, folder) = (ServedBarrow::start(), Folder::new());
    let watched = unit(&barrow, &["watch", "left_ramped", "--every", "20", "--seconds", "0.2"]);
    assert!(watched.out.lines().count() >= 4, "{}", watched.out);
    assert!(watched.out.lines().all(|line| line.starts_with("left_ramped")), "{}", watched.out);

    let file = folder.path("bus.log");
    std::thread::scope(|scope| {
        let recorder =
            scope.spawn(|| unit(&barrow, &["record", &file, "--seconds", "1", "--tester", "0xFA"]));
        while !recorder.is_finished() {
            assert_eq!(unit(&barrow, &["who"]).outcome, Outcome::AllHeld);
        }
        assert_eq!(recorder.join().unwrap().outcome, Outcome::AllHeld);
    });
    let log = parse(&folder.read("bus.log")).unwrap();
    let of = |raw: u32| log.iter().filter(|logged| logged.frame.id29().unwrap().to_raw() == raw).count();
    assert!(of(0x18DA_27F9) > 3 && of(0x18DA_F927) > 3, "requests and answers of the other tool");
    assert!(log.windows(2).all(|pair| pair[0].micros <= pair[1].micros));
}

/// A hand that holds for so long.
struct HeldFor(Instant, Duration);

impl Hold for HeldFor {
    fn is_held(&mut self) -> bool {
        self.0.elapsed() < self.1
    }
}

fn motion(barrow: &ServedBarrow, held: Duration) -> (MotionEnd, Vec<RoutineStep>, Unit<Barrow>) {
    let port = barrow.at().parse::<Place>().unwrap().open().unwrap();
    let mut unit = Unit::<Barrow>::new(Conversation::new(port, 0xF9, 0x27).unwrap());
    unit.unlock(Level::Tune, &Key::parse(KEY).unwrap()).unwrap();
    let sweep = GuidedMotion {
        id: COIL_SWEEP,
        name: "coil_sweep",
        kind: MotionKind::Routine,
        level: Level::Tune,
        needs: Needs::Permitted,
        does: "Ramps each coil.",
        before: &[],
    };
    let mut steps = Vec::new();
    let mut told = |report: &RoutineReport| steps.push(report.step);
    let end = unit.hold_motion(&sweep, 0, &mut HeldFor(Instant::now(), held), &mut told).unwrap();
    steps.dedup();
    (end, steps, unit)
}

#[test]
fn a_motion_goes_on_while_it_is_held_and_stops_when_the_hand_lets_go() {
    let barrow = ServedBarrow::start();
    // Longer than the controller's dead-man of 300 ms: it was kept alive.
    let began = Instant::now();
    let (end, _, mut unit) = motion(&barrow, Duration::from_millis(500));
    assert_eq!((end, unit.staged().unwrap()), (MotionEnd::LetGo, 0));
    assert!(began.elapsed() >= Duration::from_millis(500));
    assert_eq!(barrow.with(|state| (state.starts, state.stops)), (1, 1), "stopped once, by the hand");
    let (end, steps, mut unit) = motion(&barrow, Duration::from_secs(5));
    assert!(matches!(end, MotionEnd::Done(report) if report.found == FOUND), "{end:?}");
    assert_eq!(steps, [RoutineStep::DriveStraight, RoutineStep::KeepStraight, RoutineStep::Nothing]);
    assert_eq!(unit.staged().unwrap(), 1, "what was learnt waits for its commit");
    assert_eq!(barrow.with(|state| state.parameters.ramp_time()), Millis::millis(1000));
    unit.commit().unwrap();
    assert_eq!(barrow.with(|state| state.parameters.ramp_time()), Millis::millis(900));
    assert_eq!(motion(&barrow, Duration::ZERO).0, MotionEnd::LetGo);
    assert_eq!(barrow.with(|state| state.starts), 2, "what is not held is not started");
}

#[test]
fn what_is_not_there_is_told_with_what_to_do() {
    let barrow = ServedBarrow::start();
    let silent = unit(&barrow, &["who", "--controller", "0x30"]);
    assert!(silent.errors.contains("nothing answers at address 0x30"), "{}", silent.errors);
    assert!(silent.errors.contains("--controller"), "{}", silent.errors);
    let nobody = typed_words(&["unit", "who", "--at", "tcp:127.0.0.1:1"]);
    assert!(
        nobody.errors.contains("cannot be opened") && nobody.errors.contains("--at"),
        "{}",
        nobody.errors
    );
    let wrong = typed_words(&["unit", "who", "--at", "COM3"]);
    assert!(wrong.errors.contains("expected tcp:HOST:PORT"), "{}", wrong.errors);
    assert!(unit(&barrow, &["move"]).out.contains("no routine"));
}

#[test]
fn a_machine_without_a_black_box_says_so() {
    let barrow = ServedBarrow::start();
    for said in [unit(&barrow, &["box"]), typed_words(&["box", "last.box"])] {
        assert_eq!(said.outcome, Outcome::Refused);
        assert!(said.errors.contains("the barrow keeps no black box"), "{}", said.errors);
    }
}
