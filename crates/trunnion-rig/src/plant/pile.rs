//! A pile that resists the bucket.

use super::bristle::{Bristle, BristleShape};
use super::config_error::{Check, PlantConfigError};
use super::ground::PointMotion;
use super::law::PushLaw;
use super::within::Within;

/// Damping time of soil that gives without shearing, s (engineering judgement: it hardly springs back).
const SOIL_DAMPING_TIME_S: f64 = 0.05;

/// Where a pile stands and how it resists.
///
/// Resistance grows in a straight line with penetration up to a limit (engineering judgement; real piles
/// grow faster than that and depend on the bucket's path). Typical for gravel and a 1.7 m bucket: 25 kN/m,
/// 60 kN, 0.02 m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PileConfig {
    /// A point on the pile's face, m east, −1e6 to 1e6.
    pub face_x_m: f64,
    /// The same point, m north, −1e6 to 1e6.
    pub face_y_m: f64,
    /// Direction straight into the face, rad counter-clockwise from east, −7 to 7.
    pub heading_rad: f64,
    /// Resistance per penetration, 100 to 1e7 N/m.
    pub stiffness_n_m: f64,
    /// Largest resistance, 100 to 1e7 N.
    pub limit_n: f64,
    /// How far the soil gives before it shears, 0.001 to 0.5 m.
    pub give_m: f64,
}

/// A pile behind a plane face: F = min(stiffness · penetration, limit), against entering.
///
/// Soil is plastic: it resists entering, holds while the machine pushes without moving (a bristle that
/// sticks), and does not pull when the bucket backs out. Only the force along the face's normal is
/// modelled, at the bucket's edge: at a slant it also turns the machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Pile {
    config: PileConfig,
    shape: BristleShape,
    normal: (f64, f64),
    bristle: Bristle,
    rate: f64,
    force_n: f64,
    penetration_m: f64,
}

impl Pile {
    /// An untouched pile; refuses values outside the ranges of [`PileConfig`].
    pub fn new(config: PileConfig) -> Result<Self, PlantConfigError> {
        let check = Check("pile");
        check.range("face_x_m", config.face_x_m, -1e6, 1e6)?;
        check.range("face_y_m", config.face_y_m, -1e6, 1e6)?;
        check.range("heading_rad", config.heading_rad, -7.0, 7.0)?;
        check.range("stiffness_n_m", config.stiffness_n_m, 100.0, 1e7)?;
        check.range("limit_n", config.limit_n, 100.0, 1e7)?;
        check.range("give_m", config.give_m, 0.001, 0.5)?;
        let (north, east) = libm::sincos(config.heading_rad);
        Ok(Pile {
            config,
            shape: BristleShape { reach: config.give_m, damping_time_s: SOIL_DAMPING_TIME_S },
            normal: (east, north),
            bristle: Bristle::default(),
            rate: 0.0,
            force_n: 0.0,
            penetration_m: 0.0,
        })
    }

    /// The push on the machine during the next step.
    ///
    /// `edge` is the bucket's edge ([`Ground::point`](super::Ground::point)); `bite` is the share of the bucket in
    /// the material, 0 (raised clear of it) to 1 (flat on the ground).
    pub fn law(&mut self, dt_s: f64, edge: &PointMotion, bite: f64) -> PushLaw {
        let (east, north) = self.normal;
        self.penetration_m =
            ((edge.x_m - self.config.face_x_m) * east + (edge.y_m - self.config.face_y_m) * north).max(0.0);
        let resistance =
            (self.config.stiffness_n_m * self.penetration_m).min(self.config.limit_n) * bite.within(0.0, 1.0);
        let entering = self.entering_m_s(edge);
        if resistance <= 0.0 || (entering <= 0.0 && self.bristle.deflection() <= 0.0) {
            self.bristle = Bristle::default();
            self.rate = 0.0;
            self.force_n = 0.0;
            return PushLaw::NONE;
        }
        self.rate = entering.abs() / self.shape.reach;
        let friction = self.bristle.law(dt_s, &self.shape, self.rate);
        self.force_n = resistance * friction.at(entering).max(0.0);
        PushLaw {
            ahead_m: edge.ahead_m,
            forward: east * edge.cos_yaw + north * edge.sin_yaw,
            leftward: north * edge.cos_yaw - east * edge.sin_yaw,
            force_n: -resistance * friction.offset,
            damping_n_s_m: resistance * friction.slope,
        }
    }

