//! One tyre's contact with the ground: slip, friction circle, and no creep at rest.

use super::bristle::{Bristle, BristleLaw, BristleShape};
use super::config_error::{Check, PlantConfigError};

/// A tyre's carcass and slip behaviour; the same for all wheels.
///
/// Typical for a 12-16.5 tyre on a 3.6 t skid steer (engineering judgement): 0.06, 0.02 m, 0.02 s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TyreConfig {
    /// Slip (sliding over rolling speed) at which half of the friction is used, 0.005 to 0.5.
    pub half_slip: f64,
    /// Deflection of the carcass at full friction, 0.001 to 0.2 m.
    pub deflection_m: f64,
    /// Damping time of the carcass, 0 to 0.5 s.
    pub damping_time_s: f64,
}

/// What the wheels stand on.
///
/// Typical (engineering judgement): compacted earth 0.7, 0.6, 0.05; wet clay 0.35, 0.3, 0.1; concrete 0.85,
/// 0.8, 0.02. The lateral coefficient is the μ_t of textbook turning resistance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Friction along the wheel, 0.001 to 1.5.
    pub longitudinal_friction: f64,
    /// Friction across the wheel, 0.001 to 1.5.
    pub lateral_friction: f64,
    /// Rolling resistance over wheel load, 0 to 0.5.
    pub rolling_resistance: f64,
}

impl Surface {
    pub(crate) fn check(&self) -> Result<(), PlantConfigError> {
        let check = Check("surface");
        check.range("longitudinal_friction", self.longitudinal_friction, 0.001, 1.5)?;
        check.range("lateral_friction", self.lateral_friction, 0.001, 1.5)?;
        check.range("rolling_resistance", self.rolling_resistance, 0.0, 0.5)
    }
}

/// A tyre resolved for stepping.
///
/// The carcass is a pair of bristles (along, across) of one common deflection limit, renewed by rolling:
/// du/dt = v_s − (|v_s|/deflection + |ω·r|·half_slip/deflection)·u. In steady state
///
/// F/(μ·N) = S/(1 + S) along the sliding velocity, S = |v_s|/(half_slip·|ω·r|),
///
/// slip being normalised by the rolling speed as in the brush model, and deflection/half_slip being the
/// relaxation length (H. B. Pacejka, *Tire and Vehicle Dynamics*, from memory). Together |F| stays on or
/// within the friction circle, or the ellipse if the two coefficients differ. A locked wheel slides with
/// full friction, a standing one is held by its carcass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tyre {
    shape: BristleShape,
    half_slip: f64,
}

/// One contact's state.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Contact {
    along: Bristle,
    across: Bristle,
    rate: f64,
}

/// Used friction along and across as laws of the sliding speeds at the end of the step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct ContactLaw {
    pub(crate) along: BristleLaw,
    pub(crate) across: BristleLaw,
}

impl Tyre {
    pub(crate) fn new(config: TyreConfig) -> Result<Self, PlantConfigError> {
        let check = Check("tyre");
        check.range("half_slip", config.half_slip, 0.005, 0.5)?;
        check.range("deflection_m", config.deflection_m, 0.001, 0.2)?;
        check.range("damping_time_s", config.damping_time_s, 0.0, 0.5)?;
        Ok(Tyre {
            shape: BristleShape { reach: config.deflection_m, damping_time_s: config.damping_time_s },
            half_slip: config.half_slip,
        })
    }

    /// The law of the next step from rolling speed |ω·r| and sliding velocity at its beginning.
    pub(crate) fn law(
        &self,
        contact: &mut Contact,
        dt_s: f64,
        rolling_m_s: f64,
        sliding_m_s: (f64, f64),
    ) -> ContactLaw {
        let (along, across) = sliding_m_s;
        let sliding = (along * along + across * across).sqrt();
        contact.rate = (sliding + self.half_slip * rolling_m_s) / self.shape.reach;
        ContactLaw {
            along: contact.along.law(dt_s, &self.shape, contact.rate),
            across: contact.across.law(dt_s, &self.shape, contact.rate),
        }
    }

    /// Takes the deflection at the end of the step from the sliding velocity there.
    pub(crate) fn settle(&self, contact: &mut Contact, dt_s: f64, sliding_m_s: (f64, f64)) {
        contact.along.settle(dt_s, contact.rate, sliding_m_s.0);
        contact.across.settle(dt_s, contact.rate, sliding_m_s.1);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const CONFIG: TyreConfig = TyreConfig { half_slip: 0.06, deflection_m: 0.02, damping_time_s: 0.02 };
    const DT: f64 = 1e-4;

    fn steady(rolling: f64, sliding: (f64, f64)) -> (f64, f64) {
        let tyre = Tyre::new(CONFIG).unwrap();
        let mut contact = Contact::default();
        let mut used = (0.0, 0.0);
        for _ in 0..200_000 {
            let law = tyre.law(&mut contact, DT, rolling, sliding);
            used = (law.along.at(sliding.0), law.across.at(sliding.1));
            tyre.settle(&mut contact, DT, sliding);
        }
        used
    }

    #[test]
    fn steady_slip_follows_the_stated_law() {
        assert_relative_eq!(steady(2.0, (0.12, 0.0)).0, 0.5, epsilon = 1e-6);
        assert_relative_eq!(steady(2.0, (0.0, -0.48)).1, -0.8, epsilon = 1e-6);
        let (along, across) = steady(1.0, (0.3, 0.4));
        let slip = 0.5 / 0.06;
        assert_relative_eq!(along, 0.6 * slip / (1.0 + slip), epsilon = 1e-6);
        assert_relative_eq!(across, 0.8 * slip / (1.0 + slip), epsilon = 1e-6);
    }

    #[test]
    fn a_locked_wheel_slides_with_full_friction() {
        assert_relative_eq!(steady(0.0, (-1.0, 0.0)).0, -1.0, epsilon = 1e-9);
    }

    proptest! {
        #[test]
        fn used_friction_stays_in_the_unit_circle(
            moves in proptest::collection::vec((0.0f64..10.0, -10.0f64..10.0, -10.0f64..10.0), 1..50)
        ) {
            let tyre = Tyre::new(CONFIG).unwrap();
            let mut contact = Contact::default();
            for (rolling, along, across) in moves {
                for _ in 0..20 {
                    let law = tyre.law(&mut contact, DT, rolling, (along, across));
                    let used = (law.along.at(along), law.across.at(across));
                    prop_assert!((used.0 * used.0 + used.1 * used.1).sqrt() <= 1.0 + 1e-12);
                    tyre.settle(&mut contact, DT, (along, across));
                }
            }
        }
    }
}
