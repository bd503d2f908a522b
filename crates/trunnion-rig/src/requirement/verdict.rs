use super::robustness::Robustness;
use super::stream::{Beyond, Program};

/// What a whole formula says of a run: extremes over values of the program's rows, gathered as they come.
#[derive(Debug, Clone)]
pub(crate) enum Claim {
    /// All (`least`) or any of the parts.
    Join { least: bool, parts: Vec<Claim> },
    /// All (`least`) or any of the ticks from `first` to `last`, or to the end of the run.
    Over { least: bool, node: usize, first: u32, last: Option<u32>, gathered: Gathered },
    /// One tick.
    Pick { node: usize, at: u32, gathered: Gathered },
}

/// What has been gathered of a row of values.
#[derive(Debug, Clone, Default)]
pub(crate) struct Gathered {
    /// Number of values seen.
    taken: u32,
    /// The extreme, and its tick.
    extreme: Option<(Robustness, u32)>,
    /// First tick that did not hold.
    first_wrong: Option<u32>,
}

/// A claim's worth and the tick that a reader should look at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Outcome {
    pub(crate) value: Robustness,
    pub(crate) at: Option<u32>,
}

impl Outcome {
    fn pick(self, other: Self, least: bool) -> Self {
        let picked = self.value.pick(other.value, least);
        // The first is kept when equal, as `pick` does.
        if picked == self.value { self } else { other }
    }
}

impl Claim {
    pub(crate) fn over(least: bool, node: usize, first: u32, last: Option<u32>) -> Self {
        Self::Over { least, node, first, last, gathered: Gathered::default() }
    }

    pub(crate) fn pick(node: usize, at: u32) -> Self {
        Self::Pick { node, at, gathered: Gathered::default() }
    }

    /// Gathers what the program has given since the last call.
    pub(crate) fn gather(&mut self, program: &mut Program) {
        match self {
            Self::Join { parts, .. } => parts.iter_mut().for_each(|part| part.gather(program)),
            Self::Over { least, node, first, last, gathered } => {
                while let Some(value) = program.next(*node) {
                    let tick = gathered.taken;
                    let counts = tick >= *first && last.is_none_or(|last| tick <= last);
                    gathered.take(value, *least, counts);
                }
            }
            Self::Pick { node, at, gathered } => {
                while let Some(value) = program.next(*node) {
                    let counts = gathered.taken == *at;
                    gathered.take(value, true, counts);
                }
            }
        }
    }

    /// The worth when no more values come.
    pub(crate) fn outcome(&self, rows: u32, beyond: Beyond) -> Outcome {
        match self {
            Self::Join { least, parts } => {
                let outcomes = parts.iter().map(|part| part.outcome(rows, beyond));
                let nothing = Outcome { value: Robustness::certain(*least), at: None };
                outcomes.reduce(|one, other| one.pick(other, *least)).unwrap_or(nothing)
            }
            Self::Over { least, first, last, gathered, .. } => {
                let outcome = gathered.outcome(*least, last.unwrap_or(rows.saturating_sub(1)));
                let misses = last.map_or(rows <= *first, |last| rows <= last);
                let unseen = Outcome { value: beyond.worth(*least), at: Some(rows) };
                if misses { outcome.pick(unseen, *least) } else { outcome }
            }
            Self::Pick { at, gathered, .. } => match gathered.extreme {
                Some((value, _)) => Outcome { value, at: Some(*at) },
                None => Outcome { value: beyond.worth(true), at: Some(*at) },
            },
        }
    }

    /// True when no later row can turn the claim: a tick of an `always` has failed for good, or a tick of an
    /// `eventually` has held.
    pub(crate) fn is_settled(&self) -> bool {
        match self {
            Self::Join { parts, .. } => parts.iter().all(Self::is_settled),
            Self::Over { least, last, gathered, .. } => {
                let decided = gathered.extreme.is_some_and(|(value, _)| value.holds != *least);
                decided || last.is_some_and(|last| gathered.taken > last)
            }
            Self::Pick { gathered, .. } => gathered.extreme.is_some(),
        }
    }
}

impl Gathered {
    fn take(&mut self, value: Robustness, least: bool, counts: bool) {
        let tick = self.taken;
        self.taken += 1;
        if !counts {
            return;
        }
        if !value.holds && self.first_wrong.is_none() {
            self.first_wrong = Some(tick);
        }
        self.extreme = Some(match self.extreme {
            Some((extreme, at)) if extreme.outlasts(&value, least) => (extreme, at),
            _ => (value, tick),
        });
    }

    fn outcome(&self, least: bool, last: u32) -> Outcome {
        let Some((value, at)) = self.extreme else {
            return Outcome { value: Robustness::certain(least), at: None };
        };
        let at = match (least, value.holds) {
            // The first failure, not the deepest: that is where the story begins.
            (true, false) => self.first_wrong.unwrap_or(at),
            // It did not come to pass in time: that is known at the end of the time.
            (false, false) => last,
            _ => at,
        };
        Outcome { value, at: Some(at) }
    }
}
