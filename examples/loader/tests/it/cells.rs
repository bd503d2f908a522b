//! The campaign on the loader: a few cells; the suite's step `campaign` runs them all.

use std::ops::ControlFlow;

use trunnion::declare::FaultSet;
use trunnion_desk::bench::Bench;
use trunnion_rig::campaign::{Allowed, Campaign, CellResult, Charter, Expectation, Order, Rule, State, run};
use trunnion_rig::run::Rig;
use trunnion_rig::scenario::Scenario;
use trunnion_rig::shard::Shard;
use trunnion_rig::trace::ColumnKind;

use loader::desk::LoaderBench;

type Loader = <LoaderBench as Bench>::Machine;
type Plant = <LoaderBench as Bench>::Plant;

fn rig() -> Rig<Loader, Plant> {
    Rig::new(LoaderBench::REQUIREMENTS).unwrap()
}

fn charter() -> Charter {
    LoaderBench::CAMPAIGN.unwrap()
}

fn cell(charter: &Charter, name: &str) -> Campaign {
    let order = Order { cell: Some(name.to_owned()), ..Order::default() };
    run(&rig(), charter, &order, &|_| {}).unwrap()
}

fn red(charter: &Charter, name: &str) -> Vec<String> {
    let campaign = cell(charter, name);
    assert_eq!(campaign.results.len(), 1, "{name}");
    campaign.results.into_iter().flat_map(|(_, result)| result.red).collect()
}

/// The loader's charter, with one expectation for everything.
fn expecting(rule: &'static [&'static [Rule]]) -> Charter {
    Charter { rules: rule, ..charter() }
}

const fn everywhere(expect: Expectation) -> Rule {
    Rule { signal: "*", way: "*", state: "*", expect, also: &[] }
}

const TOLERATED: &[&[Rule]] = &[&[everywhere(Expectation::Tolerated)]];
const TOO_SOON: &[&[Rule]] =
    &[&[everywhere(Expectation::Detected { fault: "LeftLeverLost", within_ms: 20 })]];
const OTHER_REASON: &[&[Rule]] = &[&[everywhere(Expectation::Stopped { why: "locked", within_ms: 1_000 })]];

#[test]
fn cells_as_declared_are_green() {
    for name in [
        "left_lever:lost@driving",
        "seat_occupied:open@driving",
        "enable_button:stuck@working",
        "controller_supply:brown_out@working",
        "parameter_block:damaged@driving",
    ] {
        assert_eq!(red(&charter(), name), [""; 0], "{name}");
    }
}

#[test]
fn a_machine_that_stops_or_tells_a_fault_does_not_tolerate() {
    let stopped = red(&expecting(TOLERATED), "seat_occupied:open@driving");
    assert!(stopped.iter().any(|line| line.starts_with("permission_drive went after 710 ms")), "{stopped:?}");
    let told = red(&expecting(TOLERATED), "oil_temperature_signal:open@at_rest");
    assert_eq!(told, ["OilTemperatureSensor came after 510 ms, which was not expected"]);
}

#[test]
fn a_fault_that_comes_late_or_a_stop_for_another_reason_is_red() {
    let late = red(&expecting(TOO_SOON), "left_lever:lost@driving");
    assert_eq!(late, ["LeftLeverLost came after 50 ms, 20 ms are allowed"]);
    let reason = red(&expecting(OTHER_REASON), "seat_occupied:open@driving");
    assert_eq!(reason, ["locked never was the reason to stand"]);
}

#[test]
fn a_machine_that_takes_longer_to_stop_than_its_state_allows_is_red() {
    let strict: Vec<State> = charter()
        .states
        .iter()
        .map(|state| State { allowed: Allowed { stop_metres: 0.2, ..state.allowed }, ..*state })
        .collect();
    let strict = Charter { states: strict.leak(), ..charter() };
    let late = red(&strict, "seat_occupied:open@driving");
    assert!(late.len() == 1 && late[0].ends_with("m after permission went, 0.2 allowed"), "{late:?}");
}

