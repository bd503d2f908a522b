//! Two contacts of which exactly one is closed, except for a moment while the switch moves.

use trunnion::sense::{Flaw, Reading};

use crate::float::sensed::TICK;

/// Both contacts of a switch.
pub struct ContactPair {
    disagree_after: f32,
    agreed: Option<bool>,
    waited: f32,
}

impl ContactPair {
    /// Nothing agreed on, with this time in ms.
    pub fn with(disagree_after: f32) -> Self {
        Self { disagree_after, agreed: None, waited: 0.0 }
    }

    /// One step.
    pub fn step(&mut self, when_false: bool, when_true: bool) -> Reading<bool> {
        if when_false != when_true {
            self.agreed = Some(when_true);
            self.waited = 0.0;
        } else if self.waited >= self.disagree_after {
            self.agreed = None;
        } else {
            self.waited += TICK;
        }
        match self.agreed {
            Some(level) => Reading::Valid(level),
            None => Reading::Faulted(Flaw::Disagreement),
        }
    }
}
