//! What a set does in drives that were recorded on the bus.

use std::fs;
use std::path::PathBuf;

use loader::Loader;
use trunnion_desk::bench::{Bench, FunctionGroup, PathColumns, RecordedDrive};
use trunnion_desk::command_line::{Look, Outcome, Streams, run_with};
use trunnion_desk::gateway::log::{LogLine, lines, written};
use trunnion_desk::replaying::{Demands, LONGEST_DRIVE, NoReplay, recorded};
use trunnion_desk::report::PlotGroup;
use trunnion_rig::hunt::Territory;
use trunnion_rig::requirement::Requirement;
use trunnion_rig::run::{Rig, Run, Twins};
use trunnion_rig::scenario::Scenario;

use loader::desk::LoaderBench;

type LoaderRig = Rig<Loader, <LoaderBench as Bench>::Plant>;

/// The loader with two of its stories: a preview of all of them is long.
struct ShortBench;

impl Bench for ShortBench {
    type Machine = Loader;
    type Plant = <LoaderBench as Bench>::Plant;
    const NAME: &'static str = LoaderBench::NAME;
    const TITLE: &'static str = LoaderBench::TITLE;
    const ABOUT: &'static str = LoaderBench::ABOUT;
    const VERSION: &'static str = LoaderBench::VERSION;
    const REQUIREMENTS: &'static [Requirement] = LoaderBench::REQUIREMENTS;
    const HAZARDS: &'static [(&'static str, &'static str)] = LoaderBench::HAZARDS;
    const SCENARIOS: &'static [(&'static str, &'static str)] = &[
        ("seat_left", include_str!("../../scenarios/seat_left.scenario")),
        ("lock_at_speed", include_str!("../../scenarios/lock_at_speed.scenario")),
    ];
    const DRIVES: &'static [RecordedDrive] = LoaderBench::DRIVES;
    const DEMO: &'static [&'static str] = &["seat_left"];
    const TERRITORY: Option<Territory> = LoaderBench::TERRITORY;
    const PORTS: &'static [(&'static str, &'static str)] = LoaderBench::PORTS;
    const REACTIONS: &'static [&'static str] = LoaderBench::REACTIONS;
    const GROUPS: &'static [FunctionGroup] = LoaderBench::GROUPS;
    const PATH: Option<PathColumns> = LoaderBench::PATH;

    fn plots() -> Vec<PlotGroup> {
        LoaderBench::plots()
    }
}

fn rig() -> LoaderRig {
    Rig::new(LoaderBench::REQUIREMENTS).unwrap()
}

fn yard() -> (Vec<LogLine>, Scenario) {
    let drive = LoaderBench::DRIVES[0];
    (lines(drive.log).unwrap(), Scenario::parse("yard", drive.wires).unwrap())
}

fn record(rig: &LoaderRig, scenario: &Scenario) -> Vec<LogLine> {
    let log = recorded::<LoaderBench>(rig, scenario).unwrap();
    let text: String = log.iter().map(|logged| written(logged, "can0") + "\n").collect();
    lines(&text).unwrap()
}

fn driven(rig: &LoaderRig, log: &[LogLine], wires: &Scenario) -> Run {
    let demands = Demands::read::<LoaderBench>(rig, log, wires).unwrap();
    let [run, twin] = demands.drive::<LoaderBench>(rig, wires, wires).unwrap();
    assert_eq!(run.hash, twin.hash, "the same set twice");
    run
}

/// Every column is the same, bit for bit, as far as the log goes.
fn assert_same(run: &Run, drive: &Run, name: &str) {
    let rows = drive.trace.rows();
    assert!(rows > 500, "{name}: {rows}");
    for (own, other) in run.trace.columns.iter().zip(&drive.trace.columns) {
        let bits = |values: &[f64]| values[..rows].iter().map(|value| value.to_bits()).collect::<Vec<_>>();
        let differs =
            bits(&own.values).iter().zip(bits(&other.values)).position(|(own, other)| *own != other);
        assert_eq!(differs, None, "{name}: {}", own.info.name);
    }
}

#[test]
fn driven_with_the_set_that_recorded_it_a_drive_is_the_run_of_its_story() {
    let rig = rig();
    for name in ["lever_values", "lever_lost_h_pattern", "emergency_stop"] {
        let (_, text) = LoaderBench::SCENARIOS.iter().find(|(known, _)| *known == name).unwrap();
        let scenario = Scenario::parse(name, text).unwrap();
        let drive = driven(&rig, &record(&rig, &scenario), &scenario);
        assert_same(&rig.run(&scenario).unwrap(), &drive, name);
    }
    let (log, wires) = yard();
    assert_same(&rig.run(&wires).unwrap(), &driven(&rig, &log, &wires), "yard");
}

