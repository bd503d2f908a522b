//! How a proportional coil's current becomes a command: threshold, end value, hysteresis.

use super::config_error::{Check, PlantConfigError};
use super::within::Within;

/// Currents of one proportional coil.
///
/// Below the threshold (first movement) nothing moves, from there to the end current (full command) the
/// command grows in a straight line (common practice, no source). Friction in the pilot spool makes the
/// command lag behind the current by half the hysteresis in either direction.
///
/// Typical (engineering judgement, 24 V pump control): 0.35 A, 0.75 A, 0.02 A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoilMap {
    /// Current of first movement, mean of rising and falling, 0.01 to 5 A.
    pub threshold_a: f64,
    /// Current of full command, mean of rising and falling, above the threshold, at most 10 A.
    pub end_a: f64,
    /// Width between rising and falling current for one command, 0 to below twice the threshold, A.
    pub hysteresis_a: f64,
}

/// One coil's command with its memory of hysteresis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CoilResponse {
    map: CoilMap,
    /// The current that got past friction: the play operator's output.
    effective_a: f64,
    per_ampere: f64,
}

impl CoilResponse {
    pub(crate) fn new(component: &'static str, map: CoilMap) -> Result<Self, PlantConfigError> {
        let check = Check(component);
        check.range("threshold_a", map.threshold_a, 0.01, 5.0)?;
        check.range("end_a", map.end_a, 0.0, 10.0)?;
        check.above(("end_a", map.end_a), ("threshold_a", map.threshold_a))?;
        // Half the hysteresis stays behind when the current is gone: it must not hold the spool open.
        check.range("hysteresis_a", map.hysteresis_a, 0.0, 1.99 * map.threshold_a)?;
        Ok(CoilResponse { map, effective_a: 0.0, per_ampere: 1.0 / (map.end_a - map.threshold_a) })
    }

    /// The command, 0 to 1, for a current in ampere. Not-a-number counts as no current.
    pub(crate) fn step(&mut self, current_a: f64) -> f64 {
        let current = current_a.max(0.0);
        let half = 0.5 * self.map.hysteresis_a;
        self.effective_a = self.effective_a.min(current + half).max(current - half);
        ((self.effective_a - self.map.threshold_a) * self.per_ampere).within(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const MAP: CoilMap = CoilMap { threshold_a: 0.3, end_a: 0.8, hysteresis_a: 0.04 };

    #[test]
    fn rising_and_falling_currents_differ_by_the_hysteresis() {
        let mut coil = CoilResponse::new("test", MAP).unwrap();
        coil.step(0.0);
        assert_relative_eq!(coil.step(0.57), 0.5, epsilon = 1e-12);
        coil.step(2.0);
        assert_relative_eq!(coil.step(0.53), 0.5, epsilon = 1e-12);
    }

    #[test]
    fn no_current_means_no_command_whatever_came_before() {
        let mut coil = CoilResponse::new("test", CoilMap { hysteresis_a: 0.59, ..MAP }).unwrap();
        assert_eq!(coil.step(3.0), 1.0);
        assert_eq!(coil.step(0.0), 0.0);
        assert_eq!(coil.step(f64::NAN), 0.0);
    }

    #[test]
    fn an_end_below_the_threshold_is_refused_by_name() {
        let refusal = CoilResponse::new("pump", CoilMap { end_a: 0.2, ..MAP }).unwrap_err();
        assert!(matches!(refusal, PlantConfigError::NotAbove { field: "end_a", .. }), "{refusal}");
    }

    proptest! {
        #[test]
        fn the_command_stays_in_its_range_and_near_the_straight_line(
            currents in proptest::collection::vec(-1.0f64..3.0, 1..50)
        ) {
            let mut coil = CoilResponse::new("test", MAP).unwrap();
            for current in currents {
                let command = coil.step(current);
                let line = ((current.max(0.0) - 0.3) / 0.5).clamp(0.0, 1.0);
                prop_assert!((0.0..=1.0).contains(&command));
                prop_assert!((command - line).abs() <= 0.02 / 0.5 + 1e-12);
            }
        }
    }
}
