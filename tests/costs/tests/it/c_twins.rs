//! The twins in C give the bits of the blocks.

use std::{fmt::Write, thread};

use costs::{SUBJECTS, c_twin::C_TWINS, c_twin::CTwin, scale::Entry, scale::WORDS};

/// Each stream begins with a new block.
const STREAM: u32 = 1_000;
const STREAMS: u32 = 1_000;

#[test]
fn every_twin_in_c_gives_the_bits_of_its_block_over_a_million_steps() {
    if !C_TWINS.iter().any(|twin| twin.compiler == "clang") {
        println!("skipped: c_twins::clang: no clang on this computer");
    }
    let only = std::env::var("COSTS_TWIN").ok();
    let chosen: Vec<_> =
        C_TWINS.iter().filter(|twin| only.as_ref().is_none_or(|only| twin.name == only)).collect();
    assert!(!chosen.is_empty(), "COSTS_TWIN={}: no such twin", only.unwrap_or_default());
    let findings: Vec<String> = thread::scope(|scope| {
        let halves = [0, 1].map(|half| {
            let twins = chosen.iter().skip(half).step_by(2);
            scope.spawn(|| twins.filter_map(|twin| difference(twin, subject(twin))).collect::<Vec<_>>())
        });
        halves.into_iter().flat_map(|half| half.join().expect("a comparison")).collect()
    });
    assert!(findings.is_empty(), "\n{}", findings.join("\n"));
}

#[test]
fn no_file_of_the_twins_lacks_its_subject() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("twins");
    for file in std::fs::read_dir(folder).expect("the folder of the twins") {
        let name = file.expect("a file").file_name().into_string().expect("a name in letters");
        if let Some(key) = name.strip_suffix(".c") {
            let known = SUBJECTS.iter().any(|subject| subject.name.replace('/', "_") == key);
            assert!(known, "twins/{name}: no subject; the name is ROOM_BLOCK.c");
        }
    }
}

fn subject(twin: &CTwin) -> &'static Entry {
    SUBJECTS.iter().find(|subject| subject.name == twin.name).expect("the build lists twins of subjects only")
}

/// The first step in which a twin is not its subject.
fn difference(twin: &'static CTwin, subject: &Entry) -> Option<String> {
    for seed in 0..STREAMS {
        let mut running = twin.start()?;
        let (mut step, mut found) = (0, None);
        (subject.replay)(seed, STREAM, &mut |input, expected| {
            let mut output = [0; WORDS];
            running.step(input, &mut output);
            if found.is_none() && output[..expected.len()] != *expected {
                found = Some(told(twin, (seed, step), input, (expected, &output[..expected.len()])));
            }
            step += 1;
        });
        if found.is_some() {
            return found;
        }
    }
    None
}

fn told(
    twin: &CTwin,
    (seed, step): (u32, u32),
    input: &[i32],
    (expected, output): (&[i32], &[i32]),
) -> String {
    let mut text =
        format!("{} by {}: seed {seed}, step {step}: block {expected:?}", twin.name, twin.compiler);
    let shown = &input[..input.iter().rposition(|word| *word != 0).map_or(1, |last| last + 1)];
    write!(text, ", twin {output:?}, input {shown:?}").expect("text");
    text
}
