//! Coils that carry clearly more than they were asked for.

use super::CoilReport;
use crate::quantity::Milliamps;

/// Says that a coil carries clearly more than it was asked for, so that its loop cannot bring it down: a ramp would then
/// stop the other coils and not this one.
///
/// A coil that is asked for a current may carry the largest that it was asked for in the last three periods, an eighth more, and
/// `stray` beside. A coil that is asked for nothing is not judged: [`CoilMonitor`](super::CoilMonitor) tells stray current. The
/// answer is for a fault with a debounce.
///
#[doc = include_str!("../../docs/valve-excess_current.svg")]
///
/// ```
/// use trunnion::quantity::Milliamps;
/// use trunnion::valve::{CoilReport, ExcessCurrent};
///
/// let ma = |raw| Milliamps::new(raw).unwrap();
/// let mut excess = ExcessCurrent::<1>::new(ma(150));
/// let carries = |current| [CoilReport { average_current: ma(current), ..CoilReport::default() }];
/// assert!(!excess.step([ma(800)], &carries(1_050))); // 800 + 100 + 150
/// assert!(excess.step([ma(800)], &carries(1_051)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ExcessCurrent<const N: usize> {
    stray: Milliamps,
    /// In the last period.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    last: [Milliamps; N],
    /// In the one before.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    before: [Milliamps; N],
}

impl<const N: usize> ExcessCurrent<N> {
    /// Nothing was asked for yet. `stray` is what a measurement may be off; every value is allowed.
    pub const fn new(stray: Milliamps) -> Self {
        Self { stray, last: [Milliamps::ZERO; N], before: [Milliamps::ZERO; N] }
    }

    /// Another allowance; what was asked for is kept.
    pub fn reconfigure(&mut self, stray: Milliamps) {
        self.stray = stray;
    }

    /// Nothing was asked for.
    pub fn reset(&mut self) {
        *self = Self::new(self.stray);
    }

    /// One period: what the coils were asked for in it, and what they report of it.
    pub fn step(&mut self, asked: [Milliamps; N], reports: &[CoilReport; N]) -> bool {
        let Self { stray, last, before } = self;
        let mut excess = false;
        for (((last, before), asked), report) in last.iter_mut().zip(before).zip(asked).zip(reports) {
            // What is allowed is never below the stray current: few coils are looked at closely.
            if report.average_current > *stray {
                let largest = asked.at_least(*last).at_least(*before);
                excess |=
                    largest != Milliamps::ZERO && report.average_current.raw() > allowed(largest, *stray);
            }
            (*before, *last) = (*last, asked);
        }
        excess
    }
}

fn allowed(asked: Milliamps, stray: Milliamps) -> u16 {
    asked.raw().saturating_add(asked.raw() / 8).saturating_add(stray.raw())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const STRAY: Milliamps = Milliamps::saturating(150);

    fn ma(raw: u16) -> Milliamps {
        Milliamps::new(raw).unwrap()
    }

    fn carries(currents: [u16; 2]) -> [CoilReport; 2] {
        currents.map(|current| CoilReport { average_current: ma(current), ..CoilReport::default() })
    }

    proptest! {
        #[test]
        fn a_coil_is_told_exactly_when_it_carries_more_than_it_was_asked_for_in_three_periods(
            periods in proptest::collection::vec(([0_u16..1_500, 0_u16..1_500], [0_u16..2_000, 0_u16..2_000]), 1..30)
        ) {
            let mut excess = ExcessCurrent::<2>::new(STRAY);
            let mut history: Vec<[u16; 2]> = Vec::new();
            for (asked, currents) in periods {
                history.push(asked);
                let most = |coil: usize| history.iter().rev().take(3).map(|asked| asked[coil]).max().unwrap();
                let expected = (0..2).any(|coil| {
                    most(coil) > 0 && u32::from(currents[coil]) > u32::from(most(coil)) * 9 / 8 + 150
                });
                prop_assert_eq!(excess.step(asked.map(ma), &carries(currents)), expected);
            }
        }
    }

    #[test]
    fn a_current_asked_for_earlier_counts_for_three_periods_and_not_after_a_reset() {
        let mut excess = ExcessCurrent::<2>::new(STRAY);
        let told =
            |excess: &mut ExcessCurrent<2>, asked: u16| excess.step([ma(asked), ma(0)], &carries([1_000, 0]));
        assert!(!told(&mut excess, 1_000));
        assert!(!told(&mut excess, 100));
        assert!(!told(&mut excess, 100));
        assert!(told(&mut excess, 100));
        excess.step([ma(1_000), ma(0)], &carries([0, 0]));
        excess.reset();
        assert!(told(&mut excess, 100));
        excess.reconfigure(ma(900));
        assert!(!told(&mut excess, 100));
    }
}
