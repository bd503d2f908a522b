//! The RAM that a black box takes.

use trunnion::machine::Program;

use super::Boxed;
use super::period::{Last, MOST_IN};
use super::segment::Segment;

/// Segments of a box.
const SEGMENTS: u32 = 2;

/// What a box adds to the state of its program, in bytes. All of it follows from the program's type and from the bytes of a
/// segment; no parameter changes it. It is that of the processor for which this is compiled: one of 64 bits has a few bytes
/// more in each state than a controller, since its counts are wider.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Memory {
    /// The state of the program alone: a copy of it is what a segment begins with.
    pub state: u32,
    /// Periods of one segment.
    pub segment: u32,
    /// In which periods are compared: the last one and the one under way.
    pub comparison: u32,
    /// Places, counts, modes, and what lies between them.
    pub marks: u32,
}

impl Memory {
    /// How many segments there are, each with its copy of the state.
    pub const SEGMENTS: u32 = SEGMENTS;

    /// All that the box adds.
    pub const fn all(&self) -> u32 {
        SEGMENTS
            .saturating_mul(self.state.saturating_add(self.segment))
            .saturating_add(self.comparison)
            .saturating_add(self.marks)
    }
}

impl<P: Program, const BYTES: usize> Boxed<P, BYTES> {
    /// The memory of the box.
    pub const MEMORY: Memory = {
        let (state, comparison) = (size_of::<P>() as u32, 2 * MOST_IN as u32);
        // Of each part, what is left besides its contents.
        let of_segment =
            (size_of::<Segment<P, BYTES>>() as u32).saturating_sub(state).saturating_sub(BYTES as u32);
        let of_last = (size_of::<Last>() as u32).saturating_sub(comparison);
        let parts = SEGMENTS as usize * size_of::<Segment<P, BYTES>>() + size_of::<Last>() + size_of::<P>();
        let own = size_of::<Self>().saturating_sub(parts) as u32;
        Memory { state, segment: BYTES as u32, comparison, marks: SEGMENTS * of_segment + of_last + own }
    };
}