    /// Takes the soil's give at the end of the step from the edge's motion there.
    pub fn settle(&mut self, dt_s: f64, edge: &PointMotion) {
        self.bristle.settle(dt_s, self.rate, self.entering_m_s(edge));
        self.bristle.at_least(0.0);
    }

    /// How far the edge is behind the face, m, at the beginning of the last step.
    pub fn penetration_m(&self) -> f64 {
        self.penetration_m
    }

    /// Force against the bucket in the last step, N.
    pub fn force_n(&self) -> f64 {
        self.force_n
    }

    /// Speed of the edge into the face, m/s.
    fn entering_m_s(&self, edge: &PointMotion) -> f64 {
        let (east, north) = self.normal;
        let forward = east * edge.cos_yaw + north * edge.sin_yaw;
        let leftward = north * edge.cos_yaw - east * edge.sin_yaw;
        forward * edge.forward_m_s + leftward * edge.left_m_s
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const CONFIG: PileConfig = PileConfig {
        face_x_m: 10.0,
        face_y_m: 0.0,
        heading_rad: 0.0,
        stiffness_n_m: 25_000.0,
        limit_n: 60_000.0,
        give_m: 0.02,
    };
    const DT: f64 = 1e-4;

    fn edge(x_m: f64, forward_m_s: f64) -> PointMotion {
        PointMotion { ahead_m: 1.5, x_m, y_m: 0.3, forward_m_s, left_m_s: 0.0, cos_yaw: 1.0, sin_yaw: 0.0 }
    }

    /// Pushes at constant speed over a distance and returns the force at its end.
    fn push(pile: &mut Pile, from_m: f64, speed: f64, distance: f64) -> f64 {
        let mut force = 0.0;
        let steps = (distance / (speed.abs() * DT)) as u32;
        for step in 0..=steps {
            let motion = edge(from_m + f64::from(step) * speed * DT, speed);
            let law = pile.law(DT, &motion, 1.0);
            force = law.force_n - law.damping_n_s_m * speed;
            pile.settle(DT, &motion);
        }
        force
    }

    #[test]
    fn nothing_happens_before_the_face_and_with_a_raised_bucket() {
        let mut pile = Pile::new(CONFIG).unwrap();
        assert_eq!(pile.law(DT, &edge(9.99, 1.0), 1.0), PushLaw::NONE);
        assert_eq!(pile.law(DT, &edge(11.0, 1.0), 0.0), PushLaw::NONE);
    }

    #[test]
    fn resistance_grows_with_penetration_up_to_its_limit() {
        let mut pile = Pile::new(CONFIG).unwrap();
        assert_relative_eq!(push(&mut pile, 10.0, 0.5, 1.0), -25_000.0, max_relative = 1e-3);
        assert_relative_eq!(push(&mut pile, 11.0, 0.5, 2.0), -60_000.0, max_relative = 1e-3);
        assert_relative_eq!(pile.penetration_m(), 3.0, epsilon = 1e-3);
    }

    #[test]
    fn backing_out_is_free_once_the_soil_has_let_go() {
        let mut pile = Pile::new(CONFIG).unwrap();
        push(&mut pile, 10.0, 0.5, 1.0);
        push(&mut pile, 11.0, -0.5, 0.1);
        assert_eq!(pile.law(DT, &edge(10.9, -0.5), 1.0), PushLaw::NONE);
        assert_eq!(pile.force_n(), 0.0);
    }

    #[test]
    fn a_machine_that_pushes_without_moving_is_held() {
        let mut pile = Pile::new(CONFIG).unwrap();
        push(&mut pile, 10.0, 0.5, 1.0);
        let mut held = 0.0;
        for _ in 0..100_000 {
            let law = pile.law(DT, &edge(11.0, 0.0), 1.0);
            held = law.force_n;
            pile.settle(DT, &edge(11.0, 0.0));
        }
        assert_relative_eq!(held, -25_000.0, max_relative = 1e-3);
    }

    #[test]
    fn a_slanting_machine_feels_the_force_along_the_normal() {
        let mut pile = Pile::new(CONFIG).unwrap();
        let (sin_yaw, cos_yaw) = libm::sincos(0.5);
        let law = pile.law(DT, &PointMotion { cos_yaw, sin_yaw, ..edge(10.5, 1.0) }, 1.0);
        assert_relative_eq!(law.forward, cos_yaw);
        assert_relative_eq!(law.leftward, -sin_yaw);
    }
}
