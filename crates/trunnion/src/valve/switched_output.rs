//! A switched output on a pin.

use embedded_hal::digital::OutputPin;

crate::choices! {
    /// Level of the pin at which the load is on.
    pub enum ActiveLevel {
        /// High is on.
        High = "active high",
        /// Low is on.
        Low = "active low",
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
#[derive(Debug)]
pub struct SwitchedOutput<P> {
    pin: P,
    active: ActiveLevel,
}

impl<P: OutputPin> SwitchedOutput<P> {
    /// Takes a pin and switches the load off.
    pub fn new(pin: P, active: ActiveLevel) -> Result<Self, P::Error> {
        let mut output = Self { pin, active };
        output.set(false)?;
        Ok(output)
    }

    /// Switches the load. After a refused write it tries to switch it off, then returns the first error.
    pub fn write(&mut self, on: bool) -> Result<(), P::Error> {
        let written = self.set(on);
        if written.is_err() {
            // The first error is the one to tell; a second one adds nothing.
            let _ = self.set(false);
        }
        written
    }

    /// Gives the pin back, load off.
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
