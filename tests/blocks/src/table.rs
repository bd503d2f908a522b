//! One table of every block: what it does, how it is shown to hold, what it costs.
//!
//! Nothing in it is typed: blocks come from the tables at the heads of the rooms, properties from the tests beside them,
//! independent checks from the line `//! Checks: room/file, …` at the head of a test of the package `conformance`, proofs from
//! the package `proofs`, costs from the budget. What is missing is said.

mod costs;
mod evidence;
mod source;

use std::{fmt::Write, path::Path};

use costs::Costs;
use evidence::{Checks, Proofs};
use source::Block;

use crate::pictures::snake;

/// The rooms in which a block can be, along the way of a signal.
pub const ROOMS: &[&str] =
    &["sense", "lever", "guard", "propel", "work", "ramp", "valve", "fault", "timing", "hand_over"];

const NONE: &str = "none yet";

/// The table as Markdown, for a document in `crates/trunnion`.
pub fn markdown(top: &Path) -> Result<String, String> {
    let proofs = Proofs::listed();
    let checks = Checks::read(top)?;
    let costs = Costs::read(top)?;
    let mut text = format!(
        "{}\n\nCosts are instructions of one step on a Cortex-M4F, typical and the largest found, {}.\n",
        "Links lead to the docs in the source; `cargo doc --package trunnion --open` shows them with the picture of each response.",
        costs.origin()
    );
    let mut properties = String::new();
    for room in ROOMS {
        let blocks = source::blocks(top, room)?;
        let _ = write!(
            text,
            "\n## {room}\n\n| block | what it does | properties | exhaustion | independent check | cost | doctest |\n\
             |---|---|---|---|---|---|---|\n"
        );
        for block in &blocks {
            text.push_str(&row(block, &proofs, &checks, &costs));
            properties.push_str(&listed(block, &proofs));
        }
    }
    let _ = write!(text, "\n## What is claimed of each\n\n{properties}");
    Ok(text)
}

fn row(block: &Block, proofs: &Proofs, checks: &Checks, costs: &Costs) -> String {
    let keys = block.keys();
    let proven: Vec<String> =
        proofs.of(&keys).map(|proof| format!("{} `{}`", proof.kind.name(), proof.name)).collect();
    let checked: Vec<String> = checks
        .of(&keys)
        .map(|file| format!("[{}](../../../tests/tests/it/{file}.rs)", file.replace('_', " ")))
        .collect();
    let counted = match block.properties.len() {
        0 => NONE.to_owned(),
        count => format!("[{count}](#{}-{})", block.room, snake(&block.name)),
    };
    format!(
        "| [`{}`]({}) | {} | {counted} | {} | {} | {} | {} |\n",
        block.name,
        block.path,
        block.does,
        joined(&proven),
        joined(&checked),
        costs.of(&keys).unwrap_or_else(|| NONE.to_owned()),
        if block.doctest { "yes" } else { NONE }
    )
}

fn joined(parts: &[String]) -> String {
    if parts.is_empty() { NONE.to_owned() } else { parts.join(", ") }
}

/// The claims in words, below the table.
fn listed(block: &Block, proofs: &Proofs) -> String {
    let mut text = String::new();
    let claims: Vec<&str> =
        proofs.of(&block.keys()).flat_map(|proof| &proof.claims).map(String::as_str).collect();
    if block.properties.is_empty() && claims.is_empty() {
        return text;
    }
    let _ = writeln!(text, "<a id=\"{}-{}\"></a>\n**{}**\n", block.room, snake(&block.name), block.name);
    for (file, name) in &block.properties {
        let _ = writeln!(text, "- [{}]({file})", name.replace('_', " "));
    }
    for claim in claims {
        let _ = writeln!(text, "- over all states or inputs: {claim}");
    }
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenes;

    /// Blocks whose response is that of others, which they join.
    const WITHOUT_A_PICTURE: &[(&str, &str)] = &[
        ("Sides", "carries two numbers"),
        ("Reasons", "a set of bits"),
        ("smallest", "the smallest of some numbers"),
        ("assign", "a table of words"),
        ("DebounceBank", "Debounce for many contacts in a word"),
        ("CoilBank", "Coil and PairExclusion for all coils of a machine"),
        ("ProportionalOutput", "writes to a pin"),
        ("SwitchedOutput", "writes to a pin"),
        ("PulseCell", "hands over from an interrupt"),
        ("FrameCell", "hands over from an interrupt"),
        ("FrameQueue", "hands over from an interrupt"),
    ];

    fn all() -> Vec<Block> {
        ROOMS.iter().flat_map(|room| source::blocks(&crate::top(), room).expect("a room")).collect()
    }

    #[test]
    fn every_block_has_a_picture_or_a_reason_why_not() {
        let (drawn, blocks) = (scenes::all(), all());
        for block in &blocks {
            let has = drawn.iter().any(|scene| scene.room == block.room && scene.block == block.name);
            let excused = WITHOUT_A_PICTURE.iter().any(|(name, _)| *name == block.name);
            assert!(has != excused, "{}/{}: draw a scene, or say why there is none", block.room, block.name);
        }
        for scene in drawn {
            assert!(blocks.iter().any(|block| block.name == scene.block), "{}: no such block", scene.block);
        }
    }

    #[test]
    fn every_picture_stands_in_the_docs_of_its_block() {
        let blocks = all();
        for scene in scenes::all() {
            let block = blocks.iter().find(|block| block.name == scene.block).expect("a block");
            let name = snake(scene.block);
            let path = crate::top().join("crates/trunnion/src").join(&block.path);
            let text = source::read(&path).expect("its source");
            assert!(
                text.contains(&format!("docs/{}-{name}.svg\")]", scene.room)),
                "{}: no include of its picture",
                block.path
            );
        }
    }

    #[test]
    fn every_block_has_a_doctest_and_says_what_it_does() {
        for block in all() {
            assert!(block.doctest, "{}/{} has no doctest", block.room, block.name);
            assert!(block.does.len() > 20, "{}/{}: `{}`", block.room, block.name, block.does);
        }
    }

    #[test]
    fn whatever_is_stepped_stands_in_the_table_of_its_room() {
        for room in ROOMS {
            let listed = source::blocks(&crate::top(), room).expect("a room");
            for name in source::stepped(&crate::top(), room).expect("a room") {
                assert!(
                    listed.iter().any(|block| block.name == name),
                    "{room}: {name} is not in the table of the room"
                );
            }
        }
    }

    #[test]
    fn independent_checks_and_proofs_name_blocks_that_there_are() {
        let blocks = all();
        let (checks, proofs) = (Checks::read(&crate::top()).expect("the tests"), Proofs::listed());
        for key in checks.keys().chain(proofs.keys()) {
            // Proofs also go over numbers and over the frames of the bus, which are not this table's.
            let elsewhere = !ROOMS.iter().any(|room| key.starts_with(&format!("{room}/")));
            let known = elsewhere || blocks.iter().any(|block| block.keys().contains(key));
            assert!(known, "`{key}`: no such block");
        }
    }
}
