//! When the next service is due.

use core::fmt;

use super::Seconds;

/// Rules of a [`ServiceInterval`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ServiceIntervalConfig {
    /// Running time from one service to the next, 1 h to 100,000 h.
    pub interval: Seconds,
    /// It is told this much before it is due, 0 up to the interval.
    pub told_before: Seconds,
}

/// Why a [`ServiceIntervalConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ServiceIntervalConfigError {
    /// The interval is outside 1 h to 100,000 h.
    Interval(Seconds),
    /// It would be told before the service that went before.
    ToldBefore {
        /// What was asked for.
        given: Seconds,
        /// It must be at most this.
        interval: Seconds,
    },
}

impl fmt::Display for ServiceIntervalConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Interval(given) => write!(
                formatter,
                "service every {given}: set {} to {}",
                ServiceInterval::SHORTEST,
                ServiceInterval::LONGEST
            ),
            Self::ToldBefore { given, interval } => {
                write!(formatter, "told {given} before: set 0 s to the interval, {interval}")
            }
        }
    }
}

impl core::error::Error for ServiceIntervalConfigError {}

crate::choices! {
    /// How a [`ServiceInterval`] stands.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum ServiceState {
        /// The interval is over, or the meter runs behind the last service.
        Due = "due",
        /// It will be over soon.
        Soon = "soon",
        /// There is time.
        NotDue = "not_due",
    }
}

/// Says when the next service is due, from an [`HourMeter`](super::HourMeter) that is never put back.
///
/// It remembers at which total the last service was done. That number is stored by the machine beside the total and handed
/// in again at the next start; [`done`](Self::done) gives the new one. Exact in whole seconds. A total below that of the
/// last service (a controller or a meter was changed) is due, so that somebody looks.
///
#[doc = include_str!("../../docs/timing-service_interval.svg")]
///
/// ```
/// use trunnion::timing::{Seconds, ServiceInterval, ServiceIntervalConfig, ServiceState};
///
/// let hours = |hours: u32| Seconds::from_ticks(hours * 3_600);
/// let config = ServiceIntervalConfig { interval: hours(500), told_before: hours(20) };
/// let mut oil_change = ServiceInterval::new(config, hours(1_012)).unwrap(); // as it was stored
/// assert_eq!(oil_change.step(hours(1_480)), ServiceState::NotDue);
/// assert_eq!(oil_change.remaining(hours(1_480)), hours(32));
/// assert_eq!(oil_change.step(hours(1_492)), ServiceState::Soon);
/// assert_eq!(oil_change.step(hours(1_512)), ServiceState::Due);
/// assert_eq!(oil_change.done(hours(1_515)), hours(1_515)); // to be stored
/// assert_eq!(oil_change.step(hours(1_515)), ServiceState::NotDue);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ServiceInterval {
    config: ServiceIntervalConfig,
    last_done: Seconds,
}

impl ServiceInterval {
    /// Shortest interval.
    pub const SHORTEST: Seconds = Seconds::from_ticks(3_600);
    /// Longest interval.
    pub const LONGEST: Seconds = Seconds::from_ticks(360_000_000);

    /// Goes on from a stored last service; zero for a new machine. Refuses values outside their range.
    ///
    /// # Errors
    ///
    /// [`ServiceIntervalConfigError`]: which rule the config breaks, with its value.
    pub const fn new(
        config: ServiceIntervalConfig,
        last_done: Seconds,
    ) -> Result<Self, ServiceIntervalConfigError> {
        let ServiceIntervalConfig { interval, told_before } = config;
        if interval.ticks() < Self::SHORTEST.ticks() || interval.ticks() > Self::LONGEST.ticks() {
            return Err(ServiceIntervalConfigError::Interval(interval));
        }
        if told_before.ticks() > interval.ticks() {
            return Err(ServiceIntervalConfigError::ToldBefore { given: told_before, interval });
        }
        Ok(Self { config, last_done })
    }

