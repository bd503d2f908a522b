//! From a fault back to what may have broken.

use super::expectation::fits;
use super::{Charter, Expectation};
use crate::run::{BreakInfo, Way};

/// What may stand behind a fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Likely {
    /// The signal that breaks.
    pub signal: &'static str,
    /// In which way.
    pub way: Way,
    /// Longest time from the last good value to the fault, ms.
    pub within_ms: u32,
}

impl Charter {
    /// The first failure that is expected to raise a fault, in the order of the rules; `fault` is its name.
    pub fn likely(&self, breaks: &[BreakInfo], fault: &str) -> Option<Likely> {
        let told = self.rules.iter().flat_map(|rules| rules.iter()).filter_map(|rule| match rule.expect {
            Expectation::Detected { fault: known, within_ms } if fits(known, fault) => {
                Some((rule, within_ms))
            }
            _ => None,
        });
        let mut all = told.flat_map(|(rule, within_ms)| {
            let signals = breaks.iter().filter(|info| fits(rule.signal, info.signal));
            signals.flat_map(move |info| {
                let ways = info.ways().filter(|way| fits(rule.way, way.name()));
                ways.map(move |way| Likely { signal: info.signal, way, within_ms })
            })
        });
        all.next()
    }
}
