//! The articulated frame in the plane.

/// Two axles and a joint between them, rolling without slip.
///
/// With v the speed of the drum along its own heading θ, γ the angle of the joint (drum turned to the left of the rear frame
/// positive), l₁ and l₂ the distances from the joint to the drum's and to the tyres' axle:
///
/// - ẋ = v·cos θ, ẏ = v·sin θ
/// - θ̇ = (v·sin γ + l₂·γ̇) / (l₁·cos γ + l₂)
///
/// It follows from neither axle slipping sideways (written down as such in the literature on articulated load-haul-dump
/// vehicles, for example Corke and Ridley 2001, "Steering kinematics for a center-articulated mobile robot"; from memory, and
/// held by a test against the no-slip condition itself).
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    joint_to_drum_m: f64,
    joint_to_tyres_m: f64,
    largest_rad: f64,
    x_m: f64,
    y_m: f64,
    heading_rad: f64,
    joint_rad: f64,
    yaw_rad_s: f64,
}

impl Frame {
    /// Straight, the drum's axle at the origin, heading along x. Lengths in m above zero, the largest angle of the joint
    /// below a quarter turn.
    pub const fn new(joint_to_drum_m: f64, joint_to_tyres_m: f64, largest_rad: f64) -> Self {
        Self {
            joint_to_drum_m,
            joint_to_tyres_m,
            largest_rad,
            x_m: 0.0,
            y_m: 0.0,
            heading_rad: 0.0,
            joint_rad: 0.0,
            yaw_rad_s: 0.0,
        }
    }

    /// Rolls for `dt_s` at a speed of the drum in m/s while the joint is driven at a rate in rad/s, left positive; the joint
    /// rests at its stops.
    pub fn step(&mut self, dt_s: f64, speed_m_s: f64, joint_rate_rad_s: f64) {
        let before = self.joint_rad;
        self.joint_rad = (before + joint_rate_rad_s * dt_s).max(-self.largest_rad).min(self.largest_rad);
        let rate = (self.joint_rad - before) / dt_s;
        let middle = 0.5 * (before + self.joint_rad);
        let (sine, cosine) = libm::sincos(middle);
        self.yaw_rad_s = (speed_m_s * sine + self.joint_to_tyres_m * rate)
            / (self.joint_to_drum_m * cosine + self.joint_to_tyres_m);
        let (sine, cosine) = libm::sincos(self.heading_rad + 0.5 * self.yaw_rad_s * dt_s);
        self.x_m += speed_m_s * cosine * dt_s;
        self.y_m += speed_m_s * sine * dt_s;
        self.heading_rad += self.yaw_rad_s * dt_s;
    }

    /// Place of the middle of the drum's axle.
    pub fn place_m(&self) -> (f64, f64) {
        (self.x_m, self.y_m)
    }

    /// Heading of the drum.
    pub fn heading_rad(&self) -> f64 {
        self.heading_rad
    }

    /// Angle of the joint, left positive.
    pub fn joint_rad(&self) -> f64 {
        self.joint_rad
    }

    /// Yaw rate of the drum.
    pub fn yaw_rad_s(&self) -> f64 {
        self.yaw_rad_s
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Frame = Frame::new(1.45, 1.55, 0.61);

    /// Middle of the tyres' axle and heading of the rear frame.
    fn rear(frame: &Frame) -> (f64, f64, f64) {
        let heading = frame.heading_rad - frame.joint_rad;
        let (x, y) = frame.place_m();
        let (front, back) = (frame.joint_to_drum_m, frame.joint_to_tyres_m);
        (
            x - front * libm::cos(frame.heading_rad) - back * libm::cos(heading),
            y - front * libm::sin(frame.heading_rad) - back * libm::sin(heading),
            heading,
        )
    }

    #[test]
    fn the_tyres_axle_never_slips_sideways() {
        let dt = 1.0e-4;
        for (speed, rate) in [(2.0, 0.3), (-1.5, 0.38), (0.0, 0.38), (3.0, -0.2)] {
            let mut frame = FRAME;
            for _ in 0..10_000 {
                let (x0, y0, h0) = rear(&frame);
                frame.step(dt, speed, rate);
                let (x1, y1, h1) = rear(&frame);
                let middle = 0.5 * (h0 + h1);
                let sideways = (y1 - y0) * libm::cos(middle) - (x1 - x0) * libm::sin(middle);
                assert!((sideways / dt).abs() < 1.0e-4, "{} m/s at {speed} m/s", sideways / dt);
            }
        }
    }

    /// With the joint held, both axles roll on circles about the point where their lines meet: r = (l₁·cos γ + l₂)/sin γ.
    #[test]
    fn a_held_joint_drives_a_circle_of_the_radius_of_the_geometry() {
        let mut frame = FRAME;
        frame.step(1.0, 0.0, 0.4);
        frame = Frame { x_m: 0.0, y_m: 0.0, heading_rad: 0.0, ..frame };
        let radius = (1.45 * libm::cos(0.4) + 1.55) / libm::sin(0.4);
        let steps = 100_000;
        let dt = core::f64::consts::TAU * radius / 2.0 / f64::from(steps);
        let mut farthest = 0.0_f64;
        for _ in 0..steps {
            frame.step(dt, 2.0, 0.0);
            farthest = farthest.max(frame.y_m);
        }
        assert!((farthest - 2.0 * radius).abs() < 1.0e-3, "{farthest} for {radius}");
        assert!(frame.x_m.hypot(frame.y_m) < 1.0e-3, "a full circle ends where it began");
    }

    #[test]
    fn the_joint_rests_at_its_stops_and_turns_the_drum_at_standstill() {
        let mut frame = FRAME;
        for _ in 0..5_000 {
            frame.step(1.0e-3, 0.0, 0.38);
        }
        assert_eq!((frame.joint_rad(), frame.yaw_rad_s()), (0.61, 0.0));
        assert!(frame.heading_rad() > 0.25 && frame.heading_rad() < 0.4);
    }
}