    /// Another interval; the last service stays.
    ///
    /// # Errors
    ///
    /// [`ServiceIntervalConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: ServiceIntervalConfig) -> Result<(), ServiceIntervalConfigError> {
        *self = Self::new(config, self.last_done)?;
        Ok(())
    }

    /// As on a new machine.
    pub fn reset(&mut self) {
        self.last_done = Seconds::from_ticks(0);
    }

    /// How it stands at a total of the meter.
    pub const fn step(&self, total: Seconds) -> ServiceState {
        let remaining = self.remaining(total).ticks();
        if remaining == 0 {
            ServiceState::Due
        } else if remaining <= self.config.told_before.ticks() {
            ServiceState::Soon
        } else {
            ServiceState::NotDue
        }
    }

    /// What is left to run; zero when it is due.
    pub const fn remaining(&self, total: Seconds) -> Seconds {
        let left = match total.ticks().checked_sub(self.last_done.ticks()) {
            Some(run) => self.config.interval.ticks().saturating_sub(run),
            None => 0,
        };
        Seconds::from_ticks(left)
    }

    /// The service was done at this total, which is to be stored.
    pub fn done(&mut self, total: Seconds) -> Seconds {
        self.last_done = total;
        total
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn seconds(seconds: u32) -> Seconds {
        Seconds::from_ticks(seconds)
    }

    proptest! {
        #[test]
        fn it_is_told_and_due_to_the_second(
            interval in 3_600_u32..=360_000_000, told in 0.0_f64..=1.0, last in 0..=u32::MAX, total in 0..=u32::MAX
        ) {
            let told_before = (f64::from(interval) * told) as u32;
            let config = ServiceIntervalConfig { interval: seconds(interval), told_before: seconds(told_before) };
            let service = ServiceInterval::new(config, seconds(last)).unwrap();
            let left = i64::from(last) + i64::from(interval) - i64::from(total);
            let expected = if total < last || left <= 0 {
                ServiceState::Due
            } else if left <= i64::from(told_before) {
                ServiceState::Soon
            } else {
                ServiceState::NotDue
            };
            prop_assert_eq!(service.step(seconds(total)), expected);
            prop_assert_eq!(service.remaining(seconds(total)).ticks() == 0, expected == ServiceState::Due);
        }

        #[test]
        fn a_service_that_was_done_gives_the_whole_interval(interval in 3_600_u32..=360_000_000, total in 0..=u32::MAX) {
            let config = ServiceIntervalConfig { interval: seconds(interval), told_before: seconds(0) };
            let mut service = ServiceInterval::new(config, seconds(u32::MAX)).unwrap();
            prop_assert_eq!(service.done(seconds(total)), seconds(total));
            prop_assert_eq!(service.remaining(seconds(total)), seconds(interval));
        }
    }

    #[test]
    fn values_outside_their_range_are_refused_and_change_nothing() {
        let config = ServiceIntervalConfig { interval: seconds(36_000), told_before: seconds(3_600) };
        let mut service = ServiceInterval::new(config, seconds(100)).unwrap();
        let bad = ServiceIntervalConfig { interval: seconds(3_599), ..config };
        assert_eq!(
            std::format!("{}", service.reconfigure(bad).unwrap_err()),
            "service every 3599 s: set 3600 s to 360000000 s"
        );
        let bad = ServiceIntervalConfig { told_before: seconds(36_001), ..config };
        assert_eq!(
            std::format!("{}", service.reconfigure(bad).unwrap_err()),
            "told 36001 s before: set 0 s to the interval, 36000 s"
        );
        assert_eq!(service.remaining(seconds(100)), seconds(36_000));
        service.reset();
        assert_eq!(service.remaining(seconds(100)), seconds(35_900));
    }

    proptest! {
        #[test]
        fn another_interval_counts_from_the_same_last_service(
            last in 0_u32..400_000_000, total in 0_u32..400_000_000, interval in 3_600_u32..400_000
        ) {
            let of = |interval, told| ServiceIntervalConfig { interval: seconds(interval), told_before: seconds(told) };
            let mut service = ServiceInterval::new(of(900_000, 0), seconds(last)).unwrap();
            service.reconfigure(of(interval, 3_600)).unwrap();
            let built = ServiceInterval::new(of(interval, 3_600), seconds(last)).unwrap();
            prop_assert_eq!(service.step(seconds(total)), built.step(seconds(total)));
            prop_assert!(service.reconfigure(of(3_599, 0)).is_err());
            prop_assert_eq!(service.step(seconds(total)), built.step(seconds(total)));
        }
    }
}
