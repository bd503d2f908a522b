//! Dry friction that sticks: an elastic bristle between two surfaces that gives way at a limit.
//!
//! Dahl's model (P. R. Dahl, 1968) with the damping term of C. Canudas de Wit, H. Olsson, K. J. Åström,
//! P. Lischinsky, "A new model for control of systems with friction", IEEE Trans. Automatic Control 40
//! (1995); both from memory. The bristle's deflection u follows
//!
//! du/dt = v − λ·u,  λ = |v|/reach (+ a rate of renewal, for rolling contacts)
//!
//! and the friction is limit·(u + τ·du/dt)/reach with τ = τ₀/(1 + λ·τ₀). At rest the bristle is a spring,
//! so nothing creeps; in sliding u tends to ±reach and the friction to ±limit. The shrinking τ keeps the
//! friction within the limit in transients too: |u·(1 − τλ) + τ·v| ≤ reach while |u| ≤ reach.

/// The shape of a bristle, shared by all contacts of one kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BristleShape {
    /// Deflection at full friction: m, or rad for a brake.
    pub(crate) reach: f64,
    /// Damping time τ₀, s.
    pub(crate) damping_time_s: f64,
}

/// One bristle.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Bristle {
    deflection: f64,
}

/// Friction over its limit at the end of a step: `offset + slope·v`, v being the sliding speed there.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct BristleLaw {
    pub(crate) offset: f64,
    pub(crate) slope: f64,
}

impl BristleLaw {
    pub(crate) fn at(self, speed: f64) -> f64 {
        self.offset + self.slope * speed
    }
}

impl Bristle {
    /// The law of the next step, with the rate λ taken at its beginning.
    pub(crate) fn law(self, dt_s: f64, shape: &BristleShape, rate: f64) -> BristleLaw {
        let damping_time = shape.damping_time_s / (1.0 + rate * shape.damping_time_s);
        let share = 1.0 / ((1.0 + dt_s * rate) * shape.reach);
        BristleLaw {
            offset: self.deflection * (1.0 - damping_time * rate) * share,
            slope: (dt_s + damping_time) * share,
        }
    }

    /// Takes the deflection at the end of the step from the sliding speed there.
    pub(crate) fn settle(&mut self, dt_s: f64, rate: f64, speed: f64) {
        self.deflection = (self.deflection + dt_s * speed) / (1.0 + dt_s * rate);
    }

    /// Keeps the deflection at or above a bound: soil and stops push but do not pull.
    pub(crate) fn at_least(&mut self, bound: f64) {
        self.deflection = self.deflection.max(bound);
    }

    pub(crate) fn deflection(self) -> f64 {
        self.deflection
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const SHAPE: BristleShape = BristleShape { reach: 0.02, damping_time_s: 0.02 };
    const DT: f64 = 1e-4;

    fn slide(bristle: &mut Bristle, speed: f64) -> f64 {
        let rate = speed.abs() / SHAPE.reach;
        let ratio = bristle.law(DT, &SHAPE, rate).at(speed);
        bristle.settle(DT, rate, speed);
        ratio
    }

    #[test]
    fn friction_never_passes_its_limit_at_any_speed() {
        for speed in [1e-6, 0.01, 0.5, 5.0, 500.0] {
            let mut bristle = Bristle::default();
            for step in 0..20_000 {
                let direction = if (step / 700) % 2 == 0 { 1.0 } else { -1.0 };
                let ratio = slide(&mut bristle, direction * speed);
                assert!(ratio.abs() <= 1.0 + 1e-12, "{ratio} at {speed} m/s");
            }
        }
    }

    #[test]
    fn sliding_tends_to_the_limit_and_rest_holds_what_was_there() {
        let mut bristle = Bristle::default();
        for _ in 0..10_000 {
            slide(&mut bristle, 0.5);
        }
        assert_relative_eq!(slide(&mut bristle, 0.5), 1.0, epsilon = 1e-9);
        let held = bristle.deflection();
        for _ in 0..100_000 {
            slide(&mut bristle, 0.0);
        }
        assert_eq!(bristle.deflection(), held);
    }

    #[test]
    fn the_deflection_follows_the_closed_form_of_sliding_at_constant_speed() {
        // u(t) = reach·(1 − e^(−v·t/reach)); the implicit step's error falls with its width.
        let mut bristle = Bristle::default();
        for _ in 0..400 {
            slide(&mut bristle, 0.5);
        }
        let exact = SHAPE.reach * (1.0 - libm::exp(-0.5 * 0.04 / SHAPE.reach));
        assert_relative_eq!(bristle.deflection(), exact, max_relative = 1e-3);
    }
}
