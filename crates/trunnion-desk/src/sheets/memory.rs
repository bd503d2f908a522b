//! The memory that a machine's state takes.

use trunnion::machine::Machine;
use trunnion_board::black_box::Memory;

use super::Sheet;

const HEADING: [&str; 5] = ["part", "bytes", "times", "in all", "what it is"];

fn row(part: &str, bytes: u32, times: u32, doc: &str) -> Vec<String> {
    let all = bytes.saturating_mul(times);
    vec![part.into(), bytes.to_string(), times.to_string(), all.to_string(), doc.into()]
}

fn of_box(memory: &Memory) -> [Vec<String>; 5] {
    let (segments, words) = (Memory::SEGMENTS, memory.comparison / 2);
    [
        row(
            "box_periods",
            memory.segment,
            segments,
            "What came in, period by period: a segment of the black box.",
        ),
        row("box_states", memory.state, segments, "The control program's state in which a segment begins."),
        row(
            "box_comparison",
            words,
            2,
            "The last period and the one under way, between which the box keeps differences.",
        ),
        row("box_marks", memory.marks, 1, "Where the segments end, what froze the box."),
        row("black_box", memory.all(), 1, "The four above: all that the black box adds to the controller."),
    ]
}

/// RAM of the control step's state, configuration included, and what its black box has of it. Stack is not in it. As this
/// computer lays it out: a controller of 32 bits has 8 bytes less or so for each copy of the state.
pub fn memory_list<M: Machine>(black_box: Option<&Memory>) -> Sheet {
    let mut rows: Vec<Vec<String>> = black_box.map_or_else(Vec::new, |memory| of_box(memory).to_vec());
    let with = if black_box.is_some() { ", the black box included." } else { "." };
    rows.push(row(
        "controller",
        size_of::<M>() as u32,
        1,
        &format!("State of the control step{with} Laid out for 64 bits: a controller has a few bytes less."),
    ));
    rows.push(row("fast_loop", size_of::<M::Fast>() as u32, 1, "State of the coils' fast loop."));
    Sheet { title: "Memory".into(), heading: HEADING.to_vec(), rows }
}
