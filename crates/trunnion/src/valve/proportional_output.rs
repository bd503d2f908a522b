//! A proportional output on a PWM channel.

use embedded_hal::pwm::SetDutyCycle;

use crate::quantity::Duty;

/// Steps of a duty.
const FULL: u32 = Duty::MAX.raw() as u32;

/// Writes a [`Duty`] to a PWM channel of any microcontroller.
///
/// Off when built. Off is the channel's own "fully off", full duty its "fully on", everything between is
/// rounded down to a step of the channel, so that a coarse channel never gives more than asked for.
///
/// ```no_run
/// use trunnion::quantity::Duty;
/// use trunnion::valve::ProportionalOutput;
///
/// fn drive<P: embedded_hal::pwm::SetDutyCycle>(channel: P, duty: Duty) -> Result<(), P::Error> {
///     let mut raise = ProportionalOutput::new(channel)?;
///     raise.write(duty)
/// }
/// ```
#[derive(Debug)]
pub struct ProportionalOutput<P> {
    channel: P,
}

impl<P: SetDutyCycle> ProportionalOutput<P> {
    /// Takes a channel and switches it off.
    pub fn new(mut channel: P) -> Result<Self, P::Error> {
        channel.set_duty_cycle_fully_off()?;
        Ok(Self { channel })
    }

    /// Writes a duty. After a refused write it tries to switch the channel off, then returns the first error.
    pub fn write(&mut self, duty: Duty) -> Result<(), P::Error> {
        let written = self.set(duty);
        if written.is_err() {
            // The first error is the one to tell; a second one adds nothing.
            let _ = self.channel.set_duty_cycle_fully_off();
        }
        written
    }

    /// Gives the channel back, switched off.
    pub fn release(mut self) -> Result<P, P::Error> {
        self.channel.set_duty_cycle_fully_off()?;
        Ok(self.channel)
    }

    fn set(&mut self, duty: Duty) -> Result<(), P::Error> {
        if duty == Duty::ZERO {
            return self.channel.set_duty_cycle_fully_off();
        }
        if duty == Duty::MAX {
            return self.channel.set_duty_cycle_fully_on();
        }
        let steps = u32::from(self.channel.max_duty_cycle());
        let share = steps.wrapping_mul(u32::from(duty.raw())) / FULL;
        self.channel.set_duty_cycle(share as u16)
    }
}
