use std::collections::VecDeque;

use super::robustness::Robustness;

/// The worst or best of a window that slides over a row of values: a deque kept monotonic (a value that a
/// later one outlasts can never decide again), so that a push and a query cost a constant number of steps on
/// average.
#[derive(Debug, Clone)]
pub(crate) struct Extreme {
    least: bool,
    candidates: VecDeque<(u32, Robustness)>,
}

impl Extreme {
    pub(crate) fn new(least: bool) -> Self {
        Self { least, candidates: VecDeque::new() }
    }

    /// Adds the value of a tick later than all before. Of equal values the earlier decides, so it stays.
    pub(crate) fn push(&mut self, tick: u32, value: Robustness) {
        while let Some((_, last)) = self.candidates.back()
            && value.outlasts(last, self.least)
            && !last.outlasts(&value, self.least)
        {
            self.candidates.pop_back();
        }
        self.candidates.push_back((tick, value));
    }

    /// Forgets all ticks before `tick`.
    pub(crate) fn forget_before(&mut self, tick: u32) {
        while self.candidates.front().is_some_and(|(first, _)| *first < tick) {
            self.candidates.pop_front();
        }
    }

    /// The extreme of the window; neutral when it is empty.
    pub(crate) fn value(&self) -> Robustness {
        self.candidates.front().map_or(Robustness::certain(self.least), |(_, value)| *value)
    }
}

/// One tick of `hold until reach` as a function of what the ticks after it are worth:
/// `x ↦ better(reach, worse(hold, x))`. Such functions compose to one of their kind.
#[derive(Debug, Clone, Copy)]
struct Link {
    hold: Robustness,
    reach: Robustness,
}

impl Link {
    fn apply(self, dual: bool, after: Robustness) -> Robustness {
        self.reach.pick(self.hold.pick(after, !dual), dual)
    }

    fn before(self, dual: bool, after: Link) -> Link {
        Link { hold: self.hold.pick(after.hold, !dual), reach: self.apply(dual, after.reach) }
    }
}

/// A window of `hold until reach` that slides over two rows of values: two stacks of composed links, turned
/// over when the front one is empty, so that a push and a pop cost a constant number of steps on average.
///
/// With `dual`, worse and better change places: the negation of an until over negated operands.
#[derive(Debug, Clone)]
pub(crate) struct UntilWindow {
    dual: bool,
    /// Composed up to the end of the front part, the earliest tick last.
    front: Vec<Link>,
    back: Vec<Link>,
    back_composed: Option<Link>,
}

impl UntilWindow {
    pub(crate) fn new(dual: bool) -> Self {
        Self { dual, front: Vec::new(), back: Vec::new(), back_composed: None }
    }

    pub(crate) fn len(&self) -> usize {
        self.front.len() + self.back.len()
    }

    pub(crate) fn push(&mut self, hold: Robustness, reach: Robustness) {
        let link = Link { hold, reach };
        self.back.push(link);
        self.back_composed = Some(self.back_composed.map_or(link, |earlier| earlier.before(self.dual, link)));
    }

    /// Drops the earliest tick.
    pub(crate) fn pop(&mut self) {
        if self.front.is_empty() {
            while let Some(link) = self.back.pop() {
                let composed = self.front.last().map_or(link, |later| link.before(self.dual, *later));
                self.front.push(composed);
            }
            self.back_composed = None;
        }
        self.front.pop();
    }

    /// The value at the earliest tick of the window when what follows the window is worth `after`.
    pub(crate) fn value(&self, after: Robustness) -> Robustness {
        let after = self.back_composed.map_or(after, |link| link.apply(self.dual, after));
        self.front.last().map_or(after, |link| link.apply(self.dual, after))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn of(margin: i8) -> Robustness {
        Robustness { margin: f64::from(margin), holds: margin >= 0, cause: None }
    }

    proptest! {
        #[test]
        fn a_sliding_extreme_is_the_extreme_of_its_window(values in prop::collection::vec(any::<i8>(), 1..60), width in 1_usize..10, least: bool) {
            let mut window = Extreme::new(least);
            for (tick, value) in values.iter().enumerate() {
                window.push(tick as u32, of(*value));
                let first = (tick + 1).saturating_sub(width);
                window.forget_before(first as u32);
                let slice = values[first..=tick].iter();
                let expected = if least { slice.min() } else { slice.max() };
                prop_assert_eq!(window.value().margin, f64::from(*expected.unwrap()));
            }
        }

        #[test]
        fn a_sliding_until_is_the_until_of_its_window(rows in prop::collection::vec((any::<i8>(), any::<i8>()), 1..60), width in 1_usize..10) {
            let mut window = UntilWindow::new(false);
            let mut dual = UntilWindow::new(true);
            for (tick, (hold, reach)) in rows.iter().enumerate() {
                window.push(of(*hold), of(*reach));
                dual.push(of(hold.saturating_neg()), of(reach.saturating_neg()));
                if window.len() > width {
                    window.pop();
                    dual.pop();
                }
                let first = (tick + 1).saturating_sub(width);
                let expected = (first..=tick).map(|at| {
                    let held = rows[first..at].iter().map(|row| row.0).min().unwrap_or(i8::MAX);
                    held.min(rows[at].1)
                }).max().unwrap();
                prop_assert_eq!(window.value(Robustness::FALSE).margin, f64::from(expected));
                let negated = dual.value(Robustness::TRUE).margin;
                prop_assert!((negated + f64::from(expected)).abs() <= 1.0, "i8::MIN has no opposite");
            }
        }
    }
}
