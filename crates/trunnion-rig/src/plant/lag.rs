//! First-order lag: how swash plates, spools, valves and pressures follow what is asked of them.

use super::config_error::{Check, PlantConfigError};

/// τ·dy/dt = u − y with the input held over the step, solved exactly.
///
/// y(t + dt) = u + (y − u)·e^(−dt/τ): at τ = 0.1 s and dt = 10 ms this is b = 0.095 162 58,
/// a = 0.904 837 42 (zero-order hold, as `scipy.signal.cont2discrete` gives it).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lag {
    time_constant_s: f64,
    value: f64,
    /// The exponential of the last step width: steps are of one width, and exponentials are dear.
    remembered_dt_s: f64,
    decay: f64,
}

impl Lag {
    /// A lag with a time constant of 1 µs to 1000 s, starting at `value` (any finite number).
    pub fn new(time_constant_s: f64, value: f64) -> Result<Self, PlantConfigError> {
        let check = Check("lag");
        check.range("time_constant_s", time_constant_s, 1e-6, 1000.0)?;
        check.range("value", value, f64::MIN, f64::MAX)?;
        Ok(Lag { time_constant_s, value, remembered_dt_s: 0.0, decay: 1.0 })
    }

    /// Moves the output towards `input` for `dt_s` seconds and returns it. Not-a-number holds the output.
    pub fn step(&mut self, dt_s: f64, input: f64) -> f64 {
        if dt_s != self.remembered_dt_s {
            self.decay = libm::exp(-dt_s / self.time_constant_s);
            self.remembered_dt_s = dt_s;
        }
        if !input.is_nan() {
            self.value = input + (self.value - input) * self.decay;
        }
        self.value
    }

    /// Jumps to a value.
    pub fn reset(&mut self, value: f64) {
        self.value = value;
    }

    /// The output.
    pub fn value(&self) -> f64 {
        self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_published_zero_order_hold_coefficients_come_out() {
        let mut lag = Lag::new(0.1, 0.0).unwrap();
        assert_relative_eq!(lag.step(0.01, 1.0), 0.095_162_58, epsilon = 5e-9);
        let mut lag = Lag::new(0.1, 1.0).unwrap();
        assert_relative_eq!(lag.step(0.01, 0.0), 0.904_837_42, epsilon = 5e-9);
    }

    #[test]
    fn the_step_width_does_not_change_the_response() {
        let mut fine = Lag::new(0.08, -0.4).unwrap();
        let mut coarse = fine;
        for _ in 0..1000 {
            fine.step(1e-4, 0.9);
        }
        coarse.step(0.1, 0.9);
        assert_relative_eq!(fine.value(), coarse.value(), epsilon = 1e-12);
    }

    #[test]
    fn a_change_of_step_width_is_noticed() {
        let mut lag = Lag::new(1.0, 1.0).unwrap();
        lag.step(0.5, 0.0);
        lag.step(0.25, 0.0);
        lag.step(0.25, 0.0);
        assert_relative_eq!(lag.value(), libm::exp(-1.0), epsilon = 1e-14);
    }

    #[test]
    fn a_time_constant_of_zero_is_refused_and_not_a_number_holds() {
        assert!(Lag::new(0.0, 0.0).is_err());
        let mut lag = Lag::new(1.0, 0.25).unwrap();
        assert_eq!(lag.step(0.1, f64::NAN), 0.25);
    }
}
