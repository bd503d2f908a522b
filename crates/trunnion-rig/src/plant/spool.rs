//! Spool of a work function: coil pair → position, with a float stage.

use super::coil_map::{CoilMap, CoilResponse};
use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::within::Within;

/// How a spool comes into float (both ports to tank).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FloatStage {
    /// It has none.
    Absent,
    /// More current on the negative coil than full command needs pushes the spool into float.
    AboveNegativeCurrent {
        /// Current that engages it, above the coil's end current, at most 10 A.
        engage_a: f64,
        /// Current below which it lets go, above the coil's end current, below `engage_a`.
        release_a: f64,
    },
    /// A coil of its own.
    OwnCoil {
        /// Current that engages it, 0.01 to 10 A.
        engage_a: f64,
        /// Current below which it lets go, above zero, below `engage_a`.
        release_a: f64,
    },
}

/// A spool and its pilot coils.
///
/// Typical (engineering judgement, 12 V pilot coils): 0.5 A to 1.2 A, hysteresis 0.04 A, 0.04 s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpoolConfig {
    /// Coil for the positive direction (raise, curl, …).
    pub positive: CoilMap,
    /// Coil for the negative direction (lower, dump, …).
    pub negative: CoilMap,
    /// Time constant of the spool, 0.001 to 5 s.
    pub shift_time_s: f64,
    /// The float stage.
    pub float: FloatStage,
}

/// Currents of a spool's coils.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpoolCurrents {
    /// Positive coil, A.
    pub positive_a: f64,
    /// Negative coil, A.
    pub negative_a: f64,
    /// Float coil, A; without effect on spools that have none.
    pub float_a: f64,
}

/// How a spool fails.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum SpoolFault {
    /// It does not.
    #[default]
    None,
    /// A chip holds it where it is.
    Stuck,
    /// It is held at this position (−1 to 1).
    Forced(f64),
}

/// A spool: position follows the difference of the coils' commands with a first-order lag.
///
/// The float stage engages and lets go at once; the way through it is part of the cylinder.
#[derive(Debug, Clone, PartialEq)]
pub struct Spool {
    float: FloatStage,
    positive: CoilResponse,
    negative: CoilResponse,
    position: Lag,
    floating: bool,
    fault: SpoolFault,
}

impl Spool {
    /// A spool in the middle; refuses values outside the ranges of [`SpoolConfig`].
    pub fn new(config: SpoolConfig) -> Result<Self, PlantConfigError> {
        let check = Check("spool");
        check.range("shift_time_s", config.shift_time_s, 0.001, 5.0)?;
        if let FloatStage::AboveNegativeCurrent { engage_a, release_a }
        | FloatStage::OwnCoil { engage_a, release_a } = config.float
        {
            let lowest = match config.float {
                FloatStage::AboveNegativeCurrent { .. } => config.negative.end_a,
                FloatStage::OwnCoil { .. } | FloatStage::Absent => 0.0,
            };
            check.range("engage_a", engage_a, 0.01, 10.0)?;
            check.above(("engage_a", engage_a), ("release_a", release_a))?;
            check.above(("release_a", release_a), ("the lowest current allowed", lowest))?;
        }
        Ok(Spool {
            float: config.float,
            positive: CoilResponse::new("spool positive coil", config.positive)?,
            negative: CoilResponse::new("spool negative coil", config.negative)?,
            position: Lag::new(config.shift_time_s, 0.0)?,
            floating: false,
            fault: SpoolFault::None,
        })
    }

    /// Moves the spool for `dt_s` seconds.
    pub fn step(&mut self, dt_s: f64, currents: &SpoolCurrents) {
        let asked = self.positive.step(currents.positive_a) - self.negative.step(currents.negative_a);
        match self.fault {
            SpoolFault::None => {
                self.position.step(dt_s, asked);
                self.floating = self.floats(currents);
            }
            SpoolFault::Stuck => {}
            SpoolFault::Forced(position) => {
                self.position.step(dt_s, position.within(-1.0, 1.0));
                self.floating = false;
            }
        }
    }

    /// Breaks or mends the spool.
    pub fn set_fault(&mut self, fault: SpoolFault) {
        self.fault = fault;
    }

