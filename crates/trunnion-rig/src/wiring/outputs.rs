//! From what the controller switches to what is switched.

use trunnion::declare::{Failure, Record};

/// The on-off outputs behind their wires, by the place of each in the record `R`.
#[derive(Debug, Clone)]
pub struct OutputWires<R> {
    asked: R,
    failures: Vec<Option<Failure>>,
}

impl<R: Record> Default for OutputWires<R> {
    /// Nothing asked for, nothing broken.
    fn default() -> Self {
        Self { asked: R::default(), failures: vec![None; R::FIELDS.len()] }
    }
}

impl<R: Record> OutputWires<R> {
    /// What the controller drives from now on.
    pub fn drive(&mut self, outputs: &R) {
        self.asked = *outputs;
    }

    /// Whether the consumer at an output is on: shorted to supply it is whatever is asked for, broken it never is.
    pub fn is_on(&self, place: u16) -> bool {
        match self.failures.get(usize::from(place)).copied().flatten() {
            None => self.asked.get(place) != 0,
            Some(Failure::ShortToSupply) => true,
            Some(_) => false,
        }
    }

    /// Breaks the wire of an output, or mends it with `None`.
    pub fn set_failure(&mut self, place: u16, failure: Option<Failure>) {
        if let Some(own) = self.failures.get_mut(usize::from(place)) {
            *own = failure;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    trunnion::signals! {
        /// A lamp and a valve.
        pub struct Outputs, pub enum Output {
            /// Lamp.
            lamp: bool = false;
            /// Valve.
            valve: bool = false;
        }
    }

    #[test]
    fn a_short_switches_on_and_an_open_wire_off_whatever_is_asked_for() {
        let mut wires = OutputWires::<Outputs>::default();
        let (lamp, valve) = (Output::lamp as u16, Output::valve as u16);
        wires.drive(&Outputs { lamp: true, valve: false });
        assert!(wires.is_on(lamp) && !wires.is_on(valve));
        wires.set_failure(lamp, Some(Failure::Open));
        wires.set_failure(valve, Some(Failure::ShortToSupply));
        assert!(!wires.is_on(lamp) && wires.is_on(valve));
        wires.set_failure(lamp, None);
        wires.set_failure(valve, Some(Failure::ShortToGround));
        assert!(wires.is_on(lamp) && !wires.is_on(valve) && !wires.is_on(99));
    }
}
