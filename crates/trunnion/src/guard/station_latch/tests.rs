use std::collections::{HashSet, VecDeque};
use std::vec::Vec;

use proptest::prelude::*;

use super::*;

const TICK: Period = Period::from_micros(10_000).unwrap();
const CONFIG: StationLatchConfig = StationLatchConfig { hold: Millis::millis(100) };
const HOLD: usize = 10;

type Seats = StationLatch<2>;
type Inputs = StationLatchInputs<2>;

fn latch() -> Seats {
    Seats::new(CONFIG, TICK).unwrap()
}

fn inputs() -> impl Strategy<Value = Inputs> {
    let often = || prop::bool::weighted(0.8);
    ([any::<bool>(), any::<bool>()], [often(), often()], often())
        .prop_map(|(claimed, neutral, at_rest)| Inputs { claimed, neutral, at_rest })
}

fn stream() -> impl Strategy<Value = Vec<Inputs>> {
    proptest::collection::vec((inputs(), prop_oneof![Just(1_usize), 1_usize..25]), 1..30).prop_map(
        |segments| {
            segments.into_iter().flat_map(|(inputs, steps)| std::iter::repeat_n(inputs, steps)).collect()
        },
    )
}

/// For how many steps up to the last one of `history` this station alone was claimed, with all levers released and
/// the machine at rest.
fn lasted(history: &[Inputs], place: usize) -> usize {
    let free = |inputs: &&Inputs| {
        inputs.claimed[place] && !inputs.claimed[1 - place] && inputs.neutral == [true; 2] && inputs.at_rest
    };
    history.iter().rev().take_while(free).count()
}

proptest! {
    #[test]
    fn a_station_takes_over_exactly_when_all_levers_were_released_at_rest_for_the_hold_time(stream in stream()) {
        let mut latch = latch();
        for now in 1..=stream.len() {
            let before = latch.in_command();
            let state = latch.step(stream[now - 1]);
            prop_assert_eq!(state.changed, before != state.in_command);
            for place in 0..2_u8 {
                let due = before != Some(place) && lasted(&stream[..now], usize::from(place)) > HOLD;
                prop_assert_eq!(state.changed && state.in_command == Some(place), due);
            }
        }
    }

    #[test]
    fn whoever_commands_keeps_it_until_another_takes_over(stream in stream()) {
        let mut latch = latch();
        let mut commanded = false;
        for inputs in stream {
            let state = latch.step(inputs);
            prop_assert!(!commanded || state.in_command.is_some());
            commanded |= state.in_command.is_some();
        }
    }

    #[test]
    fn a_lone_claim_either_commands_or_waits(stream in stream()) {
        let mut latch = latch();
        for inputs in stream {
            let state = latch.step(inputs);
            let lone = alone(&inputs.claimed);
            prop_assert!(lone.is_none() || state.in_command == lone || state.waiting == lone);
            prop_assert!(state.waiting.is_none() || state.waiting == lone && state.in_command != lone);
        }
    }

    #[test]
    fn both_stations_are_alike(stream in stream()) {
        let (mut one, mut other) = (latch(), latch());
        for inputs in stream {
            let swapped = |[a, b]: [bool; 2]| [b, a];
            let mirrored = Inputs { claimed: swapped(inputs.claimed), neutral: swapped(inputs.neutral), ..inputs };
            let (one, other) = (one.step(inputs), other.step(mirrored));
            prop_assert_eq!(one.in_command, other.in_command.map(|place| 1 - place));
            prop_assert_eq!(one.waiting, other.waiting.map(|place| 1 - place));
        }
    }
}

/// Every input from every state that can be reached, with the shortest time: 50 ms are five steps, and a longer time
/// only adds states of waiting that differ in nothing else.
#[test]
fn from_every_state_only_a_released_machine_at_rest_changes_who_commands() {
    let start = Seats::new(StationLatchConfig { hold: SHORTEST_HOLD }, TICK).unwrap();
    let all: Vec<Inputs> = (0..32_u8)
        .map(|bits| {
            let bit = |place: u8| bits & (1 << place) != 0;
            Inputs { claimed: [bit(0), bit(1)], neutral: [bit(2), bit(3)], at_rest: bit(4) }
        })
        .collect();
    let (mut seen, mut open) = (HashSet::from([start]), VecDeque::from([start]));
    let mut take_overs = HashSet::new();
    while let Some(state) = open.pop_front() {
        for inputs in &all {
            let mut next = state;
            let told = next.step(*inputs);
            if told.changed {
                assert!(
                    inputs.at_rest && inputs.neutral == [true; 2] && inputs.claimed[0] != inputs.claimed[1]
                );
                take_overs.insert((state.in_command, told.in_command));
            } else {
                assert_eq!(told.in_command, state.in_command);
            }
            if seen.insert(next) {
                open.push_back(next);
            }
        }
    }
    assert_eq!(take_overs.len(), 4, "from nobody and from the other, to each: {take_overs:?}");
    assert!(seen.len() > 20 && seen.len() < 60, "{} states", seen.len());
}

#[test]
fn after_a_reset_nobody_commands_until_a_station_has_waited_anew() {
    let mut latch = latch();
    let claim = Inputs { claimed: [false, true], neutral: [true; 2], at_rest: true };
    for _ in 0..=HOLD {
        latch.step(claim);
    }
    assert_eq!((latch.in_command(), latch.chosen(['l', 'r'])), (Some(1), Some('r')));
    latch.reset();
    assert_eq!(latch.chosen(['l', 'r']), None);
    for _ in 0..HOLD {
        assert_eq!(latch.step(claim).in_command, None);
    }
    assert_eq!(latch.step(claim).in_command, Some(1));
}

#[test]
fn another_time_keeps_who_commands_and_what_was_waited() {
    let mut latch = latch();
    let claim = Inputs { claimed: [true, false], neutral: [true; 2], at_rest: true };
    for _ in 0..6 {
        latch.step(claim);
    }
    latch.reconfigure(StationLatchConfig { hold: Millis::millis(50) }).unwrap();
    assert_eq!(latch.step(claim).in_command, Some(0));
    latch.reconfigure(CONFIG).unwrap();
    assert_eq!(latch.in_command(), Some(0));
}

#[test]
fn a_time_outside_its_range_is_refused_with_the_range() {
    let error = Seats::new(StationLatchConfig { hold: Millis::millis(49) }, TICK).unwrap_err();
    assert_eq!(std::format!("{error}"), "levers released for 49 ms before a take-over: set 50 ms to 5000 ms");
}
