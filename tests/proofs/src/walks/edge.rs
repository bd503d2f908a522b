//! Rising and falling edge.

use trunnion::timing::{FallingEdge, RisingEdge};

use super::entry;
use crate::proof::Proof;
use crate::walk::{Requirement, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rising;

#[derive(Debug, Clone, Copy)]
struct Falling;

impl Walked for Rising {
    type Block = RisingEdge;
    type Input = bool;
    type Output = bool;
    /// The level before; nothing before the first step.
    type Memory = Option<bool>;

    fn block(&self) -> RisingEdge {
        RisingEdge::new()
    }

    fn inputs(&self) -> Vec<bool> {
        vec![false, true]
    }

    fn step(block: &mut RisingEdge, level: bool) -> bool {
        block.step(level)
    }

    fn remember(&self, memory: &mut Option<bool>, level: bool, _: bool) {
        *memory = Some(level);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("true exactly in a step with a true level after a false one", |now| {
                now.output == (now.input && *now.before == Some(false))
            }),
            always("a level that is true at power-up is no edge", |now| now.before.is_some() || !now.output),
            sometimes("there is an edge", |now| now.output),
            planted("true levels are edges", |now| now.output == now.input),
        ]
    }
}

impl Walked for Falling {
    type Block = FallingEdge;
    type Input = bool;
    type Output = bool;
    /// The level before; nothing before the first step.
    type Memory = Option<bool>;

    fn block(&self) -> FallingEdge {
        FallingEdge::new()
    }

    fn inputs(&self) -> Vec<bool> {
        vec![false, true]
    }

    fn step(block: &mut FallingEdge, level: bool) -> bool {
        block.step(level)
    }

    fn remember(&self, memory: &mut Option<bool>, level: bool, _: bool) {
        *memory = Some(level);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("true exactly in a step with a false level after a true one", |now| {
                now.output == (!now.input && *now.before == Some(true))
            }),
            always("a level that is false at power-up is no edge", |now| now.before.is_some() || !now.output),
            sometimes("there is an edge", |now| now.output),
            planted("false levels are edges", |now| now.output != now.input),
        ]
    }
}

pub(super) fn proof_of_rising() -> Proof {
    entry::<Rising>("rising_edge", "timing/edge", "the only one", |bench| {
        family(bench, "rising_edge", &[Rising])
    })
}

pub(super) fn proof_of_falling() -> Proof {
    entry::<Falling>("falling_edge", "timing/falling_edge", "the only one", |bench| {
        family(bench, "falling_edge", &[Falling])
    })
}
