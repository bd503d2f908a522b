//! The corpus of every target, and a few thousand mutations of it, without counters.

use std::time::Duration;

use fuzz::corpus;
use fuzz::loops::{Limits, run};
use fuzz::targets::{ALL, Target};

#[test]
fn every_input_of_the_corpus_and_what_is_near_it_holds() {
    for target in ALL {
        let inputs = corpus::read(&corpus::folder(target.name)).unwrap();
        assert!(inputs.len() >= 5, "{} has {} inputs: adopt some", target.name, inputs.len());
        let limits = Limits { executions: 3_000, time: Duration::from_secs(20) };
        let came = run(target, &inputs, 7, limits, |_| {});
        assert_eq!(came.broken, None, "{}: {}", target.name, target.holds);
        assert!(came.executions > inputs.len() as u64);
    }
}

#[test]
fn what_does_not_hold_is_found_and_made_short() {
    fn no_two_the_same(input: &[u8]) {
        assert!(!input.windows(2).any(|pair| pair[0] == pair[1] && pair[0] > 0x7F));
    }
    let target = Target { name: "planted", holds: "no two large bytes are the same", run: no_two_the_same };
    let limits = Limits { executions: 2_000_000, time: Duration::from_secs(60) };
    let came = run(&target, &[vec![1, 2, 3, 4, 5]], 1, limits, |_| {});
    let broken = came.broken.expect("it is found");
    assert_eq!(broken.len(), 2, "{broken:?}");
    assert_eq!(broken[0], broken[1]);
}
