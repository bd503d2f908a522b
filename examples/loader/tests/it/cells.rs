//! The campaign on the loader: a few cells; the suite's step `campaign` runs them all.

use std::cell::Cell as Flag;
use std::ops::ControlFlow;

use trunnion_desk::bench::Bench;
use trunnion_rig::campaign::{Allowed, Campaign, Charter, Expectation, Order, Rule, State, run};
use trunnion_rig::run::Rig;
use trunnion_rig::scenario::Scenario;
use trunnion_rig::shard::Shard;

use crate::desk::bench::LoaderBench;

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
    for name in ["left_lever:lost@driving", "seat_occupied:open@driving", "enable_button:stuck@working"] {
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

#[test]
fn a_cell_replays_as_a_scenario_to_the_same_fault_at_the_same_time() {
    let campaign = cell(&charter(), "left_lever:lost@driving");
    let (_, result) = &campaign.results[0];
    assert_eq!(result.measured.faults, [("LeftLeverLost".to_owned(), 50)]);
    let rig = rig();
    let column = rig.columns().iter().position(|column| column.name == "fault_left_lever_lost").unwrap();
    let scenario = Scenario::parse("replay", &result.replay).unwrap();
    let first = Flag::new(None);
    rig.run_watched(&scenario, &mut |tick| {
        if first.get().is_none() && tick.row[column] != 0.0 {
            first.set(Some(tick.index));
        }
        ControlFlow::Continue(())
    })
    .unwrap();
    // Broken before the tick at 5 s, told in the fifth tick from there on.
    assert_eq!(first.get(), Some(504));
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