#[test]
fn two_sets_on_one_plant_give_what_each_gives_by_itself() {
    let rig = rig();
    let stories = [
        "seat_left",
        "two_speed",
        "live_parameters",
        "tester_leaves_a_calibration",
        "emergency_stop_tapped",
        "lever_frozen",
    ];
    let broken = "at 3.5 s break controller_supply: reset";
    let damaged = "at 3.2 s break parameter_block: damaged_at_start";
    for (name, more) in
        stories.into_iter().map(|name| (name, "")).chain([("seat_left", broken), ("seat_left", damaged)])
    {
        let (_, text) = LoaderBench::SCENARIOS.iter().find(|(known, _)| *known == name).unwrap();
        let with = |set: &str| Scenario::parse(name, &format!("{text}\n{more}\n{set}\n")).unwrap();
        let before = with("");
        let own = rig.run(&before).unwrap();
        let address = "parameter left_lever_address = 50";
        let sets = ["parameter drive_stop = 700 ms", "parameter continuous_flow = 500 ‰", address];
        for set in sets.into_iter().filter(|set| *set != address || name == "seat_left") {
            let alone = rig.run(&with(set)).unwrap();
            let [first, second] = rig.run_twins(&before, &with(set)).unwrap();
            assert_eq!((own.hash, &own.results), (first.hash, &first.results), "{name} {more}");
            assert_eq!((alone.hash, &alone.results), (second.hash, &second.results), "{name} {more} {set}");
            assert_eq!(alone.events, second.events, "{name} {more} {set}");
            assert_same(&alone, &second, &format!("{name} {more} {set}"));
        }
    }
}

/// What a preview costs hangs on it.
#[test]
fn one_plant_serves_both_sets_until_they_do_differently() {
    let rig = rig();
    let (_, text) = LoaderBench::SCENARIOS.iter().find(|(name, _)| *name == "seat_left").unwrap();
    let with = |set: &str| Scenario::parse("seat_left", &format!("{text}\n{set}\n")).unwrap();
    let shared = |set: &str| {
        let start = |set: &str| rig.start_unrecorded(&with(set)).unwrap();
        let mut twins = Twins::new(start(""), start(set));
        let mut plants = Vec::new();
        while twins.step() {
            plants.push(twins.plants_mut().count());
        }
        (plants.iter().position(|plants| *plants > 1).unwrap_or(plants.len()), plants.len())
    };
    let (ticks, all) = shared("parameter continuous_flow = 500 ‰");
    assert_eq!(ticks, all, "nobody asks for continuous flow");
    let (ticks, _) = shared("parameter drive_stop = 700 ms");
    let stopped = ticks as f64 / 100.0;
    assert!((7.8..10.2).contains(&stopped), "the stop is the first that differs: {stopped} s");
}

#[test]
fn only_the_levers_are_taken_from_the_log_and_only_the_rest_from_the_story() {
    let rig = rig();
    let (log, wires) = yard();
    let of_levers =
        |line: &LogLine| line.logged.frame.id29().is_some_and(|id| [0x21, 0x22].contains(&id.source()));
    let of_engine = |line: &LogLine| line.logged.frame.id29().is_some_and(|id| id.source() == 0);
    let demands = Demands::read::<LoaderBench>(&rig, &log, &wires).unwrap();
    assert_eq!(demands.given(), log.iter().filter(|line| of_levers(line)).count());
    assert_eq!(demands.of_others, log.iter().filter(|line| of_engine(line)).count());
    let all = demands.given() + demands.of_controller + demands.of_others + demands.before;
    assert_eq!(all, log.len(), "nothing is left out without being counted");

    let whole = driven(&rig, &log, &wires);
    let without_engine: Vec<LogLine> = log.iter().filter(|line| !of_engine(line)).cloned().collect();
    assert_same(&whole, &driven(&rig, &without_engine, &wires), "the engine tells its own speed");
    let levers = ["left_lever", "right_lever", "two_speed_button"];
    let switches: String = wires
        .text
        .lines()
        .filter(|line| !levers.iter().any(|lever| line.contains(lever)))
        .map(|line| line.to_owned() + "\n")
        .collect();
    let drive = driven(&rig, &log, &Scenario::parse("switches", &switches).unwrap());
    let way = |run: &Run| run.trace.column("true_x").unwrap().values.last().copied().unwrap();
    assert!(way(&drive).abs() > 3.0, "it drives: {}", way(&drive));
    assert_eq!(way(&drive).to_bits(), way(&whole).to_bits(), "by the log's levers");
    let without_levers: Vec<LogLine> = log.iter().filter(|line| !of_levers(line)).cloned().collect();
    assert!(way(&driven(&rig, &without_levers, &wires)).abs() < 0.1, "the story's levers are not heard");
}

