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
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ProportionalOutput<P> {
    channel: P,
}

impl<P: SetDutyCycle> ProportionalOutput<P> {
    /// Takes a channel and switches it off.
    ///
    /// # Errors
    ///
    /// Whatever the channel refuses.
    pub fn new(mut channel: P) -> Result<Self, P::Error> {
        channel.set_duty_cycle_fully_off()?;
        Ok(Self { channel })
    }

    /// Writes a duty. After a refused write it tries to switch the channel off, then returns the first error.
    ///
    /// # Errors
    ///
    /// Whatever the channel refuses.
    pub fn write(&mut self, duty: Duty) -> Result<(), P::Error> {
        let written = self.set(duty);
        if written.is_err() {
            // The first error is the one to tell; a second one adds nothing.
            let _ = self.channel.set_duty_cycle_fully_off();
        }
        written
    }

    /// Gives the channel back, switched off.
    ///
    /// # Errors
    ///
    /// Whatever the channel refuses.
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

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal::pwm::{Error, ErrorKind, ErrorType};
    use proptest::prelude::*;

    #[derive(Debug)]
    struct Refused;

    impl Error for Refused {
        fn kind(&self) -> ErrorKind {
            ErrorKind::Other
        }
    }

    /// A channel of so many steps that refuses some of the writes.
    #[derive(Debug)]
    struct Channel {
        steps: u16,
        level: u16,
        accepts: fn(u16) -> bool,
    }

    impl ErrorType for Channel {
        type Error = Refused;
    }

    impl SetDutyCycle for Channel {
        fn max_duty_cycle(&self) -> u16 {
            self.steps
        }

        fn set_duty_cycle(&mut self, duty: u16) -> Result<(), Refused> {
            assert!(duty <= self.steps, "a channel must never be given more than its steps");
            if !(self.accepts)(duty) {
                return Err(Refused);
            }
            self.level = duty;
            Ok(())
        }
    }

    fn channel(steps: u16) -> Channel {
        Channel { steps, level: steps, accepts: |_| true }
    }

    proptest! {
        #[test]
        fn the_channel_gets_its_share_of_steps_and_never_more(steps in 1u16.., duty in 0u16..=10_000) {
            let mut output = ProportionalOutput::new(channel(steps)).unwrap();
            prop_assert_eq!(output.channel.level, 0);
            output.write(Duty::new(duty).unwrap()).unwrap();
            let exact = f64::from(steps) * f64::from(duty) / 10_000.0;
            let level = f64::from(output.channel.level);
            prop_assert!(level <= exact && exact - level < 1.0);
            prop_assert_eq!(output.release().unwrap().level, 0);
        }
    }

    #[test]
    fn a_refused_write_switches_off_and_is_told() {
        let mut output =
            ProportionalOutput::new(Channel { accepts: |duty| duty <= 500, ..channel(1_000) }).unwrap();
        output.write(Duty::new(4_000).unwrap()).unwrap();
        assert_eq!(output.channel.level, 400);
        assert!(output.write(Duty::new(6_000).unwrap()).is_err());
        assert_eq!(output.channel.level, 0);
    }

    #[test]
    fn a_channel_that_cannot_be_switched_off_is_not_taken() {
        assert!(ProportionalOutput::new(Channel { accepts: |duty| duty != 0, ..channel(100) }).is_err());
    }

    #[test]
    fn no_duty_at_all_switches_off_and_a_channel_that_refuses_that_is_told() {
        let mut output = ProportionalOutput::new(channel(1_000)).unwrap();
        output.write(Duty::new(4_000).unwrap()).unwrap();
        output.write(Duty::ZERO).unwrap();
        assert_eq!(output.channel.level, 0);
        output.channel.accepts = |duty| duty != 0;
        assert!(output.write(Duty::ZERO).is_err());
        assert!(output.release().is_err());
    }
}
