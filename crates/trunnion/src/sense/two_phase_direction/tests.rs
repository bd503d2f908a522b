use super::*;
use proptest::prelude::*;
use std::string::ToString;
use std::vec::Vec;

const CONFIG: TwoPhaseDirectionConfig = TwoPhaseDirectionConfig { confirm: 4, stuck_after: 10 };

fn wheel() -> TwoPhaseDirection {
    TwoPhaseDirection::new(CONFIG).unwrap()
}

/// Levels of a wheel at a position in edges.
fn phases(position: i32) -> (bool, bool) {
    [(false, false), (true, false), (true, true), (false, true)][position.rem_euclid(4) as usize]
}

fn at(wheel: &mut TwoPhaseDirection, position: i32) -> Reading<TurnDirection> {
    let (first, second) = phases(position);
    wheel.step(first, second)
}

/// Moves by no more than an edge a step.
fn moves() -> impl Strategy<Value = Vec<i32>> {
    let run = (-1..=1_i32, 1..12_usize);
    proptest::collection::vec(run, 0..30)
        .prop_map(|runs| runs.into_iter().flat_map(|(way, steps)| std::iter::repeat_n(way, steps)).collect())
}

proptest! {
    #[test]
    fn a_wheel_that_is_seen_at_every_edge_is_counted_exactly(start in 0..4, moves in moves()) {
        let mut wheel = wheel();
        at(&mut wheel, start);
        let mut position = start;
        for way in moves {
            position += way;
            let reading = at(&mut wheel, position);
            prop_assert_eq!(wheel.edges(), position - start);
            prop_assert!(reading.flaw() != Some(Flaw::TooFast));
        }
    }

    #[test]
    fn a_direction_that_is_new_was_confirmed_by_its_edges(start in 0..4, moves in moves()) {
        let mut wheel = wheel();
        at(&mut wheel, start);
        let (mut position, mut before) = (start, wheel.direction());
        for now in 0..moves.len() {
            position += moves[now];
            let reading = at(&mut wheel, position);
            let mut edges = moves[..=now].iter().rev().filter(|way| **way != 0);
            let newest = edges.next().copied().unwrap_or(0);
            let run = if newest == 0 { 0 } else { 1 + edges.take_while(|way| **way == newest).count() };
            if let (Reading::Valid(direction), true) = (reading, reading != before) {
                prop_assert!(run >= 4);
                prop_assert_eq!(direction == TurnDirection::Forward, newest > 0);
            }
            if run >= 4 {
                prop_assert_eq!(reading.valid().map(|direction| direction == TurnDirection::Forward), Some(newest > 0));
            }
            before = reading;
        }
    }

    #[test]
    fn swapping_the_phases_mirrors_the_wheel(levels in proptest::collection::vec(any::<(bool, bool)>(), 0..200)) {
        let (mut straight, mut swapped) = (wheel(), wheel());
        for (first, second) in levels {
            let mirrored = straight.step(first, second).map(|direction| match direction {
                TurnDirection::Forward => TurnDirection::Reverse,
                TurnDirection::Reverse => TurnDirection::Forward,
            });
            prop_assert_eq!(swapped.step(second, first), mirrored);
            prop_assert_eq!(swapped.edges(), -straight.edges());
        }
    }

    #[test]
    fn a_dead_phase_is_told_after_its_edges_however_the_wheel_turned_before(moves in moves(), stuck: bool, toggles in 11..100_usize) {
        let mut wheel = wheel();
        let mut position = 0;
        for way in moves {
            position += way;
            at(&mut wheel, position);
        }
        let (_, mut level) = phases(position);
        let mut reading = wheel.step(stuck, level);
        for _ in 0..toggles {
            level = !level;
            reading = wheel.step(stuck, level);
        }
        prop_assert_eq!(reading, Reading::Faulted(Flaw::Disagreement));
    }

    #[test]
    fn a_missed_edge_faults_the_direction_until_it_is_confirmed_anew(turns in 1..50, forward: bool) {
        let mut wheel = wheel();
        let way = if forward { 1 } else { -1 };
        for turn in 0..=turns + 4 {
            at(&mut wheel, way * turn);
        }
        prop_assert!(wheel.direction().is_valid());
        let missed = way * (turns + 6);
        prop_assert_eq!(at(&mut wheel, missed), Reading::Faulted(Flaw::TooFast));
        for turn in 1..4 {
            prop_assert_eq!(at(&mut wheel, missed + way * turn), Reading::Faulted(Flaw::TooFast));
        }
        prop_assert_eq!(at(&mut wheel, missed + 4 * way).is_valid(), true);
        wheel.reset();
        prop_assert_eq!(at(&mut wheel, 0), Reading::Faulted(Flaw::Silent));
    }
}

#[test]
fn a_wheel_that_was_confirmed_between_may_tremble_as_often_again() {
    let mut wheel = wheel();
    let mut position = 0;
    at(&mut wheel, position);
    for _ in 0..10 {
        // Nine edges to and fro, then four forward.
        for way in [1, -1, 1, -1, 1, -1, 1, -1, 1, 1, 1, 1] {
            position += way;
            assert!(at(&mut wheel, position).flaw() != Some(Flaw::Disagreement));
        }
        assert_eq!(wheel.direction(), Reading::Valid(TurnDirection::Forward));
    }
}

#[test]
fn the_first_edge_turns_back_from_none() {
    for missed in [false, true] {
        let mut wheel = wheel();
        at(&mut wheel, if missed { 2 } else { 0 });
        let unknown = at(&mut wheel, 0);
        for edge in 1..=10 {
            assert_eq!(at(&mut wheel, edge % 2), unknown, "edge {edge}");
        }
        assert_eq!(at(&mut wheel, 1), Reading::Faulted(Flaw::Disagreement));
    }
}

#[test]
fn numbers_outside_their_range_are_refused_with_the_range_and_change_nothing() {
    let mut wheel = wheel();
    let error = wheel.reconfigure(TwoPhaseDirectionConfig { confirm: 1, ..CONFIG }).unwrap_err();
    assert_eq!(error.to_string(), "confirm is 1; it must be 2 to 32");
    let error = wheel.reconfigure(TwoPhaseDirectionConfig { stuck_after: 3, ..CONFIG }).unwrap_err();
    assert_eq!(error.to_string(), "stuck_after is 3; it must be 4 to 250");
    assert_eq!(wheel.config, CONFIG);
}

four_verbs! {
    new: TwoPhaseDirection::new,
    configs: (CONFIG, TwoPhaseDirectionConfig { confirm: 6, stuck_after: 15 }),
    accepted: [
        TwoPhaseDirectionConfig { confirm: 2, stuck_after: 4 },
        TwoPhaseDirectionConfig { confirm: 32, stuck_after: 250 },
    ],
    refused: [
        TwoPhaseDirectionConfig { confirm: 1, stuck_after: 4 } => "confirm is 1; it must be 2 to 32",
        TwoPhaseDirectionConfig { confirm: 33, stuck_after: 4 } => "confirm is 33; it must be 2 to 32",
        TwoPhaseDirectionConfig { confirm: 2, stuck_after: 3 } => "stuck_after is 3; it must be 4 to 250",
        TwoPhaseDirectionConfig { confirm: 2, stuck_after: 251 } => "stuck_after is 251; it must be 4 to 250",
    ],
    inputs: (any::<bool>(), any::<bool>()),
    step: |block, (first, second)| (block.step(first, second), block.direction(), block.edges()),
    reset: |block| block.reset(),
}
