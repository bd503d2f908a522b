//! What the papers say of memory is what the controllers have.

use std::fs;
use std::path::Path;

use loader::Loader;
use loader::control::Control;
use trunnion::machine::SafeStart;

/// Bytes of state of a subject on each core, from the books that are kept.
fn weighed(subject: &str) -> Vec<usize> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("budget");
    let mut states = Vec::new();
    for book in fs::read_dir(folder).unwrap() {
        let text = fs::read_to_string(book.unwrap().path()).unwrap();
        for line in text.lines() {
            if let [name, _, "rust", _, _, _, state, _] = line.split(',').collect::<Vec<_>>()[..]
                && name == subject
            {
                states.push(state.parse().unwrap());
            }
        }
    }
    assert!(states.len() >= 5, "{subject}: {states:?}");
    states
}

/// A count of this computer's word is wider than on a controller: the state has one, and the box two copies of the state.
const WIDER: usize = 8;

#[test]
fn a_state_has_as_many_bytes_here_as_on_each_core_but_for_the_width_of_a_word() {
    for (subject, here, copies) in
        [("path/loader", size_of::<SafeStart<Control>>(), 1), ("path/loader_boxed", size_of::<Loader>(), 3)]
    {
        for there in weighed(subject) {
            assert!(here >= there && here - there <= copies * WIDER, "{subject}: {here} here, {there} there");
        }
    }
}
