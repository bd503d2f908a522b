//! A switched output on a pin.

use embedded_hal::digital::OutputPin;

crate::choices! {
    /// Level of the pin at which the load is on.
    pub enum ActiveLevel {
        /// High is on.
        High = "active_high",
        /// Low is on.
        Low = "active_low",
    }
}

/// Switches a load through a pin of any microcontroller.
///
/// Off when built, off after a refused write.
///
/// ```no_run
/// use trunnion::valve::{ActiveLevel, SwitchedOutput};
///
/// fn release<P: embedded_hal::digital::OutputPin>(pin: P) -> Result<(), P::Error> {
///     let mut park_brake = SwitchedOutput::new(pin, ActiveLevel::High)?;
///     park_brake.write(true)
/// }
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct SwitchedOutput<P> {
    pin: P,
    active: ActiveLevel,
}

impl<P: OutputPin> SwitchedOutput<P> {
    /// Takes a pin and switches the load off.
    ///
    /// # Errors
    ///
    /// Whatever the pin refuses.
    pub fn new(pin: P, active: ActiveLevel) -> Result<Self, P::Error> {
        let mut output = Self { pin, active };
        output.set(false)?;
        Ok(output)
    }

    /// Switches the load. After a refused write it tries to switch it off, then returns the first error.
    ///
    /// # Errors
    ///
    /// Whatever the pin refuses.
    pub fn write(&mut self, on: bool) -> Result<(), P::Error> {
        let written = self.set(on);
        if written.is_err() {
            // The first error is the one to tell; a second one adds nothing.
            let _ = self.set(false);
        }
        written
    }

    /// Gives the pin back, load off.
    ///
    /// # Errors
    ///
    /// Whatever the pin refuses.
    pub fn release(mut self) -> Result<P, P::Error> {
        self.set(false)?;
        Ok(self.pin)
    }

    fn set(&mut self, on: bool) -> Result<(), P::Error> {
        match (self.active, on) {
            (ActiveLevel::High, true) | (ActiveLevel::Low, false) => self.pin.set_high(),
            (ActiveLevel::High, false) | (ActiveLevel::Low, true) => self.pin.set_low(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal::digital::{Error, ErrorKind, ErrorType};

    #[derive(Debug)]
    struct Refused;

    impl Error for Refused {
        fn kind(&self) -> ErrorKind {
            ErrorKind::Other
        }
    }

    /// A pin that refuses to go to one of its levels.
    #[derive(Debug)]
    struct Pin {
        high: bool,
        refuses: Option<bool>,
    }

    impl Pin {
        fn set(&mut self, high: bool) -> Result<(), Refused> {
            if self.refuses == Some(high) {
                return Err(Refused);
            }
            self.high = high;
            Ok(())
        }
    }

    impl ErrorType for Pin {
        type Error = Refused;
    }

    impl OutputPin for Pin {
        fn set_low(&mut self) -> Result<(), Refused> {
            self.set(false)
        }

        fn set_high(&mut self) -> Result<(), Refused> {
            self.set(true)
        }
    }

    #[test]
    fn the_load_is_off_when_built_and_when_released_whichever_level_is_on() {
        for (active, off) in [(ActiveLevel::High, false), (ActiveLevel::Low, true)] {
            let mut output = SwitchedOutput::new(Pin { high: !off, refuses: None }, active).unwrap();
            assert_eq!(output.pin.high, off);
            output.write(true).unwrap();
            assert_eq!(output.pin.high, !off);
            assert_eq!(output.release().unwrap().high, off);
        }
    }

    #[test]
    fn a_refused_write_switches_off_and_is_told() {
        let mut output =
            SwitchedOutput::new(Pin { high: false, refuses: Some(true) }, ActiveLevel::High).unwrap();
        assert!(output.write(true).is_err());
        assert!(!output.pin.high);
    }

    #[test]
    fn a_pin_that_cannot_be_switched_off_is_not_taken() {
        assert!(SwitchedOutput::new(Pin { high: true, refuses: Some(false) }, ActiveLevel::High).is_err());
    }
}
