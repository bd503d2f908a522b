//! The subjects themselves.

use costs::SUBJECTS;

#[test]
fn a_subject_is_named_after_its_file() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src/subject");
    for subject in SUBJECTS {
        assert!(folder.join(subject.name).with_extension("rs").is_file(), "{}", subject.name);
    }
    let mut names: Vec<&str> = SUBJECTS.iter().map(|subject| subject.name).collect();
    names.dedup();
    assert_eq!(names.len(), SUBJECTS.len());
}

#[test]
fn the_stream_of_a_seed_can_be_repeated_and_moves_what_the_block_gives() {
    let mut constant = Vec::new();
    for subject in SUBJECTS {
        let run = |seed| {
            let mut all = Vec::new();
            (subject.replay)(seed, 2_000, &mut |input, output| all.push((*input, output.to_vec())));
            all
        };
        let one = run(7);
        assert_eq!(one, run(7), "{}", subject.name);
        assert_ne!(one, run(8), "{}", subject.name);
        let first = &one[0].1;
        if one.iter().all(|(_, output)| output == first) {
            constant.push(format!("{}: gives {first:?} all the time", subject.name));
        }
    }
    assert!(constant.is_empty(), "\n{}", constant.join("\n"));
}
