//! From the current in each coil to the count that the fast loop measures.

use core::marker::PhantomData;

use trunnion::declare::{Failure, Record};

use crate::plant::{CurrentSense, CurrentSenseConfig, FULL_SCALE_COUNTS, PlantConfigError};

/// Share of its gain that a drifting sense gains in a millisecond: engineering judgement.
const DRIFT_PER_STEP: f64 = 1.0e-4;

/// Full scale of the converter: one count a milliampere.
const FULL_SCALE_A: f64 = 4.095;

/// The current sense of every coil: one count a milliampere, in the order of the record `R`.
#[derive(Debug, Clone)]
pub struct SenseWires<R> {
    chain: CurrentSense,
    senses: Vec<Sense>,
    record: PhantomData<R>,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sense {
    failure: Option<Failure>,
    last: u16,
    drift: f64,
}

impl Sense {
    fn read(&mut self, chain: &CurrentSense, ampere: f64) -> u16 {
        self.last = match self.failure {
            // The current itself is the stray one.
            None | Some(Failure::StrayCurrent) => chain.counts(ampere),
            Some(Failure::Stuck) => self.last,
            Some(Failure::OutOfRange) => FULL_SCALE_COUNTS,
            Some(Failure::Drift) => {
                self.drift += DRIFT_PER_STEP;
                chain.counts(ampere * (1.0 + self.drift))
            }
            Some(_) => 0,
        };
        self.last
    }
}

impl<R: Record> SenseWires<R> {
    /// A sense for each signal of the record.
    pub fn new() -> Result<Self, PlantConfigError> {
        let chain = CurrentSense::new(CurrentSenseConfig {
            full_scale_a: FULL_SCALE_A,
            gain_error: 0.0,
            offset_counts: 0.0,
        })?;
        Ok(Self { chain, senses: vec![Sense::default(); R::FIELDS.len()], record: PhantomData })
    }

    /// What the fast loop measures of currents in ampere, in the order of the record; a missing one is none.
    pub fn read(&mut self, ampere: impl IntoIterator<Item = f64>) -> R {
        let mut inputs = R::default();
        for ((place, sense), ampere) in (0_u16..).zip(&mut self.senses).zip(ampere) {
            inputs.set(place, i64::from(sense.read(&self.chain, ampere)));
        }
        inputs
    }

    /// Breaks the sense of a coil, or mends it with `None`. A stray current is the coil's: it is to be broken beside.
    pub fn set_failure(&mut self, place: u16, failure: Option<Failure>) {
        if let Some(sense) = self.senses.get_mut(usize::from(place)) {
            sense.failure = failure;
            sense.drift = 0.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    trunnion::coils! {
        /// Two coils.
        pub enum Two, pub struct SetPoints, pub struct Currents, pub struct Duties {
            /// One.
            one: "X1:1", sense "X1:2";
            /// Another.
            other: "X1:3", sense "X1:4";
        }
    }

    #[test]
    fn a_count_is_a_milliampere_and_a_broken_sense_reads_otherwise_on_its_own_coil_alone() {
        let mut wires = SenseWires::<Currents>::new().unwrap();
        let mut read = |failure| {
            wires.set_failure(Two::one as u16, failure);
            let before = wires.read([0.5, 0.3]);
            let after = (0..1_000).map(|_| wires.read([0.8, 0.3])).last().unwrap();
            assert_eq!(after.other.raw(), 300);
            (before.one.raw(), after.one.raw())
        };
        assert_eq!(read(None), (500, 800));
        assert_eq!(read(Some(Failure::Open)), (0, 0));
        assert_eq!(read(None), (500, 800));
        assert_eq!(read(Some(Failure::Stuck)), (800, 800));
        assert_eq!(read(Some(Failure::Drift)), (500, 880));
        assert_eq!(read(Some(Failure::StrayCurrent)), (500, 800));
        assert_eq!(read(Some(Failure::OutOfRange)), (4_095, 4_095));
    }
}