/// Faults that come up in a scenario from a tick on, with the time since then, in their order.
fn told(scenario: &str, from: u32) -> Vec<(String, u32)> {
    let rig = rig();
    let info = <Loader as trunnion::machine::Machine>::Faults::INFO;
    let first = rig.columns().iter().position(|column| column.kind == ColumnKind::Fault).unwrap();
    let scenario = Scenario::parse("replay", scenario).unwrap();
    let mut active = vec![false; info.len()];
    let mut told: Vec<(String, u32)> = Vec::new();
    rig.run_watched(&scenario, &mut |tick| {
        for ((info, active), now) in info.iter().zip(&mut active).zip(&tick.row[first..]) {
            let (was, is) = (std::mem::replace(active, *now != 0.0), *now != 0.0);
            if is && !was && tick.index >= from && !told.iter().any(|(name, _)| name == info.name) {
                told.push((info.name.to_owned(), 10 * (tick.index - from + 1)));
            }
        }
        ControlFlow::Continue(())
    })
    .unwrap();
    told
}

#[test]
fn a_cell_replays_as_a_scenario_to_the_same_faults_at_the_same_times() {
    let campaign = cell(&charter(), "left_lever:lost@driving");
    assert_eq!(campaign.results[0].1.measured.faults, [("LeftLeverLost".to_owned(), 50)]);
    let mut faults = 0;
    for what in [
        "left_lever:lost",
        "right_lever_basic:corrupted",
        "left_lever:wrong_source",
        "machine_bus:intermittent",
        "right_lever:flooding",
        "left_pump_forward_current:intermittent",
        "left_pump_forward:return_to_ground",
        "charge_pressure_signal:out_of_range",
        "controller_supply:dip",
        "controller_supply:brown_out",
        "controller_supply:reset",
        "controller_supply:intermittent",
        "parameter_block:damaged_at_start",
    ] {
        let campaign = cell(&charter(), &format!("{what}@driving"));
        let (_, result) = &campaign.results[0];
        // Broken before the tick at 5 s.
        assert_eq!(told(&result.replay, 500), result.measured.faults, "{what}");
        faults += result.measured.faults.len();
    }
    assert!(faults > 10);
}

#[test]
fn a_controller_that_starts_anew_while_it_drives_finds_no_stray_current_and_comes_back() {
    for state in ["driving", "working", "auxiliary"] {
        let campaign = cell(&charter(), &format!("controller_supply:reset@{state}"));
        let (_, result) = &campaign.results[0];
        assert_eq!((&result.measured.faults, &result.measured.missing), (&vec![], &vec![]), "{state}");
    }
}

fn pair(charter: &Charter, name: &str) -> CellResult {
    let order = Order { pairs: true, cell: Some(name.to_owned()), ..Order::default() };
    let campaign = run(&rig(), charter, &order, &|_| {}).unwrap();
    assert_eq!(campaign.results.len(), 1, "{name}");
    campaign.results.into_iter().map(|(_, result)| result).next().unwrap()
}

#[test]
fn of_a_pair_one_answer_in_time_is_enough_and_what_neither_may_bring_is_red() {
    let name = "left_lever:lost+seat_occupied:stuck@driving";
    assert_eq!(pair(&charter(), name).red, [""; 0]);
    assert_eq!(pair(&expecting(TOO_SOON), name).red.len(), 2, "neither in time");
    let tolerated = pair(&expecting(TOLERATED), name).red;
    assert!(
        tolerated.contains(&"LeftLeverLost came after 50 ms, which was not expected".to_owned()),
        "{tolerated:?}"
    );
    let replay = pair(&charter(), name).replay;
    assert_eq!(told(&replay, 500), [("LeftLeverLost".to_owned(), 50)]);
}

#[test]
fn a_sample_in_parts_is_the_sample_of_one_process() {
    let sample = |shard: &str| {
        let order =
            Order { sample: Some((6, 3)), shard: shard.parse::<Shard>().unwrap(), ..Order::default() };
        run(&rig(), &charter(), &order, &|_| {}).unwrap()
    };
    let whole = sample("1/1");
    let mut parts = [sample("2/2").results, sample("1/2").results].concat();
    parts.sort_by_key(|(number, _)| *number);
    assert_eq!(whole.results.len(), 6);
    assert_eq!(parts, whole.results);
}