    /// Position, −1 (full negative) to 1 (full positive).
    pub fn position(&self) -> f64 {
        self.position.value()
    }

    /// Whether both ports are open to tank.
    pub fn is_floating(&self) -> bool {
        self.floating
    }

    fn floats(&self, currents: &SpoolCurrents) -> bool {
        let (current, engage_a, release_a) = match self.float {
            FloatStage::Absent => return false,
            FloatStage::AboveNegativeCurrent { engage_a, release_a } => {
                (currents.negative_a, engage_a, release_a)
            }
            FloatStage::OwnCoil { engage_a, release_a } => (currents.float_a, engage_a, release_a),
        };
        if self.floating { current > release_a } else { current >= engage_a }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const COIL: CoilMap = CoilMap { threshold_a: 0.5, end_a: 1.2, hysteresis_a: 0.04 };
    const CONFIG: SpoolConfig = SpoolConfig {
        positive: COIL,
        negative: COIL,
        shift_time_s: 0.04,
        float: FloatStage::AboveNegativeCurrent { engage_a: 1.5, release_a: 1.3 },
    };

    fn lowering(negative_a: f64) -> SpoolCurrents {
        SpoolCurrents { negative_a, ..SpoolCurrents::default() }
    }

    #[test]
    fn the_position_follows_a_current_step_as_a_first_order_lag() {
        let mut spool = Spool::new(CONFIG).unwrap();
        for _ in 0..40 {
            spool.step(1e-3, &lowering(1.4));
        }
        assert_relative_eq!(spool.position(), -(1.0 - libm::exp(-1.0)), epsilon = 1e-9);
    }

    #[test]
    fn float_engages_above_full_lowering_and_holds_until_its_release_current() {
        let mut spool = Spool::new(CONFIG).unwrap();
        for (current, floating) in [(1.4, false), (1.5, true), (1.35, true), (1.3, false), (1.45, false)] {
            spool.step(1e-3, &lowering(current));
            assert_eq!(spool.is_floating(), floating, "at {current} A");
        }
    }

    #[test]
    fn a_float_current_inside_the_proportional_range_is_refused() {
        let float = FloatStage::AboveNegativeCurrent { engage_a: 1.5, release_a: 1.1 };
        assert!(Spool::new(SpoolConfig { float, ..CONFIG }).is_err());
        let own = FloatStage::OwnCoil { engage_a: 0.8, release_a: 0.4 };
        assert!(Spool::new(SpoolConfig { float: own, ..CONFIG }).is_ok());
    }

    #[test]
    fn a_stuck_spool_stays_open_without_current() {
        let mut spool = Spool::new(CONFIG).unwrap();
        for _ in 0..1000 {
            spool.step(1e-3, &SpoolCurrents { positive_a: 1.4, ..SpoolCurrents::default() });
        }
        spool.set_fault(SpoolFault::Stuck);
        for _ in 0..1000 {
            spool.step(1e-3, &SpoolCurrents::default());
        }
        assert_relative_eq!(spool.position(), 1.0, epsilon = 1e-6);
        spool.set_fault(SpoolFault::None);
        for _ in 0..1000 {
            spool.step(1e-3, &SpoolCurrents::default());
        }
        assert!(spool.position().abs() < 1e-6);
    }

    proptest! {
        #[test]
        fn both_directions_are_mirror_images_in_range(
            currents in proptest::collection::vec((-1.0f64..5.0, -1.0f64..5.0), 1..60)
        ) {
            let config = SpoolConfig { float: FloatStage::Absent, ..CONFIG };
            let mut spool = Spool::new(config).unwrap();
            let mut mirror = spool.clone();
            for (positive_a, negative_a) in currents {
                spool.step(1e-3, &SpoolCurrents { positive_a, negative_a, float_a: 0.0 });
                mirror.step(
                    1e-3,
                    &SpoolCurrents { positive_a: negative_a, negative_a: positive_a, float_a: 0.0 },
                );
                prop_assert_eq!(spool.position(), -mirror.position());
                prop_assert!(spool.position().abs() <= 1.0);
                prop_assert!(!spool.is_floating());
            }
        }
    }
}
