//! What an observer can write down.

/// For how many steps in a row something held, up to a number that is above every limit that is walked.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Run(u8);

impl Run {
    /// Beyond this it is not counted on.
    pub const MOST: u8 = 9;

    /// One more step in which it holds, or a step in which it does not.
    pub fn note(&mut self, holds: bool) {
        self.0 = if holds { (self.0 + 1).min(Self::MOST) } else { 0 };
    }

    /// Steps in a row.
    pub fn steps(self) -> u32 {
        u32::from(self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_ends_with_the_first_step_without() {
        let mut run = Run::default();
        for (holds, steps) in [(true, 1), (true, 2), (false, 0), (true, 1)] {
            run.note(holds);
            assert_eq!(run.steps(), steps);
        }
    }
}