#[test]
fn a_log_without_the_start_or_of_hours_is_refused() {
    let rig = rig();
    let (log, wires) = yard();
    let later: Vec<LogLine> = log.iter().filter(|line| line.logged.micros > 5_000_000).cloned().collect();
    let refused = Demands::read::<LoaderBench>(&rig, &later, &wires).unwrap_err();
    assert!(matches!(refused, NoReplay::NoStart { .. }), "{refused}");
    let mut long = log.clone();
    long.last_mut().unwrap().logged.micros += (LONGEST_DRIVE * 1e6) as u64;
    let refused = Demands::read::<LoaderBench>(&rig, &long, &wires).unwrap_err();
    assert!(matches!(refused, NoReplay::TooLong { .. }), "{refused}");
}

fn preview(words: &[&str]) -> (Outcome, String, String) {
    let (mut out, mut errors) = (Vec::new(), Vec::new());
    let typed: Vec<String> = ["preview"].iter().chain(words).map(|word| (*word).to_owned()).collect();
    let mut streams = Streams { out: &mut out, errors: &mut errors, look: Look::PLAIN };
    let outcome = run_with::<ShortBench>(typed, &mut streams);
    (outcome, String::from_utf8(out).unwrap(), String::from_utf8(errors).unwrap())
}

#[test]
fn a_preview_tells_drives_variation_and_what_is_affected_and_keeps_them() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("previews");
    fs::create_dir_all(folder.join("logs")).unwrap();
    let own = folder.join("logs/own.log");
    let (log, wires) = yard();
    let half = log.iter().filter(|line| line.logged.micros < 9_000_000);
    fs::write(&own, half.map(|line| written(&line.logged, "can0") + "\n").collect::<String>()).unwrap();
    fs::write(own.with_extension("scenario"), wires.text).unwrap();
    let kept = folder.join("set.json");
    let (logs, kept_at) = (folder.join("logs").display().to_string(), kept.display().to_string());
    let (_, out, errors) = preview(&["drive_stop = 1400 ms", "--drive", &logs, "--store", &kept_at]);
    for part in [
        "drive yard: 19.0 s",
        "own.log: 9.0 s",
        "frames of the levers; way",
        "wires from yard.scenario",
        "slope 0 -8/+8 deg",
        "payload 0 +0/+800 kg",
        "requirements unaffected",
        "12 runs with each set",
    ] {
        assert!(out.contains(part), "{part}\nin\n{out}{errors}");
    }
    let stored: serde_json::Value = serde_json::from_str(&fs::read_to_string(&kept).unwrap()).unwrap();
    let preview = &stored["preview"];
    assert_eq!(preview["drives"].as_array().unwrap().len(), 2);
    assert_eq!(preview["varied"].as_array().unwrap().len(), 4);
    let lines = preview["lines"].as_array().unwrap();
    let of_machine = |id: &str| LoaderBench::REQUIREMENTS.iter().any(|known| known.id == id);
    let told = lines.iter().filter(|line| of_machine(line["id"].as_str().unwrap())).count();
    assert_eq!(told, LoaderBench::REQUIREMENTS.len(), "all are kept, affected or not");
    let affected: Vec<u64> = lines.iter().map(|line| line["affected"].as_u64().unwrap()).collect();
    assert!(affected.contains(&0) && affected.iter().any(|runs| *runs > 0), "{affected:?}");
    let stops =
        |drive: &serde_json::Value| [0, 1].map(|set| drive["driven"][set]["longest_stop"].as_f64().unwrap());
    let [before, after] = stops(&preview["drives"][0]);
    assert!(after > before + 0.1, "a slower stop is a longer one: {before} and {after}");
}

#[test]
fn the_drives_of_the_folder_are_those_of_the_program() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("drives");
    let files = fs::read_dir(folder).unwrap().map(|file| file.unwrap().path());
    let mut names: Vec<String> = files
        .filter(|path| path.extension().is_some_and(|extension| extension == "log"))
        .map(|path| path.file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let known: Vec<&str> = LoaderBench::DRIVES.iter().map(|drive| drive.name).collect();
    assert_eq!(names, known);
}
