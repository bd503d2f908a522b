//! A wrong map, a wrong claim, a wrong merge of states: each is found.

use proofs::{
    progress::Progress,
    proof::{Bench, Effort, Outcome},
    sweep::{Order, Shape, Study},
    walk::{self, Merge, Requirement, Walked, always, planted},
};

const DOMAIN: (i64, i64) = (-(1 << 20), 1 << 20);

fn shape() -> Shape {
    Shape {
        domain: DOMAIN,
        bounds: DOMAIN,
        order: Order::Rises,
        odd: true,
        largest_change: 1,
        breakpoints: vec![777],
    }
}

fn sweep(effort: Effort, shape: &Shape, map: impl Fn(i64) -> Option<i64> + Sync) -> Outcome {
    let progress = Progress::new();
    let bench = Bench { effort, threads: 2, progress: &progress };
    let mut study = Study::new(&bench, "negative control");
    study.sweep("", shape, map, |raw, answer| answer.is_some() || raw == 13);
    study.conclude()
}

#[test]
fn a_sound_map_has_no_findings_and_the_same_checksum_on_any_run() {
    let first = sweep(Effort::Whole, &shape(), Some);
    assert!(first.findings.is_empty(), "{:?}", first.findings);
    assert_eq!(first.inputs, (1 << 21) + 1);
    assert_eq!(first.checksum, sweep(Effort::Whole, &shape(), Some).checksum);
}

#[test]
fn one_wrong_output_among_two_million_is_found_with_its_input() {
    for wrong in [DOMAIN.0, -5, 777, 123_456, DOMAIN.1] {
        let outcome = sweep(Effort::Whole, &shape(), |raw| Some(if raw == wrong { raw + 2 } else { raw }));
        let finding = outcome.findings.first().cloned().unwrap_or_default();
        assert!(
            finding.contains(&wrong.to_string()) || finding.contains(&(wrong + 1).to_string()),
            "{finding}"
        );
    }
}

#[test]
fn a_quick_sweep_finds_what_is_wrong_at_a_breakpoint_and_at_the_ends() {
    for wrong in [DOMAIN.0, 0, 777, 778, DOMAIN.1] {
        let outcome = sweep(Effort::Quick, &shape(), |raw| Some(if raw == wrong { raw - 3 } else { raw }));
        assert_eq!(outcome.findings.len(), 1, "{wrong}");
    }
}

#[test]
fn each_claim_about_a_shape_is_held_by_itself() {
    let free = Shape { order: Order::Free, odd: false, largest_change: i64::MAX, ..shape() };
    type Map = fn(i64) -> Option<i64>;
    let wrong: [(&str, Shape, Map); 5] = [
        ("outside", Shape { bounds: (-5, 5), ..free.clone() }, Some),
        ("mirrored", Shape { odd: true, ..free.clone() }, |raw| Some(raw.abs())),
        ("change", Shape { largest_change: 1, ..free.clone() }, |raw| Some(raw / 2 * 2)),
        ("order", Shape { order: Order::Falls, ..free.clone() }, Some),
        ("not right", free, |raw| (raw != 14).then_some(raw)),
    ];
    for (word, shape, map) in wrong {
        let outcome = sweep(Effort::Whole, &shape, map);
        assert!(
            outcome.findings.iter().any(|finding| finding.contains(word)),
            "{word}: {:?}",
            outcome.findings
        );
    }
}

/// A latch that gives way to its tenth push: whoever takes 8 and 9 for one misses it.
#[derive(Debug, Clone, Copy)]
struct TenPushes<const ABOVE: u32>;

impl<const ABOVE: u32> Walked for TenPushes<ABOVE> {
    type Block = (u32, bool);
    type Input = bool;
    type Output = bool;
    type Memory = ();
    const MERGE: Merge = Merge { counts_above: ABOVE, ..Merge::NOTHING };

    fn block(&self) -> (u32, bool) {
        (0, false)
    }

    fn inputs(&self) -> Vec<bool> {
        vec![false, true]
    }

    fn step((count, open): &mut (u32, bool), push: bool) -> bool {
        *count = if push { (*count + 1).min(10) } else { 0 };
        *open |= *count == 10;
        *open
    }

    fn remember(&self, _: &mut (), _: bool, _: bool) {}

    fn requirements() -> Vec<Requirement<Self>> {
        vec![always("it never opens", |now| !now.output), planted("nothing is ever pushed", |now| !now.input)]
    }
}

#[test]
fn a_broken_requirement_is_found_with_the_way_to_it() {
    let outcome = walk::walked(&TenPushes::<{ u32::MAX }>);
    let finding = outcome.findings.join("\n");
    assert!(finding.contains("it never opens"), "{finding}");
    assert_eq!(finding.matches("true").count(), 10, "the shortest way has ten pushes: {finding}");
    assert!(!finding.contains("false"), "the shortest way is nothing but pushes: {finding}");
}

#[test]
fn states_that_are_wrongly_taken_for_one_are_told() {
    let outcome = walk::walked(&TenPushes::<7>);
    assert!(outcome.findings.iter().any(|finding| finding.contains(walk::ALIKE)), "{:?}", outcome.findings);
}

/// A requirement that nothing can break, planted as a wrong one.
#[derive(Debug, Clone, Copy)]
struct Harmless;

impl Walked for Harmless {
    type Block = bool;
    type Input = bool;
    type Output = bool;
    type Memory = ();

    fn block(&self) -> bool {
        false
    }

    fn inputs(&self) -> Vec<bool> {
        vec![false, true]
    }

    fn step(block: &mut bool, input: bool) -> bool {
        *block = input;
        input
    }

    fn remember(&self, _: &mut (), _: bool, _: bool) {}

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            walk::sometimes("it is neither", |now| now.output && !now.input),
            planted("it follows its input", |now| now.output == now.input),
        ]
    }
}

#[test]
fn what_is_never_reached_and_what_is_planted_in_vain_are_findings() {
    let findings = walk::walked(&Harmless).findings.join("\n");
    assert!(findings.contains("never reached: it is neither"), "{findings}");
    assert!(findings.contains("planted, and not found to be wrong: it follows its input"), "{findings}");
}
